package journal

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"testing"
	"time"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/midiin"
	"larkhand/voice"
)

var ctx = context.Background()

// began is when the first round of these tests began.
var began = time.Date(2026, 3, 2, 18, 30, 0, 0, time.FixedZone("", 3600))

// handTake is a clear take of the pitches, centre cents off.
func handTake(name string, centre float64, pitches ...int) round.Take {
	take := round.Take{File: name, Voice: voice.Take{Clarity: 1, Frames: []voice.Frame{{Level: -20}}}}
	for i, p := range pitches {
		onset := 0.5 + 0.45*float64(i)
		take.Voice.Notes = append(take.Voice.Notes, voice.Note{
			Onset: onset, Offset: onset + 0.38, Pitch: float64(p) + centre/100, Semitone: p, Chance: [3]float64{0.01, 0.98, 0.01},
			CentreCents: centre, SpreadCents: 10 + float64(i), Level: -20, Confidence: 0.98,
		})
		take.Voice.Duration = onset + 1
	}
	return take
}

func played(pitches ...int) []midiin.Note {
	var notes []midiin.Note
	for i, p := range pitches {
		onset := 0.45 * float64(i)
		notes = append(notes, midiin.Note{Onset: onset, Offset: onset + 0.38, Released: onset + 0.38, Key: p, Pitch: float64(p), Velocity: 70})
	}
	return notes
}

// tune is C minor 1 3 5 4 3 2 1; groped has a creep before its 5.
var (
	tune   = []int{60, 63, 67, 65, 63, 62, 60}
	groped = []int{60, 63, 65, 66, 67, 65, 63, 62, 60}
)

// entry is a judged round of two takes, over a loop, without files.
func entry(t testing.TB, at time.Time, keyName, sang, playing string, answer []int) Entry {
	t.Helper()
	return entryWith(t, at, keyName, sang, playing, answer, round.Options{})
}

// entryWith is entry with more of what a round is judged with.
func entryWith(t testing.TB, at time.Time, keyName, sang, playing string, answer []int, opt round.Options) Entry {
	t.Helper()
	key, err := music.ParseKey(keyName)
	if err != nil {
		t.Fatal(err)
	}
	chart, err := music.ParseChart("Cm7 | Fm7 | G7b9 | Cm7")
	if err != nil {
		t.Fatal(err)
	}
	l, err := loop.New(chart, 96, 0.25)
	if err != nil {
		t.Fatal(err)
	}
	starts := 5.0
	opt.Key, opt.Loop, opt.AnswerStarts = &key, &l, &starts
	r, err := round.Judge([]round.Take{handTake("take1.wav", 9, tune...), handTake("take2.wav", -4, tune...)},
		round.Answer{File: "answer.mid", Notes: played(answer...)}, opt)
	if err != nil {
		t.Fatal(err)
	}
	document, err := json.Marshal(map[string]any{"key": keyName, "label": r.Finding.Label})
	if err != nil {
		t.Fatal(err)
	}
	return Entry{At: at, Sang: sang, Played: playing, Round: r, Program: "v1", Document: document}
}

// plain is a round that was known.
func plain(t testing.TB, at time.Time) Entry {
	return entry(t, at, "C minor", "Miravel", "Tobrin", tune)
}

// stepped is a round in which everything was done that can be between singing and playing. Its numbers have 2 for the 3 of the tune's
// second note, and its letters E for the 3 of the fifth: the ear and the names fail there.
func stepped(t testing.TB, at time.Time) Entry {
	t.Helper()
	took := 7.5
	e := entryWith(t, at, "C minor", "Miravel", "Tobrin", tune, round.Options{
		Written: &round.Written{Numbers: "1 2 5  4 3 2 1", Letters: "c eb g f e d c", NumbersSeconds: &took},
		Pieces:  []float64{0.9, 1.8}, Helped: round.Helped{Key: 1, Take2: 2, SungAgain: 1},
	})
	e.Misheard, e.PhraseName = true, "Rain on the roof"
	return e
}

// withFiles adds short takes and an answer.
func withFiles(t testing.TB, e Entry) Entry {
	t.Helper()
	const rate = 16000
	for take := range 2 {
		samples := make([]float32, rate/4)
		for i := range samples {
			samples[i] = 0.3 * float32(math.Sin(2*math.Pi*float64(200+20*take)*float64(i)/rate))
		}
		data, err := EncodeTake(samples, rate)
		if err != nil {
			t.Fatal(err)
		}
		e.Takes = append(e.Takes, data)
	}
	e.Answer = midiFile(t)
	return e
}

func midiFile(t testing.TB) []byte {
	t.Helper()
	var track smf.Track
	for _, p := range tune {
		track.Add(0, midi.NoteOn(0, uint8(p), 70))
		track.Add(400, midi.NoteOff(0, uint8(p)))
	}
	track.Close(0)
	file := smf.New()
	if err := file.Add(track); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if _, err := file.WriteTo(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func mustOpen(t testing.TB, dir string) *Journal {
	t.Helper()
	j, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { j.Close() })
	return j
}

func mustSave(t testing.TB, j *Journal, e Entry) ID {
	t.Helper()
	id, err := j.Save(ctx, e)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func mustRounds(t testing.TB, j *Journal, f Filter) []Row {
	t.Helper()
	rows, err := j.Rounds(ctx, f, Page{})
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

func mustRound(t testing.TB, j *Journal, id ID) Stored {
	t.Helper()
	s, err := j.Round(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// healthy fails where a check finds anything.
func healthy(t testing.TB, j *Journal) Health {
	t.Helper()
	h, err := j.Check(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range h.Problems {
		t.Errorf("problem of round %d: %s", p.Round, p.Text)
	}
	return h
}

func mustProgress(t testing.TB, j *Journal, player string) int {
	t.Helper()
	rounds, err := j.Progress(ctx, player, time.Time{}, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	return len(rounds)
}
