package command

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"larkhand/internal/journal"
	"larkhand/internal/report"
)

// asking is the flag that answers yes beforehand.
type asking struct{ yes bool }

func (a *asking) register(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&a.yes, "yes", false, "do not ask")
}

var errNotSure = errors.New("nothing was changed: the answer was not yes; --yes asks nothing")

// confirm asks on standard error and reads a line. The error says that the answer was not yes.
func (a asking) confirm(cmd *cobra.Command, question string) error {
	if a.yes {
		return nil
	}
	if _, err := fmt.Fprint(cmd.ErrOrStderr(), question+" yes or no? "); err != nil {
		return err
	}
	answer := make(chan string, 1)
	in := cmd.InOrStdin()
	go func() { // ends with the line, or with the program where it is stopped
		line, _ := bufio.NewReader(io.LimitReader(in, 1<<10)).ReadString('\n') // nothing to read is no yes
		answer <- line
	}()
	select {
	case line := <-answer:
		if !strings.HasSuffix(line, "\n") {
			fmt.Fprintln(cmd.ErrOrStderr()) // no Enter has ended the line of the question
		}
		if word := strings.ToLower(strings.TrimSpace(line)); word == "yes" || word == "y" {
			return nil
		}
		return errNotSure
	case <-cmd.Context().Done():
		return cmd.Context().Err()
	}
}

func newHistoryDelete() *cobra.Command {
	var dir journalDir
	var ask asking
	cmd := &cobra.Command{
		Use:   "delete NUMBER...",
		Short: "Take rounds out of the lists and out of progress",
		Long: `Take rounds out of the lists and out of progress. They can be had back with
"larkhand history undelete" until "larkhand history purge".`,
		Example: "  larkhand history delete 12",
		Args:    someNumbers,
		RunE: func(cmd *cobra.Command, args []string) error {
			return withRounds(cmd.Context(), dir, args, func(j *journal.Journal, ids []journal.ID) error {
				for _, id := range ids {
					s, err := j.Round(cmd.Context(), id)
					if err != nil {
						return err
					}
					if !ask.yes {
						fmt.Fprintln(cmd.ErrOrStderr(), report.HistoryTitle(reportRow(s.Row)))
					}
				}
				if err := ask.confirm(cmd, "Delete "+these(len(ids))+"?"); err != nil {
					return err
				}
				if err := j.Delete(cmd.Context(), ids...); err != nil {
					return err
				}
				_, err := fmt.Fprintf(cmd.OutOrStdout(), "%s deleted; \"larkhand history undelete %s\" brings %s back until \"larkhand history purge\".\n",
					sentence(were(len(ids), "round")), strings.Join(args, " "), itOrThem(len(ids)))
				return err
			})
		},
	}
	ask.register(cmd)
	dir.register(cmd)
	return cmd
}

func newHistoryUndelete() *cobra.Command {
	var dir journalDir
	cmd := &cobra.Command{
		Use:     "undelete NUMBER...",
		Short:   "Bring deleted rounds back",
		Long:    `Bring deleted rounds back. "larkhand history --deleted" lists them.`,
		Example: "  larkhand history undelete 12",
		Args:    someNumbers,
		RunE: func(cmd *cobra.Command, args []string) error {
			return withRounds(cmd.Context(), dir, args, func(j *journal.Journal, ids []journal.ID) error {
				if err := j.Undelete(cmd.Context(), ids...); err != nil {
					return err
				}
				_, err := fmt.Fprintf(cmd.OutOrStdout(), "%s in the journal again.\n", sentence(are(len(ids), "round")))
				return err
			})
		},
	}
	dir.register(cmd)
	return cmd
}

func newHistoryPurge() *cobra.Command {
	var dir journalDir
	var ask asking
	cmd := &cobra.Command{
		Use:     "purge",
		Short:   "Remove all deleted rounds with their files, for good",
		Example: "  larkhand history --deleted\n  larkhand history purge",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return dir.with(func(j *journal.Journal) error {
				n, err := j.Deleted(cmd.Context())
				if err != nil {
					return err
				}
				if n > 0 {
					if err := ask.confirm(cmd, "Remove "+counted(n, "deleted round")+" with takes and answers for good?"); err != nil {
						return err
					}
					if n, err = j.PurgeAll(cmd.Context()); err != nil {
						return err
					}
				}
				_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s removed for good.\n", sentence(were(n, "round")))
				return err
			})
		},
	}
	ask.register(cmd)
	dir.register(cmd)
	return cmd
}

func someNumbers(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return wrongUse("%s takes the numbers of rounds; 'larkhand history' lists them", cmd.CommandPath())
	}
	_, err := numbers(args)
	return err
}

// withRounds opens the journal for a change of the rounds named.
func withRounds(ctx context.Context, dir journalDir, args []string, change func(*journal.Journal, []journal.ID) error) error {
	ids, err := numbers(args)
	if err != nil {
		return err
	}
	return dir.with(func(j *journal.Journal) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		return change(j, ids)
	})
}

// these is "this round", "these 3 rounds".
func these(n int) string {
	if n == 1 {
		return "this round"
	}
	return "these " + counted(n, "round")
}

func itOrThem(n int) string {
	if n == 1 {
		return "it"
	}
	return "them"
}
