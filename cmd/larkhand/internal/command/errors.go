package command

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// The exit codes of the program.
const (
	exitDone     = 0 // what was asked for was done
	exitCouldNot = 1 // it could not be done: a file, the sound in it, a key name
	exitWrongUse = 2 // the command line itself is wrong: unknown command or flag, wrong number of files
)

// usageError is a mistake in the command line itself.
type usageError struct{ text string }

func (e usageError) Error() string { return e.text }

func wrongUse(format string, args ...any) error {
	return usageError{fmt.Sprintf(format, args...)}
}

// wrongValue is a flag's value that cannot be read.
func wrongValue(flag string, err error) error { return wrongUse("--%s: %v", flag, err) }

// exitCode is the exit code that an error asks for.
func exitCode(err error) int {
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &usage):
		return exitWrongUse
	}
	return exitCouldNot
}

// oneLine makes one line of an error: what came from a library may hold several.
func oneLine(err error) string {
	return strings.Join(strings.Fields(err.Error()), " ")
}

// between checks the number of arguments; what says in words which are wanted.
func between(low, high int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) >= low && len(args) <= high {
			return nil
		}
		return wrongUse("%s takes %s, not %s; see '%s --help'", cmd.CommandPath(), what, counted(len(args), "file"), cmd.CommandPath())
	}
}

// noArguments refuses every argument, and names the nearest command where the argument looks like a mistyped one.
func noArguments(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	if !cmd.HasSubCommands() {
		return wrongUse("%s takes no arguments, not %q; see '%s --help'", cmd.CommandPath(), args[0], cmd.CommandPath())
	}
	var names []string
	for _, sub := range cmd.Commands() {
		if sub.IsAvailableCommand() {
			names = append(names, sub.Name())
		}
	}
	if near, found := nearest(args[0], names); found {
		return wrongUse("there is no command %q; did you mean '%s %s'?", args[0], cmd.CommandPath(), near)
	}
	return wrongUse("there is no command %q; see '%s --help' for those there are", args[0], cmd.CommandPath())
}

// flagError turns what the flag reader says into one sentence, with the nearest flag where the name is unknown.
func flagError(cmd *cobra.Command, err error) error {
	var invalid *pflag.InvalidValueError
	if errors.As(err, &invalid) {
		return wrongUse("--%s does not take %q; see '%s --help'", invalid.GetFlag().Name, invalid.GetValue(), cmd.CommandPath())
	}
	var missing *pflag.NotExistError
	if !errors.As(err, &missing) || len(missing.GetSpecifiedName()) < 2 {
		return wrongUse("%v; see '%s --help'", err, cmd.CommandPath())
	}
	var names []string
	add := func(f *pflag.Flag) { names = append(names, f.Name) }
	cmd.LocalFlags().VisitAll(add)
	cmd.InheritedFlags().VisitAll(add)
	if near, found := nearest(missing.GetSpecifiedName(), names); found {
		return wrongUse("%s has no flag --%s; did you mean --%s?", cmd.CommandPath(), missing.GetSpecifiedName(), near)
	}
	return wrongUse("%s has no flag --%s; see '%s --help' for those it has", cmd.CommandPath(), missing.GetSpecifiedName(), cmd.CommandPath())
}

// nearest finds the name that a mistyped word most likely meant: at most one edit and one more for every three
// letters, or the beginning of the name.
func nearest(word string, names []string) (string, bool) {
	const lettersPerEdit = 3 // own choice: "chrat" (2 edits) is chart, "tempi" (1) is tempo
	best, bestEdits := "", 2+len(word)/lettersPerEdit
	for _, name := range names {
		edits := editDistance(strings.ToLower(word), name)
		if strings.HasPrefix(name, strings.ToLower(word)) {
			edits = 0
		}
		if edits < bestEdits {
			best, bestEdits = name, edits
		}
	}
	return best, best != ""
}

// editDistance counts the single letters to put in, leave out or change to make b of a (Levenshtein 1966, computed
// row by row as in Wagner and Fischer 1974).
func editDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j+1]+1, row[j]+1)
		}
	}
	return row[len(b)]
}

// counted writes a number with its noun: "no files", "1 file", "3 files".
func counted(n int, noun string) string {
	switch n {
	case 0:
		return "no " + noun + "s"
	case 1:
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
