// Package voice turns the sound of a sung phrase into pitch frames and notes.
//
// The way of the data: samples are resampled to 16 kHz (internal/resample) and
// measured every 10 ms (internal/front): pitch candidates by autocorrelation
// and a harmonic comb, levels, mel bands. A path through the candidates is the
// pitch (internal/track). A small trained network marks where notes begin and
// end (internal/marks), a segmental search lays the notes (internal/segment),
// and a moving reference tells which semitone each was meant as (reference.go).
//
// Conventions: times are seconds since the first sample; frame n is centred at
// n*Hop; a note holds its onset but not its offset. Pitch is a MIDI number as a
// float (69.25 is A4 plus 25 cents), frequency Hz, level dBFS, deviations cents.
// No input gives no frames and no notes. A take gives the same result however
// its samples are cut into blocks, live or from a file.
//
// Non-goals: several voices at once; knowing what should have been sung (a
// note never depends on the answer or on the other take); words.
package voice
