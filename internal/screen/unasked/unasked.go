// Package unasked keeps the screen library from asking the terminal for its
// background colour when the program starts. The library does so in an init
// function, for every command; a terminal that does not answer would hold each of
// them up for five seconds, and the question itself shows in recordings of the output.
//
// How: the library asks only where the variable CI is empty. This package
// imports nothing but os, so Go initialises it before the library, which needs
// more ("initialise the first package, by import path, whose imports are all
// initialised", the Go specification, Program initialization). It sets CI for
// that time; Done takes it back. The screens use no colour that depends on the background.
//
// Non-goals: anything after the start.
package unasked

import "os"

const variable = "CI"

var set = func() bool {
	if os.Getenv(variable) != "" {
		return false
	}
	return os.Setenv(variable, "start") == nil
}()

// Done takes the variable back. Call it first in the program.
func Done() {
	if set {
		os.Unsetenv(variable)
	}
}
