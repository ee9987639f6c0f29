// Package draw is what the terminal screens are drawn with: lines of a width in columns, pages of a size, and the few ways in
// which text is set off.
//
// # Conventions
//
// Widths are columns of a terminal: a wide character counts two, a combining mark and an escape sequence none. Nothing that is given
// back is wider than it was asked to be.
//
// # Non-goals
//
// No keys, no state and no types of bubbletea.
package draw
