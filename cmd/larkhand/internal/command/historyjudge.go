package command

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/journal"
	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/report"
	"larkhand/internal/round"
)

// optionsOf are the options that a round of the journal was judged with.
func optionsOf(s journal.Stored) (round.Options, error) {
	opt := round.Options{Numbering: s.Numbering, Instrument: s.Instrument, AnswerStarts: s.AnswerStarts, TakeStarts: s.Hearing.TakeStarts,
		Written: writtenOf(s), Pieces: s.PieceStarts, Helped: s.Helped}
	if !s.KeyGuessed {
		key, err := music.ParseKey(s.Key)
		if err != nil {
			return opt, err
		}
		opt.Key = &key
	}
	if s.Chart == "" || s.Tempo == nil {
		return opt, nil
	}
	chart, err := music.ParseChart(s.Chart)
	if err != nil {
		return opt, err
	}
	l, err := loop.New(chart, *s.Tempo, s.LoopStarts)
	opt.Loop = &l
	return opt, err
}

// writtenOf is what was written down between singing and playing; nil where nothing was. Version 1 of the journal has it in what was said of the
// round alone.
func writtenOf(s journal.Stored) *round.Written {
	d, ok := lastDocument(s)
	if s.Written != nil || !ok || d.Steps == nil {
		return s.Written
	}
	seconds := func(n *report.Number) *float64 { return (*float64)(n) }
	return &round.Written{Numbers: plainLine(d.Steps.Numbers), Letters: plainLine(d.Steps.Letters),
		NumbersSeconds: seconds(d.Steps.NumbersSeconds), LettersSeconds: seconds(d.Steps.LettersSeconds)}
}

// lastDocument is what was said of a round last.
func lastDocument(s journal.Stored) (d report.RoundDocument, ok bool) {
	if len(s.Results) == 0 {
		return d, false
	}
	ok = json.Unmarshal(s.Results[len(s.Results)-1].Document, &d) == nil
	return d, ok
}

// judgeStored judges a round of the journal from its files.
func judgeStored(ctx context.Context, s journal.Stored, files []string) (round.Round, error) {
	opt, err := optionsOf(s)
	if err != nil {
		return round.Round{}, fmt.Errorf("round %d cannot be judged again: %w", s.ID, err)
	}
	b, err := backingOf(s)
	if err != nil {
		return round.Round{}, err
	}
	return judgeFiles(ctx, files, opt, b)
}

// outcomeOf is a judgement in short, as the journal keeps it.
func outcomeOf(r round.Round) journal.Outcome {
	n := report.Count(r)
	return journal.Outcome{Label: string(r.Finding.Label), Searched: r.Finding.Searched,
		Same: n.Same, Different: n.Different, LeftOut: n.LeftOut, Unclear: n.Unclear, Added: n.Added}
}

// rejudge judges rounds again: those named, or all that are chosen and that another version judged last.
func (h *history) rejudge(cmd *cobra.Command, j *journal.Journal, ids []journal.ID) error {
	ctx := cmd.Context()
	if len(ids) == 0 {
		filter, err := h.choice.filter()
		if err != nil {
			return err
		}
		filter.NotProgram = programVersion()
		for row, err := range pages(ctx, j, filter, h.limit) {
			if err != nil {
				return err
			}
			ids = append(ids, row.ID)
		}
	}
	out := cmd.OutOrStdout()
	if len(ids) == 0 {
		_, err := fmt.Fprintln(out, "No round was judged last by another version than this one; to judge one again all the same, give its number.")
		return err
	}
	changed, failed := 0, 0
	p := newBar(cmd.ErrOrStderr(), len(ids))
	defer p.clear()
	for i, id := range ids {
		if err := ctx.Err(); err != nil {
			return err
		}
		c, err := rejudgeOne(ctx, j, id)
		p.clear()
		text := ""
		switch {
		case err != nil && ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			failed++
			text = oneLine(err)
		case !c.Same():
			changed++
			text = fmt.Sprintf("round %d: %s", id, report.Change(report.Outcome(c.Before), report.Outcome(c.After)))
		}
		if text != "" {
			if _, err := fmt.Fprintln(out, text); err != nil {
				return err
			}
		}
		p.show(i + 1)
	}
	p.clear()
	if _, err := fmt.Fprintf(out, "%s judged again; %s changed.\n", sentence(were(len(ids)-failed, "round")), counted(changed, "result")); err != nil {
		return err
	}
	if failed > 0 {
		return fmt.Errorf("%d of %s could not be judged again; the reasons stand above", failed, counted(len(ids), "round"))
	}
	return nil
}

func rejudgeOne(ctx context.Context, j *journal.Journal, id journal.ID) (journal.Change, error) {
	s, err := j.Round(ctx, id)
	if err != nil {
		return journal.Change{}, err
	}
	files, err := filesOf(s)
	if err != nil {
		return journal.Change{}, err
	}
	r, err := judgeStored(ctx, s, files)
	if err != nil {
		return journal.Change{}, fmt.Errorf("round %d: %w", id, err)
	}
	document, err := documentOf(r)
	if err != nil {
		return journal.Change{}, err
	}
	v := journal.Judgement{At: time.Now(), Entry: journal.Entry{Round: r, Instrument: s.Instrument, Program: programVersion(), Document: document}}
	return j.Rejudge(ctx, id, v)
}
