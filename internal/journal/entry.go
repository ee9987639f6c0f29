package journal

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"larkhand/hunt"
	"larkhand/internal/music"
	"larkhand/internal/progress"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/internal/steps"
	"larkhand/match"
	"larkhand/midiin"
)

// ID names a round in one journal.
type ID int64

// Entry is a round that is to be saved.
type Entry struct {
	At         time.Time // when take 1 began, in the zone of the clock on the wall
	Sang       string    // who sang; may be empty
	Played     string    // who played; empty where it was who sang
	Round      round.Round
	Instrument midiin.Instrument
	Program    string // the version of the program that judged it
	Document   []byte // the whole result as JSON

	Misheard   bool   // marked by the player: the program heard other notes than were sung. It counts nowhere
	PhraseName string // the kept phrase that the round is of; may be empty

	// Takes are the takes' files, one for each take of Round: a FLAC file, see [EncodeTake], or a Standard MIDI File where
	// the take was written. Answer is a Standard MIDI File. Both are nil where no files are to be kept.
	Takes  [][]byte
	Answer []byte

	// Backings are FLAC files of what a speaker played beside the takes: none, one for all takes, or one for each. Path is the way of its
	// sound to the microphone, as package bleed keeps it in JSON; nil where it is not known. Hearing is what else is needed to judge
	// the takes again. They are kept only with the takes' files.
	Backings [][]byte
	Path     []byte
	Hearing  Hearing

	// Recording is the recording that the round was made from, or one round of it, see [Recording.Round]; that folder is
	// removed once the round is committed. Empty where there is none.
	Recording string
}

// EncodeTake makes the FLAC file of a take: mono samples, full scale 1, rate in Hz. It takes 10 to 20 ms a second of sound (measured
// on one core), so a live program does it while the round goes on.
func EncodeTake(samples []float32, rate int) ([]byte, error) {
	var out bytes.Buffer
	if err := soundfile.EncodeFLAC(&out, samples, rate); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// longestName is the longest name of a player, in characters. Own: a screen's width.
const longestName = 80

// cleanName is a player's name as it is kept: without spaces around it, composed (NFC), so that one name typed on two
// systems is one player.
func cleanName(name string) (string, error) {
	clean := norm.NFC.String(strings.TrimSpace(name))
	switch {
	case !utf8.ValidString(clean) || strings.ContainsFunc(clean, unicode.IsControl):
		return "", fmt.Errorf("the name %q holds characters that cannot be shown; write it with letters, digits and spaces", name)
	case utf8.RuneCountInString(clean) > longestName:
		return "", fmt.Errorf("the name %q is longer than %d characters; write a shorter one", name, longestName)
	}
	return clean, nil
}

// magics are how the files begin that a round may have, and the endings of their names.
var magics = []struct{ begin, ending string }{{"fLaC", ".flac"}, {"MThd", ".mid"}}

// ending is that of a file's name by its first bytes; "" where it is neither FLAC nor MIDI.
func ending(data []byte) string {
	for _, m := range magics {
		if bytes.HasPrefix(data, []byte(m.begin)) {
			return m.ending
		}
	}
	return ""
}

// filesOf names the files of an entry.
func filesOf(e Entry) (files []namedFile, err error) {
	if len(e.Takes) == 0 && len(e.Answer) == 0 && len(e.Backings) == 0 {
		return nil, nil
	}
	if len(e.Takes) != len(e.Round.Takes) || len(e.Answer) == 0 {
		return nil, fmt.Errorf("journal: %d files of takes and an answer of %d bytes for a round of %d takes; give all files or none", len(e.Takes), len(e.Answer), len(e.Round.Takes))
	}
	for i, data := range e.Takes {
		end := ending(data)
		if end == "" {
			return nil, errors.New("journal: the file of a take must be FLAC, or MIDI where it was written")
		}
		files = append(files, namedFile{fmt.Sprintf("take%d%s", i+1, end), data})
	}
	if ending(e.Answer) != ".mid" {
		return nil, errors.New("journal: the answer's file must be a Standard MIDI File")
	}
	files = append(files, namedFile{"answer.mid", e.Answer})
	beside, err := filesBeside(e)
	return append(files, beside...), err
}

type namedFile struct {
	name string
	data []byte
}

// recordOf makes the rows of an entry, without files and identity.
func recordOf(e Entry) (record, error) {
	sang, err := cleanName(e.Sang)
	if err != nil {
		return record{}, err
	}
	played, err := cleanName(e.Played)
	if err != nil {
		return record{}, err
	}
	if played == "" {
		played = sang
	}
	if e.At.IsZero() || len(e.Round.Takes) == 0 {
		return record{}, errors.New("journal: an entry needs the time when it began and a judged round")
	}
	if e.Recording != "" {
		if err := checkRecording(e.Recording); err != nil {
			return record{}, err
		}
	}
	if !json.Valid(e.Document) {
		return record{}, errors.New("journal: an entry needs the result as JSON")
	}
	_, east := e.At.Zone()
	done, err := doneOf(e)
	if err != nil {
		return record{}, err
	}
	rec := record{
		AtMs: e.At.UnixMilli(), ZoneMinutes: east / secondsPerMinute, Sang: sang, Played: played,
		Instrument: e.Instrument.String(), Recording: e.Recording, done: done, judged: judgedOf(e.Round),
	}
	rec.Judgements = []judgement{{AtMs: rec.AtMs, Program: e.Program, counts: rec.counts, Document: e.Document}}
	return rec, nil
}

// judgedOf makes the rows that a judgement gives: those that judging again replaces.
func judgedOf(r round.Round) judged {
	v := judged{
		Key: r.Key.String(), KeyGuessed: r.KeyGuessed, Numbering: r.Numbering.String(), AnswerStarts: r.AnswerStarts,
		Octaves: r.Alignment.Octaves, Transposition: r.Alignment.Transposition, TuningShift: r.Alignment.TuningShift,
		VoiceCents: finite(r.Alignment.VoiceCents), TempoRatio: finite(r.Alignment.TempoRatio), Response: r.ResponseSeconds,
		counts: countsOf(r), Links: linksOf(r),
	}
	if r.Loop != nil {
		chart := r.Loop.Chart.String()
		v.Chart, v.Tempo, v.LoopStarts = &chart, number(r.Loop.Tempo), number(r.Loop.Starts)
	}
	if a := r.Agreement; a != nil {
		v.SamePhrase, v.CentreChange, v.SpreadChange = &a.SamePhrase, number(a.CentreChangeCents), number(a.SpreadChangeCents)
	}
	for i, take := range r.Takes {
		v.Takes = append(v.Takes, takeOf(r, i, take))
	}
	v.judge(r)
	for _, n := range r.Answer.Notes {
		v.Answer = append(v.Answer, answerNote{
			Onset: n.Onset, Offset: n.Offset, Released: n.Released, Key: n.Key, Pitch: n.Pitch,
			Degree: r.Key.Degree(int(math.Round(n.Pitch)), r.Numbering), Velocity: n.Velocity, Channel: n.Channel,
		})
	}
	for _, e := range r.Finding.Evidence {
		row := evidence{Kind: string(e.Kind), Onset: e.Onset, Offset: e.Offset, Weight: e.Weight, Text: e.Text, Sung: e.Sung, Played: e.Played}
		if at := progress.Target(e); at != match.None {
			row.Target = &at
		}
		v.Evidence = append(v.Evidence, row)
	}
	return v
}

func countsOf(r round.Round) counts {
	c := counts{Label: string(r.Finding.Label), Searched: r.Finding.Searched}
	for _, p := range r.Alignment.Pairs {
		switch p.Verdict {
		case match.Same:
			c.Same++
		case match.Different:
			c.Different++
		case match.LeftOut:
			c.LeftOut++
		case match.Unclear:
			c.Unclear++
		case match.Added:
			c.Added++
		}
	}
	return c
}

func takeOf(r round.Round, index int, t round.Take) take {
	quality := progress.CentringOf(t)
	row := take{
		Name: t.File, Written: t.Written, Duration: t.Voice.Duration, TuningCents: t.Voice.TuningCents, Clarity: finite(t.Voice.Clarity),
		CentreCents: number(quality.CentreCents), SpreadCents: number(quality.SpreadCents),
	}
	for _, n := range t.Voice.Notes {
		row.Notes = append(row.Notes, sungNote{
			Onset: n.Onset, Offset: n.Offset, Pitch: n.Pitch, Semitone: n.Semitone, Degree: r.Key.Degree(n.Semitone, r.Numbering),
			CentreCents: n.CentreCents, SpreadCents: n.SpreadCents, Level: number(n.Level), Confidence: n.Confidence, Unclear: n.Unclear,
		})
	}
	if index < len(r.Takes)-1 {
		row.steps()
	}
	return row
}

// steps sets the intervals of a take that was not judged.
func (t *take) steps() {
	for i := 1; i < len(t.Notes); i++ {
		if !t.Notes[i].Unclear && !t.Notes[i-1].Unclear {
			step := t.Notes[i].Semitone - t.Notes[i-1].Semitone
			t.Notes[i].Step = &step
		}
	}
}

// judge puts into the notes of the last take what was said of them.
func (v *judged) judge(r round.Round) {
	notes := v.Takes[len(v.Takes)-1].Notes
	for i, n := range progress.NotesOf(r) {
		verdict := string(n.Verdict)
		notes[i].Semitone, notes[i].Degree, notes[i].Unclear = r.Phrase[i].Semitone, n.Degree, r.Phrase[i].Unclear
		notes[i].Verdict = &verdict
		if n.Step != progress.NoStep {
			notes[i].Step = &n.Step
		}
	}
	for _, p := range r.Alignment.Pairs {
		if p.Sung != match.None && p.Played != match.None {
			notes[p.Sung].Answered = &p.Played
		}
	}
}

// number is a value that may be unknown: nil for NaN and infinities, which neither JSON nor SQLite keep.
func number(x float64) *float64 {
	if x-x != 0 {
		return nil
	}
	return &x
}

// finite is a value that is never unknown in a real round; 0 stands for one that is.
func finite(x float64) float64 {
	if x-x != 0 {
		return 0
	}
	return x
}

// unknown is the other way round: NaN for nil.
func unknown(x *float64) float64 {
	if x == nil {
		return math.NaN()
	}
	return *x
}

// rowOf makes the row of progress for a player's part in a round.
func (rec *record) rowOf(sang, played bool) progress.Round {
	row := progress.Round{
		At: rec.at(), Sang: sang, Played: played, Key: rec.Key, Tempo: unknown(rec.Tempo), Label: hunt.Label(rec.Label),
		Response: unknown(rec.Response), Takes: [2]progress.Centring{{CentreCents: math.NaN(), SpreadCents: math.NaN()}, {CentreCents: math.NaN(), SpreadCents: math.NaN()}},
	}
	if rec.SamePhrase != nil {
		row.Agreement = progress.OtherPhrase
		if *rec.SamePhrase {
			row.Agreement = progress.SamePhrase
		}
	}
	for i, t := range rec.Takes {
		row.Takes[i] = progress.Centring{CentreCents: unknown(t.CentreCents), SpreadCents: unknown(t.SpreadCents)}
	}
	notes := rec.Takes[len(rec.Takes)-1].Notes
	if n := len(notes); n > 0 {
		row.Seconds = notes[n-1].Onset - notes[0].Onset
	}
	key, unnamed := music.ParseKey(rec.Key)
	for _, n := range notes {
		note := progress.Note{Degree: n.Degree, Step: progress.NoStep, Verdict: match.Unclear, Pitch: n.Semitone}
		note.Outside = unnamed == nil && progress.Outside(key, n.Semitone)
		if n.Step != nil {
			note.Step = *n.Step
		}
		if n.Verdict != nil {
			note.Verdict = match.Verdict(*n.Verdict)
		}
		row.Notes = append(row.Notes, note)
	}
	for _, e := range rec.Evidence {
		if e.Target != nil && *e.Target >= 0 && *e.Target < len(row.Notes) {
			row.Notes[*e.Target].Kinds |= progress.KindOf(hunt.Kind(e.Kind))
		}
	}
	row.Pieces, row.Heard = len(rec.Pieces) > 0, progress.HeardAny(rec.Helped)
	for _, l := range rec.Links {
		row.Links = append(row.Links, progress.LinkResult{Name: steps.Name(l.Name), Joined: l.Joined, Compared: l.Compared, Failed: l.Failed, Notes: l.Notes})
	}
	return row
}

// at is when the round began, on the clock that hung on the wall.
func (rec *record) at() time.Time { return clock(rec.AtMs, rec.ZoneMinutes) }

// clock is a moment on a clock that is so far ahead of UTC.
func clock(ms int64, zoneMinutes int) time.Time { return time.UnixMilli(ms).In(zoneOf(zoneMinutes)) }

const secondsPerMinute = 60

// zoneOf is a zone without a name; UTC where it is not ahead.
func zoneOf(minutes int) *time.Location {
	if minutes == 0 {
		return time.UTC
	}
	return time.FixedZone("", minutes*secondsPerMinute)
}
