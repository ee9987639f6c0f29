// Package metrics holds the published measures of pitch tracking and note transcription, so that figures of larkhand
// can be put beside figures of others.
//
// # What is here
//
//   - [Melody]: voicing recall, voicing false alarm, raw pitch, raw chroma and overall accuracy (Salamon, Gomez, Ellis
//     and Richard 2014; Poliner et al. 2007).
//   - [MatchNotes], [Transcription], [Onsets], [Offsets]: note matching and precision, recall, F and average overlap
//     (Raffel et al. 2014; the classes COn, COnP, COnPOff of Molina, Barbancho, Tardon and Barbancho 2014).
//   - [NoteErrorRate]: edit distance between two note sequences over the reference notes.
//   - [Errors]: what kinds of error a transcription makes, per reference note.
//
// # Conventions
//
// Times are seconds, pitch is a MIDI note number (A4 = 69 = 440 Hz), F0 is Hz, distances of pitch are cents. The
// reference always stands first. A tolerance is inclusive (<=) unless Tolerance.Strict asks for <; the melody tolerance is
// exclusive, as published. Distances of notes are rounded to 4 decimals before they are compared, so that 0.05 s counts as
// 0.05 s whatever the floating-point error of a subtraction. An empty reference or estimate gives 0, never NaN.
//
// # Departures from the published toolkit
//
//  1. Notes come with a MIDI number instead of Hz; both give the same cents.
//  2. Pitch distances are rounded to 4 decimals too: 50.00004 cents counts as 50. No effect on the published examples.
//  3. Among several largest matchings the one found need not be the toolkit's. Only the average overlap could
//     tell them apart; on the toolkit's own ten examples it is equal.
//
// # Non-goals
//
// No multi-pitch, beat, chord or segment measures, no file reading, no intervals and significance tests (package stats).
package metrics
