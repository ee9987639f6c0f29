// Package fft transforms frames of a power-of-two length.
//
// It is here for speed alone: on the lengths that are used it takes half the time of the general transform of gonum or less, and taking
// a backing out of a take spends most of its time in transforms.
//
// # Conventions
//
// The transform is X[k] = sum x[n] exp(-2 pi i k n/N), without a factor. Convolver and Pair leave the places of the bins
// open: their spectra are for products and powers only, place by place. That saves the passes that would put bins in order. Every value
// owns its work space: one per goroutine.
//
// # Non-goals
//
// Other lengths.
package fft
