// Package past is the history screen: the rounds of a journal by session, a round opened again with its picture and its words, its
// sounds played back, rounds deleted and brought back, and judged again by this version of the program.
//
//	journal -> list view -> Enter -> judged anew -> round view: picture, words, sounds
//	             |  filters           |
//	             delete, undo, judge again: kept in the journal
//
// # Conventions
//
// A view is a function of the model and of the size of the terminal, from 60 columns and 20 rows on. Update never waits: whatever
// reads the journal, judges or sounds is a command of bubbletea. The list is read a page at a time, as it is looked at. Words and shapes
// carry the meaning and colour only helps.
//
// A deleted round is marked in the journal at once, so that nothing is undone by a crash; the screen brings it back until it is left,
// and the program after that.
//
// The picture has the last take's clock. The answer is moved as a whole so that its first answered note stands under the sung one. Pitch
// is drawn on the take's own tuning.
//
// # Non-goals
//
// Nothing is judged here and no device is opened: who calls [Run] brings a judge and, where there is one, a speaker. Types of bubbletea
// go no further than this package.
package past
