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
	"larkhand/internal/sound"
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
played, and whether you knew the answer or searched for it.

Without a command it opens 'larkhand practice' on a terminal, where it was built
with devices; elsewhere it prints this help.`,
		Example:       "  larkhand demo\n  larkhand check --key \"C minor\" take1.wav take2.wav answer.mid",
		Args:          noArguments,
		RunE:          openOrHelp,
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.SetFlagErrorFunc(flagError)
	root.AddCommand(newCheck(), newDevices(theDevices()), newNotes(), newPitch(), newPractice(), newDemo(), newVersion())
	root.AddCommand(newHistory(), newProgress(), newReport(), newJournal())
	root.AddCommand(newExport(), newImport(), newClass(), newPhrases(), newKeys())
	root.SetHelpCommand(newHelp())
	addCompletion(root)
	return root
}

// openOrHelp opens the screens of the practice command where there are a terminal and devices, else it prints the help.
func openOrHelp(cmd *cobra.Command, _ []string) error {
	if !sound.Built || !drawsScreens(cmd) {
		return cmd.Help()
	}
	practice := newPractice()
	practice.SetArgs([]string{})
	practice.SetIn(cmd.InOrStdin())
	practice.SetOut(cmd.OutOrStdout())
	practice.SetErr(cmd.ErrOrStderr())
	practice.SilenceUsage, practice.SilenceErrors = true, true
	return practice.ExecuteContext(cmd.Context())
}

// drawsScreens tells whether input and output are a terminal that screens can be drawn on.
func drawsScreens(cmd *cobra.Command) bool {
	in, ok := cmd.InOrStdin().(*os.File)
	return ok && isTerminal(in) && isTerminal(cmd.OutOrStdout()) && os.Getenv("TERM") != "dumb"
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
