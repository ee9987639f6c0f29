package command

import (
	"context"
	"fmt"
	"io"
	"iter"
	"slices"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/journal"
	"larkhand/internal/music"
	"larkhand/internal/report"
)

// period is the flags on a stretch of days.
type period struct{ since, until string }

func (p *period) register(cmd *cobra.Command) {
	cmd.Flags().StringVar(&p.since, "since", "", "first `day`, such as 2026-11-03")
	cmd.Flags().StringVar(&p.until, "until", "", "last `day`, such as 2026-11-30")
}

// bounds gives the begin of the first day and the end of the last one, by the clock of this machine; zero is no bound.
func (p period) bounds() (from, to time.Time, err error) {
	if from, err = day("since", p.since); err != nil {
		return
	}
	if to, err = day("until", p.until); err != nil || to.IsZero() {
		return
	}
	to = to.AddDate(0, 0, 1)
	if !from.IsZero() && !from.Before(to) {
		err = wrongUse("--since %s lies after --until %s; give the earlier day to --since", p.since, p.until)
	}
	return
}

func day(flag, text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := time.ParseInLocation(time.DateOnly, text, time.Local)
	if err != nil {
		return t, wrongUse("--%s %q is no day; write it as in --%s 2026-11-03", flag, text, flag)
	}
	return t, nil
}

// choice is the flags on which rounds are meant.
type choice struct {
	period
	player, key string
	deleted     bool
	misheard    bool
}

func (c *choice) register(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&c.player, "player", "", "only rounds that this player (`name`) sang or played")
	f.StringVar(&c.key, "key", "", "only rounds in this `key`, such as \"C minor\"")
	f.BoolVar(&c.deleted, "deleted", false, "the deleted rounds instead")
	c.registerMisheard(cmd)
	c.period.register(cmd)
}

// registerMisheard is the flag that "larkhand export" has too.
func (c *choice) registerMisheard(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&c.misheard, "misheard", false, "only the rounds that are marked as misheard; exported, they are what helps to make the program hear better")
}

func (c choice) filter() (f journal.Filter, err error) {
	f.Player, f.Deleted, f.Misheard = c.player, c.deleted, c.misheard
	if c.key != "" {
		key, err := music.ParseKey(c.key)
		if err != nil {
			return f, wrongValue("key", err)
		}
		f.Key = key.String()
	}
	f.From, f.To, err = c.bounds()
	return f, err
}

// history is the flags of the command.
type history struct {
	dir                     journalDir
	choice                  choice
	limit                   int
	plain, json, csv, again bool
	svg                     string
}

func newHistory() *cobra.Command {
	var h history
	cmd := &cobra.Command{
		Use:   "history [NUMBER]",
		Short: "Look through the rounds in the journal, or show one again",
		Long: `Look through the rounds in the journal, the newest first: on a terminal as a
screen, on which a round is opened, played back, marked, deleted or judged again; with
--plain, --json, --csv or --limit, or into a file, as a list. With a round's
number, show it again: its takes and its answer are read from the journal and
judged by this version of the program. With --json, one round is printed as it
was judged last.

With --rejudge, the rounds that another version judged last are judged by this one
(or those whose numbers are given); what changed is printed and put into the
journal. The result before is kept beside it.`,
		Example: `  larkhand history --player Anna --since 2026-11-01
  larkhand history 12 --svg round.svg
  larkhand history --csv > rounds.csv
  larkhand history --rejudge
  larkhand history delete 12
  larkhand history mark 12`,
		Args: h.arguments,
		RunE: func(cmd *cobra.Command, args []string) error {
			ids, err := numbers(args)
			if err != nil {
				return err
			}
			return h.dir.with(func(j *journal.Journal) error {
				switch {
				case h.again:
					return h.rejudge(cmd, j, ids)
				case len(ids) == 1:
					return h.show(cmd, j, ids[0])
				case h.onScreen(cmd, ids):
					return h.screen(cmd, j)
				}
				return h.list(cmd, j)
			})
		},
	}
	h.choice.register(cmd)
	f := cmd.Flags()
	f.IntVar(&h.limit, "limit", 0, "at most so many `rounds`; 50 if not given, all with --json and --csv")
	f.BoolVar(&h.plain, "plain", false, "print a list without a screen and without colour")
	f.BoolVar(&h.json, "json", false, "print JSON (schema larkhand.history/1; of one round larkhand.round/1)")
	f.BoolVar(&h.csv, "csv", false, "print the list as comma-separated values")
	f.StringVar(&h.svg, "svg", "", "draw the one round to this SVG `file`")
	f.BoolVar(&h.again, "rejudge", false, "judge rounds again with this version, and show what changed")
	h.dir.register(cmd)
	exclusive(cmd, "csv", "json")
	cmd.AddCommand(newHistoryDelete(), newHistoryUndelete(), newHistoryPurge(), newHistoryMark(), newHistoryUnmark())
	return cmd
}

// arguments refuses what does not go together.
func (h *history) arguments(cmd *cobra.Command, args []string) error {
	for _, arg := range args {
		if _, err := strconv.ParseInt(arg, 10, 64); err != nil {
			return historyWord(cmd, arg)
		}
	}
	one := len(args) == 1 && !h.again
	switch {
	case len(args) > 1 && !h.again:
		return wrongUse("%s shows one round at a time, not %d; give one number", cmd.CommandPath(), len(args))
	case h.svg != "" && !one:
		return wrongUse("--svg draws one round; give its number, as in '%s 12 --svg %s'", cmd.CommandPath(), h.svg)
	case (h.csv || h.json) && h.again, h.csv && one:
		return wrongUse("--csv is for the list and --json for the list or one round; leave it out here")
	case h.limit < 0:
		return wrongUse("--limit %d is no number of rounds; give 1 or more", h.limit)
	}
	if len(args) > 0 {
		for _, name := range []string{"player", "key", "since", "until", "deleted", "misheard", "limit"} {
			if cmd.Flags().Changed(name) {
				return wrongUse("--%s chooses rounds; leave it out where numbers are given", name)
			}
		}
	}
	return nil
}

// historyWord is the error for an argument that is neither a number nor a command.
func historyWord(cmd *cobra.Command, word string) error {
	var names []string
	for _, sub := range cmd.Commands() {
		names = append(names, sub.Name())
	}
	if near, found := nearest(word, names); found {
		return wrongUse("%q is no round's number; did you mean '%s %s'?", word, cmd.CommandPath(), near)
	}
	return wrongUse("%q is no round's number; '%s' lists the rounds with theirs", word, cmd.CommandPath())
}

// numbers reads the names of rounds.
func numbers(args []string) ([]journal.ID, error) {
	var ids []journal.ID
	for _, arg := range args {
		id, err := strconv.ParseInt(arg, 10, 64)
		if err != nil || id < 1 {
			return nil, wrongUse("%q is no round's number; 'larkhand history' lists the rounds with theirs", arg)
		}
		if !slices.Contains(ids, journal.ID(id)) {
			ids = append(ids, journal.ID(id))
		}
	}
	return ids, nil
}

// usualRounds is how many a person is shown.
const usualRounds = 50

// list prints the rounds that are chosen.
func (h *history) list(cmd *cobra.Command, j *journal.Journal) error {
	filter, err := h.choice.filter()
	if err != nil {
		return err
	}
	limit := h.limit
	if limit == 0 && !h.json && !h.csv {
		limit = usualRounds
	}
	total, err := j.Count(cmd.Context(), filter)
	if err != nil {
		return err
	}
	view := report.HistoryView{Total: total, Rows: reportRows(pages(cmd.Context(), j, filter, limit))}
	out := cmd.OutOrStdout()
	switch {
	case h.json:
		return view.JSON(out)
	case h.csv:
		return view.CSV(out)
	case total == 0:
		_, err := fmt.Fprintln(out, "There are no such rounds in the journal in "+j.Where().Dir+".")
		return err
	}
	if err := view.Text(out, !h.plain && inColour(out)); err != nil {
		return err
	}
	if total > limit {
		_, err = fmt.Fprintf(out, "\nThese are %d of %d rounds; --limit %d lists all.\n", limit, total, total)
	}
	return err
}

// pages yields the rounds page by page, at most limit of them; 0 is all. It ends with the first error.
func pages(ctx context.Context, j *journal.Journal, f journal.Filter, limit int) func(yield func(journal.Row, error) bool) {
	return func(yield func(journal.Row, error) bool) {
		const most = 500 // rounds a page: some 100 kB
		var after journal.Cursor
		for left := limit; limit == 0 || left > 0; {
			size := most
			if limit > 0 {
				size = min(size, left)
			}
			rows, err := j.Rounds(ctx, f, journal.Page{After: after, Limit: size})
			if err != nil {
				yield(journal.Row{}, err)
				return
			}
			for _, row := range rows {
				if !yield(row, nil) {
					return
				}
				after = row.Cursor()
			}
			if len(rows) < size {
				return
			}
			left -= len(rows)
		}
	}
}

// show prints a round again.
func (h *history) show(cmd *cobra.Command, j *journal.Journal, id journal.ID) error {
	s, err := j.Round(cmd.Context(), id)
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	if h.json && h.svg == "" {
		_, err := fmt.Fprintf(out, "%s\n", s.Results[len(s.Results)-1].Document)
		return err
	}
	files, err := filesOf(s)
	if err != nil {
		return err
	}
	r, err := judgeStored(cmd.Context(), s, files)
	if err != nil {
		return err
	}
	if h.svg != "" {
		if err := writeFile(h.svg, files, func(w io.Writer) error { return report.SVG(w, r) }); err != nil {
			return err
		}
	}
	if h.json {
		_, err := fmt.Fprintf(out, "%s\n", s.Results[len(s.Results)-1].Document)
		return err
	}
	if err := report.Paragraph(out, report.HistoryTitle(reportRow(s.Row))); err != nil {
		return err
	}
	if err := report.Text(out, r, !h.plain && inColour(out)); err != nil {
		return err
	}
	if now, before := outcomeOf(r), s.Results[len(s.Results)-1].Outcome; !(journal.Change{Before: before, After: now}).Same() {
		text := fmt.Sprintf("This version judges the round otherwise than it is kept (%s). \"larkhand history --rejudge %d\" keeps the new result.", report.Change(report.Outcome(before), report.Outcome(now)), id)
		if err := report.Paragraph(out, text); err != nil {
			return err
		}
	}
	if h.svg != "" {
		_, err = fmt.Fprintln(out, "The picture is in "+h.svg+".")
	}
	return err
}

// reportRow is a round of the journal as a list shows it.
func reportRow(r journal.Row) report.Row {
	return report.Row{
		Number: int64(r.ID), UID: r.UID, At: r.At, Sang: r.Sang, Played: r.Played, Key: r.Key, KeyGuessed: r.KeyGuessed, Chart: r.Chart, Tempo: r.Tempo,
		Phrase: r.Phrase, Label: r.Label, Searched: r.Searched, Response: r.Response,
		Same: r.Same, Different: r.Different, LeftOut: r.LeftOut, Unclear: r.Unclear, Added: r.Added, Program: r.Program, Files: r.Files, Deleted: r.Deleted,
		Misheard: r.Misheard, PhraseName: r.PhraseName, Numbers: r.Numbers, Letters: r.Letters, Weak: r.Weak, Pieces: r.Pieces,
	}
}

func reportRows(rows iter.Seq2[journal.Row, error]) iter.Seq2[report.Row, error] {
	return func(yield func(report.Row, error) bool) {
		for row, err := range rows {
			if !yield(reportRow(row), err) {
				return
			}
		}
	}
}

// filesOf are the takes and the answer of a round, in the order in which checkFiles wants them. The error says what is missing.
func filesOf(s journal.Stored) ([]string, error) {
	if len(s.Takes) == 0 {
		return nil, fmt.Errorf("round %d cannot be shown or judged again: no takes and no answer are kept of it; --json prints what was said of it", s.ID)
	}
	var files []string
	for _, f := range append(slices.Clone(s.Takes), s.Answer) {
		if f.State != journal.Good {
			return nil, fmt.Errorf("round %d cannot be shown or judged again: %s; --json prints what was said of it", s.ID, f.Remark)
		}
		files = append(files, f.Path)
	}
	return files, nil
}
