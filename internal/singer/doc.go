// Package singer synthesizes solo singing with a known answer.
//
// It makes the voice of the demo round, the signals of tests, and varied material to train and measure a
// note segmenter on: many voices, syllables, styles, habits (scoop, glide, vibrato, drift, ghost notes) and rooms,
// each with the exact onset, offset and pitch of every note.
//
// # How it works
//
// A source and filter model, after Fant, Acoustic Theory of Speech Production (1960):
//
//   - Source: the LF model of glottal flow, Fant, Liljencrants and Lin, "A four-parameter model of glottal flow",
//     STL-QPSR 4/1985, driven by the one shape number Rd of Fant, "The LF-model revisited", STL-QPSR 2-3/1995
//     (about 0.4 pressed, 1 modal, 2.5 breathy). Rosenberg, JASA 49 (1971) 583, is the older and simpler pulse; LF is
//     taken because its one number also moves open quotient and tilt together. Jitter, shimmer and breath noise
//     that follows the open phase are added.
//   - Filter: a cascade of second-order resonators as in Klatt, "Software for a cascade/parallel formant
//     synthesizer", JASA 67 (1980) 971, with a nasal pole and zero, and one parallel branch for friction and bursts.
//   - Formants of vowels: averages of Peterson and Barney, JASA 24 (1952) 175 (from memory).
//   - Control values move by raised-cosine steps every 2 ms.
//
// # Conventions
//
// Times are seconds from the first sample. Pitch is a MIDI note number (69 = A4 = 440 Hz), levels are dB relative to the
// voice or dBFS (full-scale sine = -3.01 dBFS) where the name says so. The onset of a note is the onset of its vowel,
// because that is what people mark; its consonants sound before. Everything random comes from the seed or the
// generator that the caller gives: equal input, equal output.
//
// # Non-goals
//
// Not a singing synthesizer for listening pleasure: no text, no language, no copied voice. No live use, no streaming. It does not
// place a microphone or model clipping; see Room for what a recording adds.
package singer
