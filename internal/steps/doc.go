// Package steps finds the weak link between a phrase that was sung and the answer that was played.
//
// A phrase goes from the voice to the ear, from the ear to numbers, from the numbers to letters, from the letters to the
// fingers. A player who writes down the numbers and the letters on the way (package entry) leaves a trace of each step, and
// Judge compares each with the one before it:
//
//   - Voice: take 1 and take 2 with one another. It fails where a note that both sing surely is not the same in both, or where
//     a third of the phrase or more lies between two keys.
//   - Ear: the first step that was written down with what was sung.
//   - Names: the letters with the numbers.
//   - Fingers: the answer with the last step that was written down, and whether the answer was searched for (package hunt).
//
// Steps that were left out are skipped: without letters the fingers are compared with the numbers, and so on.
//
// # Whose fault a difference is
//
// A mistake belongs to the link in which it first appears. Three things follow (all own rules):
//
//   - A step that carries a mistake of an earlier step on has made none itself. One that departs from the step before it and is
//     what was sung corrects a slip of the pen: the slip is counted, the correction is not.
//   - Where the voice is unclear, or the two takes differ, no link is blamed for that note.
//   - A note that the player wrote and played, and that was not heard in the voice, was lost by the ear of the program: nobody
//     is blamed for it.
//
// A phrase that every step moves by the same interval was only sung in another place than it was meant: no link is blamed.
//
// # Conventions
//
// Pitch classes are 0 (C) to 11, as in package entry. Places are indices of [Input].Phrase. Steps are compared by the edit
// distance of their pitch classes (Wagner and Fischer 1974, J. ACM 21:168), a question mark agreeing with everything.
//
// # Non-goals
//
// No rhythm, no octaves: neither numbers nor letters have them. No memory of other rounds.
package steps
