// Package sightsing reads a set of real sight-singing: 67 clips, 40 minutes, 3,348 notes by trained annotators (the train and
// validation part of SSVD v2.0, ICASSP 2022; recordings of the set HUST_Solfege). It serves measuring only; the recordings are no part
// of larkhand.
//
// # Conventions
//
// Times are seconds since the clip's start, pitch is a MIDI note number. Onsets and offsets come from the annotators. Their
// pitch is coarse (bins of a Fourier transform, 5 to 9 Hz) and reads about 20 cents high, some clips a whole semitone; so
// [Clip.Bias] measures the constant difference from an independent F0 track, and [Clip.Truth] takes the median F0 of each note
// where it agrees with the unbiased label.
//
// # Tuning and keeping apart
//
// One third of the clips is kept apart ([Kept]): it is looked at only to report figures, never to choose a constant. The
// clips of one singer or recording session stay on one side. The set names no singers, so families are taken from the ids:
// neighbouring ids, and the long run 1201 to 1230, which is one voice as far as can be told. The split was fixed before the
// first figure was printed; see split.go for the rule.
//
// # Non-goals
//
// No sound is decoded here (Clip.Sound is a path), nothing is cut into phrases, and no other set is read.
package sightsing
