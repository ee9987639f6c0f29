package command

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/journal"
	"larkhand/internal/report"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
)

// saving is the flags on what the journal is told of a round. All but save and dir may stand in a round.txt too.
type saving struct {
	save             bool
	dir              journalDir
	sang, played, at string
}

func (s *saving) register(cmd *cobra.Command) {
	f := cmd.Flags()
	f.BoolVar(&s.save, "save", false, "keep the round in the journal, with its files")
	f.StringVar(&s.sang, "sang", "", "`name` of who sang, for --save")
	f.StringVar(&s.played, "played", "", "`name` of who played, for --save; who sang if not given")
	f.StringVar(&s.at, "at", "", "`time` when take 1 began, for --save, such as \"2026-11-03 18:30\"; else the time of its file")
	s.dir.register(cmd)
}

// check says what of the flags makes no sense without --save.
func (s *saving) check(cmd *cobra.Command, batch bool) error {
	for _, name := range []string{"sang", "played", "at", journalFlag} {
		if name == journalFlag && cmd.Flags().Changed("phrase") { // that is where the phrases lie
			continue
		}
		if !s.save && cmd.Flags().Changed(name) {
			return wrongUse("--%s is for rounds that are kept; give --save too", name)
		}
	}
	if batch && s.at != "" {
		return wrongUse("--at is the time of one round; with --batch write a line such as \"at: 2026-11-03 18:30\" into each round's settings")
	}
	_, err := s.time()
	return err
}

// time reads when the round began; zero where it is not given.
func (s *saving) time() (time.Time, error) {
	if s.at == "" {
		return time.Time{}, nil
	}
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02 15:04:05", time.RFC3339} {
		if at, err := time.ParseInLocation(layout, s.at, time.Local); err == nil {
			return at, nil
		}
	}
	return time.Time{}, wrongUse("--at %q is no time; write it as in --at \"2026-11-03 18:30\"", s.at)
}

// keeper puts judged rounds into the journal. A nil one keeps nothing.
type keeper struct {
	j     *journal.Journal
	fresh []journal.ID // rounds that were saved
	known int          // rounds that were there already
}

// newKeeper opens the journal before anything is judged, so that what is wrong with it is said at once.
func newKeeper(s saving) (*keeper, error) {
	if !s.save {
		return nil, nil
	}
	j, err := journal.Open(s.dir.path())
	if err != nil {
		return nil, err
	}
	return &keeper{j: j}, nil
}

// close closes the journal. What was saved is on the disk already.
func (k *keeper) close() {
	if k != nil {
		k.j.Close()
	}
}

// entryOf makes the journal's entry of a judged round, with its files: sound as FLAC, without loss but for the 16 or 24 bits of the format.
func entryOf(files []string, r round.Round, flags settings) (journal.Entry, error) {
	opt, err := flags.options()
	if err != nil {
		return journal.Entry{}, err
	}
	e := journal.Entry{Sang: flags.sang, Played: flags.played, Round: r, Instrument: opt.Instrument, Program: programVersion()}
	e.Hearing.TakeStarts = r.TakeStarts
	if e.At, err = beginOf(files[0], r.Takes[0], flags.saving); err != nil {
		return journal.Entry{}, err
	}
	if e.Document, err = documentOf(r); err != nil {
		return journal.Entry{}, err
	}
	last := len(files) - 1
	for i, path := range files[:last] {
		data, err := takeFile(path, r.Takes[i].Written)
		if err != nil {
			return journal.Entry{}, err
		}
		e.Takes = append(e.Takes, data)
	}
	if e.Answer, err = takeFile(files[last], true); err != nil {
		return journal.Entry{}, err
	}
	return e, keepBacking(&e, flags.backing)
}

// beginOf is when take 1 began: as given, or its length before its file was last written.
func beginOf(path string, take round.Take, s saving) (time.Time, error) {
	at, err := s.time()
	if err != nil || !at.IsZero() {
		return at, err
	}
	info, err := os.Stat(path)
	if err != nil {
		return time.Time{}, fmt.Errorf("cannot read %s: %w", path, plainCause(err))
	}
	length := time.Duration(take.Voice.Duration * float64(time.Second))
	return info.ModTime().Add(-length).Truncate(time.Millisecond), nil
}

// documentOf is the whole result as the journal keeps it.
func documentOf(r round.Round) ([]byte, error) {
	var b bytes.Buffer
	err := report.JSON(&b, r)
	return bytes.TrimSpace(b.Bytes()), err
}

// takeFile is a take or an answer as the journal keeps it: a FLAC or MIDI file as it is, other sound as FLAC.
func takeFile(path string, written bool) ([]byte, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", path, plainCause(err))
	}
	if written {
		return data[max(0, bytes.Index(data, []byte("MThd"))):], nil // without the wrapper of an RMID file
	}
	if bytes.HasPrefix(data, []byte("fLaC")) {
		return data, nil
	}
	sound, err := soundfile.Decode(path, bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	return journal.EncodeTake(sound.Samples, sound.Rate)
}

// save keeps a round, unless its files are in the journal already, and says so in a sentence.
func (k *keeper) save(ctx context.Context, e journal.Entry) (string, error) {
	id, err := k.find(ctx, e)
	if err != nil {
		return "", err
	}
	if id != 0 {
		k.known++
		return fmt.Sprintf("These files are in the journal already, as round %d; \"larkhand history delete %d\" makes room for them under other names.", id, id), nil
	}
	if id, err = k.j.Save(ctx, e); err != nil {
		return "", err
	}
	k.fresh = append(k.fresh, id)
	return fmt.Sprintf("Kept as round %d in %s.", id, k.j.Where().Dir), nil
}

// find looks for a round that began at the same moment and has the same files; 0 where there is none.
func (k *keeper) find(ctx context.Context, e journal.Entry) (journal.ID, error) {
	rows, err := k.j.Rounds(ctx, journal.Filter{From: e.At, To: e.At.Add(time.Millisecond)}, journal.Page{})
	if err != nil {
		return 0, err
	}
	for _, row := range rows {
		stored, err := k.j.Round(ctx, row.ID)
		if err != nil {
			return 0, err
		}
		if sameFiles(stored, e) {
			return row.ID, nil
		}
	}
	return 0, nil
}

func sameFiles(s journal.Stored, e journal.Entry) bool {
	if len(s.Takes) != len(e.Takes) || !holds(s.Answer.Path, e.Answer) {
		return false
	}
	for i, take := range s.Takes {
		if !holds(take.Path, e.Takes[i]) {
			return false
		}
	}
	return true
}

// holds says whether a file is there with these bytes.
func holds(path string, data []byte) bool {
	there, err := os.ReadFile(path)
	return err == nil && bytes.Equal(there, data)
}

// tell writes what was kept of a batch.
func (k *keeper) tell(w io.Writer) error {
	if k == nil {
		return nil
	}
	text := "Nothing new was kept"
	switch n := len(k.fresh); n {
	case 0:
	case 1:
		text = fmt.Sprintf("Kept as round %d", k.fresh[0])
	default:
		text = fmt.Sprintf("Kept %d rounds, the last as round %d", n, k.fresh[n-1])
	}
	text += " in " + k.j.Where().Dir
	if k.known > 0 {
		text += "; " + were(k.known, "round") + " there already"
	}
	_, err := fmt.Fprintln(w, text+".")
	return err
}

// tellKept writes what was kept of a batch that ended before its end; nothing where that is nothing. The batch's own error is told
// anyhow, so one of w is not looked at.
func (k *keeper) tellKept(w io.Writer) {
	if k != nil && len(k.fresh) > 0 {
		_ = k.tell(w)
	}
}
