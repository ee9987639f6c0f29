package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"larkhand/internal/screen/unasked"
)

// Main runs the program with the arguments, streams and signals of the process, and returns its exit code.
func Main() int {
	unasked.Done()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends the process at once
	return Run(ctx, os.Args[1:], os.Stdout, os.Stderr)
}

// Run runs one command line and returns the exit code. Cancelling ctx stops it at the next step; files that were being
// written are then not there.
func Run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	root := New()
	root.SetArgs(args)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.ExecuteContext(ctx)
	switch {
	case err == nil:
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "larkhand: stopped before it was done")
	case errors.Is(err, syscall.EPIPE): // the reader of our output has gone, as in "larkhand pitch a.wav | head"
	default:
		fmt.Fprintln(stderr, "larkhand: "+oneLine(err))
	}
	return exitCode(err)
}

// New makes the tree of commands.
func New() *cobra.Command {
	root := &cobra.Command{
		Use:   "larkhand",
		Short: "Check whether you can play at once what you sang",
		Long: `Larkhand checks whether you can play at once what you sang. Sing a short phrase,
sing it once more, work out its numbers and letters in your head, and play it on
a MIDI keyboard or guitar. Larkhand says note by note what was sung and what was
played, and whether you knew the answer or searched for it.`,
		Example:       "  larkhand demo\n  larkhand check --key \"C minor\" take1.wav take2.wav answer.mid",
		Args:          noArguments,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.SetFlagErrorFunc(flagError)
	root.AddCommand(newCheck(), newDevices(theDevices()), newNotes(), newPitch(), newPractice(), newDemo(), newVersion())
	root.AddCommand(newHistory(), newProgress(), newReport(), newJournal())
	root.AddCommand(newExport(), newImport(), newClass())
	root.SetHelpCommand(newHelp())
	addCompletion(root)
	return root
}

// addCompletion adds cobra's own completion commands now, so that they refuse wrong arguments like the others.
func addCompletion(root *cobra.Command) {
	root.InitDefaultCompletionCmd()
	for _, cmd := range root.Commands() {
		if cmd.Name() != "completion" {
			continue
		}
		cmd.Example = "  larkhand completion bash > ~/.local/share/bash-completion/completions/larkhand"
		cmd.Args = noArguments
		cmd.RunE = func(cmd *cobra.Command, _ []string) error {
			return wrongUse("name the shell: %s bash, zsh, fish or powershell", cmd.CommandPath())
		}
		for _, shell := range cmd.Commands() {
			shell.Args = noArguments
		}
	}
}
