// Package fft transforms frames of a power-of-two length.
//
// It is here for speed alone: on the lengths that are used it takes half the time of the general transform of gonum or less, and tracking
// pitch and taking a backing out of a take spend most of their time in transforms.
//
// # Conventions
//
// The transform is X[k] = sum x[n] exp(-2 pi i k n/N), without a factor. Every value owns its work space: one per goroutine.
//
// There are two ways through the same butterflies. Real puts the bins in order, which whoever reads a spectrum needs; on the short frames
// of pitch tracking, which fit the first-level cache, that costs nothing. Convolver and Pair leave the places of the bins open: their spectra
// are for products and powers only, place by place. That saves passes and half of the memory on the long frames of convolutions: two
// frames in a Pair take about a quarter less time than one after the other in order.
//
// # Non-goals
//
// Other lengths.
package fft
