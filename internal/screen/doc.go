// Package screen is what a player sees while practising: the set-up, the round as it goes, and its verdict, as screens of a
// terminal (bubbletea) or, for a screen reader, line by line ([Plain]).
//
//	Settings -> set-up view -> Settings.Setup -> Begin -> practice.Session -> Snapshots -> round view, verdict view
//	                                                             <- Do <- keys
//
// # Conventions
//
// A view is a function of the model and of the size of the terminal: no line is wider and no screen higher than that, from 60
// columns and 20 rows on; below, one sentence asks for more room. The page of a take stands still: time runs from left to
// right once, a row is a semitone, the key's degrees are its lines. Words and shapes carry the meaning and colour only helps,
// with one accent for "as sung" and one for "look here". Snapshots are taken one at a time, the newest first, so a slow
// terminal shows fewer of them and never old ones.
//
// What was sung is not shown while the player works it out or plays it. Who asks to hear what was understood sees its shape
// for so long, without numbers and letters.
//
// While numbers or letters are written, keys write; only those act that no entry contains.
//
// # Non-goals
//
// Nothing is recorded, judged or kept here, and no device is opened. Types of bubbletea go no further than this package.
package screen
