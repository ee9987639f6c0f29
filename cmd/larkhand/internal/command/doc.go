// Package command is the command line of larkhand: one file a command, each from flags to calls of the stages.
//
// # Conventions
//
// What was asked for goes to standard output, everything else (progress, errors) to standard error. An error is one plain sentence
// that says what would work. The exit code is 0 when done, 1 when it could not be done, 2 when the command line is wrong. Files named by
// --svg and --midi are written whole or not at all; files that are read are never changed.
//
// # Non-goals
//
// Nothing is judged and nothing is laid out here; internal/round and internal/report do that.
package command
