package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/journal"
	over "larkhand/internal/progress"
	"larkhand/internal/report"
	"larkhand/internal/reportpage"
	"larkhand/internal/soundfile"
)

// reporting is the flags of the command.
type reporting struct {
	dir      journalDir
	choice   choice
	rounds   []string
	pictures int
	out      string
	force    bool
	whole    []reportpage.Row // rounds that are shown whole, as far as their files are good
}

// What a page shows at most. Own: more rounds are not looked at in one sitting, and a longer list belongs into a table program.
const (
	usualPictures = 12
	mostListed    = 200
	mostPlayers   = 6
)

func newReport() *cobra.Command {
	var r reporting
	cmd := &cobra.Command{
		Use:   "report",
		Short: "Write a page about your rounds: pictures, sound, notation, progress",
		Long: `Write one HTML file about rounds in the journal, for the player or the teacher:
what they show over time, where the trouble is, a list, and the newest of them
whole, with picture, takes and answer to listen to, and notation. The file opens
offline in any browser and can be printed; nothing is sent anywhere.

With --round only the rounds named are in it.`,
		Example: `  larkhand report --player Anna --out anna.html
  larkhand report --player Anna --since 2026-11-01 --key "C minor" --out november.html
  larkhand report --round 12 --round 15 --out lesson.html`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return r.run(cmd) },
	}
	f := cmd.Flags()
	f.StringVar(&r.choice.player, "player", "", "only rounds that this player (`name`) sang or played")
	f.StringVar(&r.choice.key, "key", "", "only rounds in this `key`, such as \"C minor\"")
	r.choice.period.register(cmd)
	f.StringSliceVar(&r.rounds, "round", nil, "only the round with this `number`; may be given again")
	f.IntVar(&r.pictures, "pictures", usualPictures, "how many `rounds` are shown whole, the newest")
	f.StringVar(&r.out, "out", "report.html", "the `file` to write")
	f.BoolVar(&r.force, "force", false, "write over a file that is there already")
	r.dir.register(cmd)
	return cmd
}

func (r *reporting) run(cmd *cobra.Command) error {
	ids, err := numbers(r.rounds)
	if err != nil {
		return err
	}
	if err := r.check(cmd, len(ids) > 0); err != nil {
		return err
	}
	return r.dir.with(func(j *journal.Journal) error { return r.write(cmd, j, ids) })
}

// write writes the page about the rounds whose numbers were given, or about those that the flags choose.
func (r *reporting) write(cmd *cobra.Command, j *journal.Journal, ids []journal.ID) (err error) {
	page := reportpage.Report{Made: time.Now(), Program: "larkhand " + programVersion()}
	if len(ids) > 0 {
		err = r.named(cmd.Context(), j, ids, &page)
	} else {
		err = r.chosen(cmd, j, &page)
	}
	if err != nil {
		return err
	}
	if err := r.showWhole(cmd, j, &page); err != nil {
		return err
	}
	if err := writeFile(r.out, nil, func(w io.Writer) error { return reportpage.Write(w, page) }); err != nil {
		return err
	}
	return r.tell(cmd.OutOrStdout(), page)
}

// check refuses what does not go together, before anything is read.
func (r *reporting) check(cmd *cobra.Command, named bool) error {
	if named {
		for _, name := range []string{"player", "key", "since", "until", "pictures"} {
			if cmd.Flags().Changed(name) {
				return wrongUse("--%s chooses rounds; leave it out where --round names them", name)
			}
		}
	}
	switch {
	case r.pictures < 0:
		return wrongUse("--pictures %d is no number of rounds; give 0 or more", r.pictures)
	case r.out == "":
		return wrongUse("--out needs the name of a file, such as report.html")
	}
	info, err := os.Stat(r.out)
	switch {
	case err == nil && info.IsDir():
		return fmt.Errorf("%s is a folder; name a file in it, such as %s", r.out, strings.TrimRight(r.out, `/\`)+"/report.html")
	case err == nil && !r.force:
		return fmt.Errorf("%s is there already; name another file, or give --force to write over it", r.out)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("cannot write %s: %w", r.out, plainCause(err))
	}
	return nil
}

// named takes the rounds whose numbers were given, in that order.
func (r *reporting) named(ctx context.Context, j *journal.Journal, ids []journal.ID, page *reportpage.Report) error {
	for _, id := range ids {
		s, err := j.Round(ctx, id)
		if err != nil {
			return err
		}
		page.Rows = append(page.Rows, pageRow(s.Row))
	}
	page.Total, r.whole = len(page.Rows), page.Rows
	return nil
}

// chosen takes the rounds that the flags choose, and the progress of their players.
func (r *reporting) chosen(cmd *cobra.Command, j *journal.Journal, page *reportpage.Report) error {
	ctx := cmd.Context()
	filter, err := r.choice.filter()
	if err != nil {
		return err
	}
	filter.Counting = true // what is marked as misheard is in the page only where it is named
	if cmd.Flags().Changed("player") {
		if filter.Player, err = onePlayer(ctx, j, r.choice.player, true); err != nil {
			return err
		}
	}
	if page.Total, err = j.Count(ctx, filter); err != nil {
		return err
	}
	if page.Total == 0 {
		return fmt.Errorf("no rounds in the journal in %s are so; \"larkhand history\" lists those that there are", j.Where().Dir)
	}
	for row, err := range pages(ctx, j, filter, max(mostListed, r.pictures)) {
		if err != nil {
			return err
		}
		page.Rows = append(page.Rows, pageRow(row))
		if row.Files && len(r.whole) < r.pictures {
			r.whole = append(r.whole, pageRow(row))
		}
	}
	page.Choice = r.words(filter)
	return playersOf(ctx, j, filter, cmd.Flags().Changed("player"), page)
}

// words say which rounds were chosen; "" for all.
func (r *reporting) words(f journal.Filter) string {
	var parts []string
	if f.Key != "" {
		parts = append(parts, "in "+f.Key)
	}
	if r.choice.since != "" {
		parts = append(parts, "since "+r.choice.since)
	}
	if r.choice.until != "" {
		parts = append(parts, "until "+r.choice.until)
	}
	if len(parts) == 0 {
		return ""
	}
	return "Rounds " + strings.Join(parts, ", ")
}

// playersOf adds the progress of the players whose rounds were chosen, in the chosen key and time.
func playersOf(ctx context.Context, j *journal.Journal, f journal.Filter, one bool, page *reportpage.Report) error {
	names := []string{f.Player}
	if !one {
		players, err := j.Players(ctx)
		if err != nil {
			return err
		}
		names = names[:0]
		for _, p := range players {
			names = append(names, p.Name)
		}
	}
	for _, name := range names {
		rounds, err := j.Progress(ctx, name, f.From, f.To)
		if err != nil {
			return err
		}
		if f.Key != "" {
			rounds = inKey(rounds, f.Key)
		}
		switch {
		case len(rounds) == 0:
		case len(page.Players) == mostPlayers:
			page.More++
		default:
			page.Players = append(page.Players, report.ProgressView{Player: name, Progress: over.Of(rounds)})
		}
	}
	return nil
}

func inKey(rounds []over.Round, key string) []over.Round {
	var in []over.Round
	for _, r := range rounds {
		if r.Key == key {
			in = append(in, r)
		}
	}
	return in
}

func pageRow(r journal.Row) reportpage.Row {
	return reportpage.Row{Number: int64(r.ID), At: r.At, Sang: r.Sang, Played: r.Played, Key: r.Key, Phrase: r.Phrase, Same: r.Same, Label: r.Label, Response: r.Response}
}

// showWhole judges the rounds that are shown whole. One whose files are not as they were saved becomes a remark.
func (r *reporting) showWhole(cmd *cobra.Command, j *journal.Journal, page *reportpage.Report) error {
	bar := newBar(cmd.ErrOrStderr(), len(r.whole))
	defer bar.clear()
	for i, row := range r.whole {
		if err := cmd.Context().Err(); err != nil {
			return err
		}
		whole, err := wholeRound(cmd.Context(), j, row)
		switch {
		case err != nil && cmd.Context().Err() != nil:
			return cmd.Context().Err()
		case err != nil:
			page.Remarks = append(page.Remarks, sentence(oneLine(err))+".")
		default:
			page.Rounds = append(page.Rounds, whole)
		}
		bar.show(i + 1)
	}
	return nil
}

// wholeRound reads and judges a round, with its sounds.
func wholeRound(ctx context.Context, j *journal.Journal, row reportpage.Row) (reportpage.Round, error) {
	whole := reportpage.Round{Row: row}
	s, err := j.Round(ctx, journal.ID(row.Number))
	if err != nil {
		return whole, err
	}
	files, err := filesOf(s)
	if err != nil {
		return whole, err
	}
	if whole.Judged, err = judgeStored(ctx, s, files); err != nil {
		return whole, fmt.Errorf("round %d cannot be shown: %w", s.ID, err)
	}
	for i, take := range whole.Judged.Takes {
		sound, err := takeSound(files[i], take.Written)
		if err != nil {
			return whole, fmt.Errorf("round %d cannot be shown: %w", s.ID, err)
		}
		whole.Takes = append(whole.Takes, sound)
	}
	if whole.Answer, err = reportpage.AnswerSound(whole.Judged.Answer.Notes); err != nil {
		return whole, fmt.Errorf("round %d cannot be shown: %w", s.ID, err)
	}
	if now, before := outcomeOf(whole.Judged), s.Results[len(s.Results)-1].Outcome; !(journal.Change{Before: before, After: now}).Same() {
		whole.Remarks = append(whole.Remarks, "This version judges the round otherwise than it is kept: "+report.Change(report.Outcome(before), report.Outcome(now))+".")
	}
	return whole, nil
}

// takeSound is a take to listen to; none where it was written.
func takeSound(path string, written bool) (reportpage.Sound, error) {
	if written {
		return reportpage.Sound{}, nil
	}
	sound, err := soundfile.Read(path)
	if err != nil {
		return reportpage.Sound{}, err
	}
	return reportpage.Compact(sound.Samples, sound.Rate)
}

// tell says what was written.
func (r *reporting) tell(w io.Writer, page reportpage.Report) error {
	info, err := os.Stat(r.out)
	if err != nil {
		return fmt.Errorf("cannot read %s: %w", r.out, plainCause(err))
	}
	const megabyte = 1e6
	size := strconv.FormatFloat(float64(info.Size())/megabyte, 'f', 1, 64)
	if _, err := fmt.Fprintf(w, "The report is in %s: %s, %d of them whole, %s MB.\n", r.out, counted(page.Total, "round"), len(page.Rounds), size); err != nil {
		return err
	}
	return tellEach(w, page.Remarks)
}
