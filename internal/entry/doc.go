// Package entry reads what a player types about a phrase: its numbers ("1 1 2 b3", "11 2 b3") or its letters ("C C D Eb",
// "ccdeb"), and writes it back in the key's own spelling.
//
// Typing is quick and forgiving. Small letters and capitals mean the same, except that a small b right after a letter is a
// flat; ♭, ♯ and ♮ are read; notes may run together or stand apart, with spaces, commas, hyphens or bar lines between them. A
// question mark is a note that was not heard: it is never wrong.
//
//   - Numbers: an accidental, up to two of # or b, and a digit from 1 to 7; 8 is read as 1. "n" or ♮ before the digit is no
//     accidental. Which note a plain number means depends on the numbering (package music). In numbers of the key's own scale an
//     accidental that the key's degree has already against major is no second one: b3 in C minor is 3, E flat.
//   - Letters: a letter from A to G and up to two of # or b after it. A capital B is always a note. A small b is a flat where it
//     follows a letter without a space, and a note elsewhere: "eb" is E flat, "e b" is E and B.
//
// A number or letter says nothing of the octave, so notes are compared as pitch classes: D# is Eb here, and what is shown is
// the key's own spelling.
//
// # Non-goals
//
// No rhythm is read here, no octaves, no chords.
package entry
