// Package phrase is a phrase that a player keeps: its notes counted from the tonic, so that it can be carried to any key, and
// what became of it in each key.
//
// # What is here
//
//   - Phrase: name, tags, chords it fits, its scale, its notes. Read reads notes as numbers with rhythm; In gives them as pitches
//     in a key; Of takes them from notes that were sung or played.
//   - Tour: an order of keys to carry it through: fourths, semitones, random, or the weak keys first.
//   - Card: when it is due again in one key, by spaced repetition (Wozniak 1990, algorithm SM-2), with the reason.
//   - CSV, and a MIDI file, in and out.
//
// # Typed phrases
//
//	1 1 2 b3:2 -:1 5' 4:1/2
//
// Each note is a number of the scale, with # or b before it; after a colon comes its length in quarter notes (1, 0.5, 1/2, 3/2), which
// holds for the notes after it until another is given; "-" is a rest. Each note lies as near as can be to the one before it;
// ' puts it an octave higher than that, a comma an octave lower. The first note lies at or above the tonic.
//
// # How far the evidence goes
//
// That practice spread over days lasts longer than the same practice in one sitting is well shown for words and facts; for
// melodies in the hands it is likely and little measured. The schedule is a rule of thumb with a known name, no finding.
//
// # Conventions
//
// Semitones are counted from the tonic, times and lengths in quarter notes, tempo in quarter notes a minute.
//
// # Non-goals
//
// No files on disk (package phrasebook), no judging, no invented phrases: the player makes them.
package phrase
