package command

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"larkhand/internal/journal"
)

func newHistoryMark() *cobra.Command {
	return marking(true, &cobra.Command{
		Use:   "mark NUMBER...",
		Short: "Mark rounds in which the program heard other notes than were sung",
		Long: `Mark rounds in which the program heard other notes than were sung. A marked round
stays in the lists, and counts nowhere: not in progress, not in a report, not in a
class. "larkhand export --misheard --out FILE.zip" copies such rounds: they are what
helps to make the program hear better. "larkhand history unmark" takes the mark away.`,
		Example: "  larkhand history mark 12\n  larkhand history --misheard",
	})
}

func newHistoryUnmark() *cobra.Command {
	return marking(false, &cobra.Command{
		Use:     "unmark NUMBER...",
		Short:   "Take the mark of \"larkhand history mark\" away",
		Example: "  larkhand history unmark 12",
	})
}

// marking makes a command that sets the mark, or takes it away.
func marking(misheard bool, cmd *cobra.Command) *cobra.Command {
	var dir journalDir
	cmd.Args = someNumbers
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		return withRounds(cmd.Context(), dir, args, func(j *journal.Journal, ids []journal.ID) error {
			if err := markAll(cmd.Context(), j, ids, misheard); err != nil {
				return err
			}
			text := sentence(are(len(ids), "round")) + " marked as misheard; \"larkhand history unmark " + strings.Join(args, " ") + "\" takes that back."
			if !misheard {
				text = sentence(are(len(ids), "round")) + " not marked as misheard."
			}
			_, err := fmt.Fprintln(cmd.OutOrStdout(), text)
			return err
		})
	}
	dir.register(cmd)
	return cmd
}

// markAll marks rounds once it is known that all of them are there.
func markAll(ctx context.Context, j *journal.Journal, ids []journal.ID, misheard bool) error {
	for _, id := range ids {
		if _, err := j.Round(ctx, id); err != nil {
			return err
		}
	}
	for _, id := range ids {
		if err := j.Mark(ctx, id, misheard); err != nil {
			return err
		}
	}
	return nil
}
