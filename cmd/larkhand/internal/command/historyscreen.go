package command

import (
	"context"
	"os"

	"github.com/spf13/cobra"

	"larkhand/internal/journal"
	"larkhand/internal/round"
	"larkhand/internal/screen/past"
)

// onScreen says whether the list is shown as a screen: on a terminal, unless it is asked for in another way.
func (h *history) onScreen(cmd *cobra.Command, ids []journal.ID) bool {
	in, ok := cmd.InOrStdin().(*os.File)
	return len(ids) == 0 && !h.plain && !h.json && !h.csv && !h.again && h.limit == 0 &&
		ok && isTerminal(in) && isTerminal(cmd.OutOrStdout()) && os.Getenv("TERM") != "dumb"
}

// screen shows the rounds that are chosen on the terminal.
func (h *history) screen(cmd *cobra.Command, j *journal.Journal) error {
	filter, err := h.choice.filter()
	if err != nil {
		return err
	}
	cfg := past.Config{
		Journal: j, Filter: filter, Program: programVersion(), Colour: inColour(cmd.OutOrStdout()),
		Judge: func(ctx context.Context, s journal.Stored) (round.Round, error) {
			files, err := filesOf(s)
			if err != nil {
				return round.Round{}, err
			}
			return judgeStored(ctx, s, files)
		},
		Rejudge: func(ctx context.Context, id journal.ID) (journal.Change, error) { return rejudgeOne(ctx, j, id) },
	}
	cfg.Speaker, cfg.Silent = historySpeaker()
	return past.Run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cfg)
}
