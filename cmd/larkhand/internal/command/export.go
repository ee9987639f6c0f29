package command

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/bundle"
	"larkhand/internal/journal"
	"larkhand/internal/musicxml"
	"larkhand/internal/report"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/voice"
)

// export is the flags of the command.
type export struct {
	dir    journalDir
	choice choice
	ids    []string
	out    string
}

func newExport() *cobra.Command {
	var e export
	cmd := &cobra.Command{
		Use:   "export --out FOLDER|FILE.zip",
		Short: "Copy rounds out of the journal: MIDI, MusicXML, WAV, CSV, JSON",
		Long: `Copy rounds out of the journal, into a new folder or one zip file (a bundle). Of each
round: the takes as they are kept (FLAC), the answer and the phrase as MIDI, both
as notation (MusicXML), what was said of it (JSON), and its settings (round.txt);
of all together a table (rounds.csv). In a folder the takes come as WAV too.

"larkhand import" reads either back into a journal, and "larkhand class" makes a
teacher's table of the bundles of several players. Nothing is sent anywhere.`,
		Example: `  larkhand export --out anna.zip --player Anna --since 2026-11-01
  larkhand export --out rounds
  larkhand export --out one --round 12`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if e.out == "" {
				return wrongUse("name the folder or the zip file to write: %s --out rounds.zip", cmd.CommandPath())
			}
			ids, err := numbers(e.ids)
			if err != nil {
				return err
			}
			if len(ids) > 0 {
				for _, name := range []string{"player", "key", "since", "until", "misheard"} {
					if cmd.Flags().Changed(name) {
						return wrongUse("--%s chooses rounds; leave it out where --round names them", name)
					}
				}
			}
			return e.dir.with(func(j *journal.Journal) error { return e.run(cmd, j, ids) })
		},
	}
	f := cmd.Flags()
	f.StringVar(&e.out, "out", "", "new `folder` or zip file (FILE.zip) to write")
	f.StringVar(&e.choice.player, "player", "", "only rounds that this player (`name`) sang or played")
	f.StringVar(&e.choice.key, "key", "", "only rounds in this `key`, such as \"C minor\"")
	f.StringSliceVar(&e.ids, "round", nil, "only the round with this `number`; may be given several times")
	e.choice.registerMisheard(cmd)
	e.choice.period.register(cmd)
	e.dir.register(cmd)
	return cmd
}

// run writes the rounds, all or nothing.
func (e *export) run(cmd *cobra.Command, j *journal.Journal, ids []journal.ID) error {
	ids, err := e.chosen(cmd.Context(), j, ids)
	if err != nil {
		return err
	}
	if len(ids) == 0 {
		return fmt.Errorf("there are no such rounds in the journal in %s; \"larkhand history\" lists those there are", j.Where().Dir)
	}
	var remarks []string
	fill := func(w *bundle.Writer, wav bool) (err error) {
		remarks, err = e.fill(cmd, w, j, ids, wav)
		return err
	}
	if strings.EqualFold(filepath.Ext(e.out), ".zip") {
		err = writeFile(e.out, []string{j.Where().Database}, func(w io.Writer) error {
			return fill(bundle.NewZip(w, programVersion(), now()), false)
		})
	} else {
		err = writeFolder(e.out, func(dir string) error { return fill(bundle.NewFolder(dir, programVersion(), now()), true) })
	}
	if err != nil {
		return err
	}
	for _, text := range remarks {
		fmt.Fprintln(cmd.ErrOrStderr(), text)
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s copied to %s.\n", sentence(were(len(ids), "round")), e.out)
	return err
}

// now is the time that a bundle is stamped with.
func now() time.Time { return time.Now().Truncate(time.Second) }

// chosen are the rounds that are named or chosen, the oldest first.
func (e *export) chosen(ctx context.Context, j *journal.Journal, ids []journal.ID) ([]journal.ID, error) {
	if len(ids) > 0 {
		return ids, nil
	}
	filter, err := e.choice.filter()
	if err != nil {
		return nil, err
	}
	for row, err := range pages(ctx, j, filter, 0) {
		if err != nil {
			return nil, err
		}
		ids = append(ids, row.ID)
	}
	slices.Reverse(ids)
	return ids, nil
}

// copied is a round made ready for a bundle.
type copied struct {
	row    journal.Row
	round  bundle.Round
	pieces []bundle.Piece
	remark string // why something is missing
	err    error
}

// fill writes the rounds and the table. The remarks say what could not be copied whole.
func (e *export) fill(cmd *cobra.Command, w *bundle.Writer, j *journal.Journal, ids []journal.ID, wav bool) (remarks []string, err error) {
	bar := newBar(cmd.ErrOrStderr(), len(ids))
	defer bar.clear()
	var rows []journal.Row
	work := func(ctx context.Context, id journal.ID) copied { return copyRound(ctx, j, id, wav) }
	for c := range inOrder(cmd.Context(), ids, work) {
		if c.err != nil {
			return nil, c.err
		}
		if c.remark != "" {
			remarks = append(remarks, c.remark)
		}
		if err := w.Round(c.round, c.pieces); err != nil {
			return nil, err
		}
		rows = append(rows, c.row)
		bar.show(len(rows))
	}
	if err := cmd.Context().Err(); err != nil {
		return nil, err
	}
	var table bytes.Buffer
	if err := (report.HistoryView{Total: len(rows), Rows: listed(rows)}).CSV(&table); err != nil {
		return nil, err
	}
	if err := w.File(bundle.TableName, table.Bytes()); err != nil {
		return nil, err
	}
	return remarks, w.Close()
}

func listed(rows []journal.Row) iter.Seq2[report.Row, error] {
	return func(yield func(report.Row, error) bool) {
		for _, row := range rows {
			if !yield(reportRow(row), nil) {
				return
			}
		}
	}
}

// copyRound reads a round of the journal and makes its files. A round whose own files are not good is copied without them.
func copyRound(ctx context.Context, j *journal.Journal, id journal.ID, wav bool) copied {
	s, err := j.Round(ctx, id)
	if err != nil {
		return copied{err: err}
	}
	last := s.Results[len(s.Results)-1]
	c := copied{row: s.Row, round: bundle.Round{
		UID: s.UID, At: s.At, Sang: s.Sang, Played: s.Played, Key: s.Key, KeyGuessed: s.KeyGuessed, Numbering: s.Numbering.String(),
		Instrument: s.Instrument.String(), Chart: s.Chart, Tempo: s.Tempo, LoopStarts: s.LoopStarts, AnswerStarts: s.AnswerStarts, Program: last.Program,
		Misheard: s.Misheard, PhraseName: s.PhraseName, Pieces: s.PieceStarts, Helped: bundle.Helped(s.Helped),
	}}
	if w := writtenOf(s); w != nil {
		c.round.Written = (*bundle.Written)(w)
	}
	result := bundle.Piece{Name: "round.json", Role: bundle.Result, Data: append(slices.Clip(last.Document), '\n')}
	files, err := filesOf(s)
	if err == nil {
		c.pieces, err = piecesOf(ctx, s, files, wav)
	}
	if err != nil {
		if ctx.Err() != nil {
			return copied{err: ctx.Err()}
		}
		c.remark = fmt.Sprintf("Round %d is copied without its takes and its answer: %s.", id, oneLine(err))
		c.pieces = nil
	}
	c.pieces = append(c.pieces, result)
	return c
}

// piecesOf reads the files of a round and makes the copies for other programs.
func piecesOf(ctx context.Context, s journal.Stored, files []string, wav bool) ([]bundle.Piece, error) {
	r, err := judgeStored(ctx, s, files)
	if err != nil {
		return nil, err
	}
	var out []bundle.Piece
	for i, f := range s.AllFiles() {
		data, err := os.ReadFile(f.Path)
		if err != nil {
			return nil, fmt.Errorf("cannot read %s: %w", f.Path, plainCause(err))
		}
		role := roleOf(filepath.Base(f.Path))
		out = append(out, bundle.Piece{Name: filepath.Base(f.Path), Role: role, Data: data})
		if wav && role == bundle.Take && !r.Takes[i].Written {
			sound, err := wavOf(f.Path, data)
			if err != nil {
				return nil, err
			}
			out = append(out, bundle.Piece{Name: fmt.Sprintf("sung%d.wav", i+1), Role: bundle.Copy, Data: sound})
		}
	}
	copies, err := copiesOf(s.Row, r, s)
	return append(out, copies...), err
}

// roleOf is what a file of the journal is for, by its name there.
func roleOf(name string) bundle.Role {
	switch {
	case name == "path.json":
		return bundle.Path
	case name == "hearing.json":
		return bundle.Hearing
	case strings.HasPrefix(name, "backing"):
		return bundle.Backing
	case strings.HasPrefix(name, "take"):
		return bundle.Take
	}
	return bundle.Answer
}

// wavOf turns a take into a WAV file. Its name must not say "take", so that "larkhand check --batch" finds each take once.
func wavOf(path string, data []byte) ([]byte, error) {
	sound, err := soundfile.Decode(path, bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = soundfile.EncodeWAV(&b, sound.Samples, sound.Rate)
	return b.Bytes(), err
}

// copiesOf are the phrase as MIDI, both parts as notation, and the settings.
func copiesOf(row journal.Row, r round.Round, s journal.Stored) ([]bundle.Piece, error) {
	var phrase, score bytes.Buffer
	if err := report.MIDI(&phrase, phraseNotes(r)); err != nil {
		return nil, err
	}
	title := strings.Join(slices.DeleteFunc([]string{row.At.Format("2006-01-02 15:04"), names(row), row.Key}, func(s string) bool { return s == "" }), ", ")
	if err := musicxml.Of(r, title).Write(&score); err != nil {
		return nil, err
	}
	return []bundle.Piece{
		{Name: "phrase.mid", Role: bundle.Copy, Data: phrase.Bytes()},
		{Name: "round.musicxml", Role: bundle.Copy, Data: score.Bytes()},
		{Name: "round.txt", Role: bundle.Copy, Data: settingsText(s)},
	}, nil
}

// phraseNotes are the notes of the last take, with the pitches that were matched.
func phraseNotes(r round.Round) []voice.Note {
	notes := slices.Clone(r.Last().Voice.Notes)
	for i := range notes {
		notes[i].Semitone = r.Phrase[i].Semitone
	}
	return notes
}

// names are who sang and who played.
func names(row journal.Row) string {
	if row.Sang == row.Played || row.Sang == "" {
		return row.Played
	}
	return row.Sang + " and " + row.Played
}

// settingsText is the round.txt with which "larkhand check --batch" judges the round as the journal does.
func settingsText(s journal.Stored) []byte {
	var b bytes.Buffer
	line := func(name, value string) {
		if value != "" {
			fmt.Fprintf(&b, "%s: %s\n", name, value)
		}
	}
	number := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	if !s.KeyGuessed {
		line("key", s.Key)
	}
	line("numbering", s.Numbering.String())
	line("instrument", s.Instrument.String())
	if s.Chart != "" && s.Tempo != nil {
		line("chart", s.Chart)
		line("tempo", number(*s.Tempo))
		line("loop-starts", number(s.LoopStarts))
	}
	if s.AnswerStarts != nil {
		line("answer-starts", number(*s.AnswerStarts))
	}
	if w := writtenOf(s); w != nil {
		line("numbers", plainLine(w.Numbers))
		line("letters", plainLine(w.Letters))
	}
	var pieces []string
	for _, begins := range s.PieceStarts {
		pieces = append(pieces, number(begins))
	}
	line("pieces", strings.Join(pieces, " "))
	line("sang", s.Sang)
	line("played", s.Played)
	line("at", s.At.Format(time.RFC3339))
	return b.Bytes()
}

// plainLine is a text on one line.
func plainLine(text string) string { return strings.Join(strings.Fields(text), " ") }

// writeFolder makes a whole folder or nothing: under another name beside path first. A folder that is there must be empty.
func writeFolder(path string, fill func(dir string) error) (err error) {
	switch entries, err := os.ReadDir(path); {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return fmt.Errorf("cannot write %s: %w; name a new folder, or a file that ends in .zip", path, plainCause(err))
	case len(entries) > 0:
		return fmt.Errorf("cannot write into %s: the folder is not empty; name a new folder, or a file that ends in .zip", path)
	}
	temporary, err := os.MkdirTemp(filepath.Dir(filepath.Clean(path)), ".larkhand-*")
	if err != nil {
		return fmt.Errorf("cannot write %s: %w", path, plainCause(err))
	}
	defer func() {
		if err != nil {
			os.RemoveAll(temporary)
		}
	}()
	if err := fill(temporary); err != nil {
		return err
	}
	const everyoneReads = 0o755 // MkdirTemp makes folders that only the owner reads
	if err := os.Chmod(temporary, everyoneReads); err != nil {
		return fmt.Errorf("cannot write %s: %w", path, plainCause(err))
	}
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("cannot write %s: %w", path, plainCause(err))
	}
	if err := os.Rename(temporary, path); err != nil {
		return fmt.Errorf("cannot write %s: %w", path, plainCause(err))
	}
	return nil
}
