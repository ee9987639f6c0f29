package demo

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"larkhand/internal/singer"
	"larkhand/internal/soundfile"
)

// Meta says what a judge of the round must be told, and what was planned.
type Meta struct {
	Key         string  // as the program takes it
	Chart       string  // as the program takes it
	Tempo       float64 // quarter notes a minute
	LoopStart   float64 // s on the clock of each take
	AnswerStart float64 // s on the clock of take 2 at which the answer's zero lies
	Scenario    string  // one paragraph
	First       []singer.Truth
	Second      []singer.Truth
	Played      []Stroke
}

// Stroke is one key of the answer as planned; times in s on the answer's clock.
type Stroke struct {
	Onset, Offset float64
	Key           int // MIDI number
	Velocity      int // 1 to 127
}

// Names of the files that Write makes.
const (
	FirstName  = "take1.wav"
	SecondName = "take2.wav"
	AnswerName = "answer.mid"
)

// Round sings and plays the demo round: two takes as mono samples of full scale 1 at rate Hz, and the answer as a Standard MIDI File.
func Round() (take1, take2 []float32, rate int, answerSMF []byte, meta Meta) {
	first, second := notes(firstTake, firstTuning, firstWobble), notes(secondTake, secondTuning, secondWobble)
	meta = Meta{Key: key, Chart: chart, Tempo: tempo, LoopStart: loopStart, Scenario: story,
		First: singer.Truths(first), Second: singer.Truths(second), Played: played()}
	end := meta.Second[len(meta.Second)-1].Offset
	meta.AnswerStart = math.Round(1000*(end+responseTime-firstStroke)) / 1000
	return record(first, 1), record(second, 2), sampled, answer(meta.Played), meta
}

// Write saves the round as take1.wav, take2.wav and answer.mid in dir, which must exist.
func Write(dir string) (Meta, error) {
	take1, take2, rate, smfBytes, meta := Round()
	for name, samples := range map[string][]float32{FirstName: take1, SecondName: take2} {
		if err := soundfile.WriteWAV(filepath.Join(dir, name), samples, rate); err != nil {
			return meta, fmt.Errorf("demo: write %s: %w", name, err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, AnswerName), smfBytes, 0o644); err != nil {
		return meta, fmt.Errorf("demo: write %s: %w", AnswerName, err)
	}
	return meta, nil
}

// mezzo is Miravel's voice: a healthy amateur's, slightly breathy.
func mezzo() singer.Voice {
	v := singer.Mezzo
	v.TractLength, v.LevelDBFS, v.Shape, v.BreathDB = 1.03, -21, 0.9, -30
	v.JitterRatio, v.ShimmerDB, v.Flutter, v.ConsonantDB, v.Slur = 0.003, 0.2, 4, -3, 1.3
	return v
}

// livingRoom is where she sings.
var livingRoom = singer.Room{RT60: 0.3, WetDB: -20, NoiseDBFS: -62, LowHz: 70, HighHz: 12000, ReflectMs: 3.2, ReflectDB: -12}

// notes makes the notes of a take from the phrase and its departures.
func notes(take []manner, tuning, wobble float64) []singer.Note {
	const (
		beatSeconds = 60 / tempo
		glide       = 0.06 // s
		decayDB     = -3
		naturalCent = 20.0 // cents, every sung note starts a little low
	)
	all := make([]singer.Note, len(phrase))
	for i, s := range phrase {
		m := take[i]
		n := singer.Note{
			Onset: loopStart + (s.beat+m.late)*beatSeconds, Pitch: s.pitch, DetuneCents: tuning + m.detune, Syllable: s.syllable,
			DecayDB: decayDB, GlideSeconds: glide, ScoopCents: naturalCent, WobbleCents: wobble,
		}
		n.Offset = n.Onset + s.length*beatSeconds
		if m.change != nil {
			m.change(&n)
		}
		all[i] = n
	}
	all[0].BreathSeconds = 0.35
	return all
}

func record(notes []singer.Note, seed uint64) []float32 {
	return livingRoom.Record(singer.Render(notes, mezzo(), sampled, seed), sampled, seed)
}

// played lays the strokes on the answer's clock.
func played() []Stroke {
	all := make([]Stroke, len(strokes))
	for i, s := range strokes {
		onset := firstStroke + (phrase[s.step].beat-phrase[0].beat)*60/tempo*answerTempo + s.late
		all[i] = Stroke{Onset: onset, Offset: onset + s.length, Key: int(phrase[s.step].pitch) + s.off + octaveUp, Velocity: s.velocity}
	}
	return all
}

// answer writes the strokes as a Standard MIDI File of format 0.
func answer(played []Stroke) []byte {
	const ticksPerQuarter = 960 // a tick is 0.65 ms at 96 a minute
	type event struct {
		tick    uint32
		message midi.Message
	}
	var events []event
	tick := func(s float64) uint32 { return uint32(math.Round(s * tempo / 60 * ticksPerQuarter)) }
	for _, s := range played {
		events = append(events,
			event{tick(s.Onset), midi.NoteOn(0, uint8(s.Key), uint8(s.Velocity))},
			event{tick(s.Offset), midi.NoteOff(0, uint8(s.Key))})
	}
	slices.SortStableFunc(events, func(a, b event) int { return cmp.Compare(a.tick, b.tick) })
	var track smf.Track
	track.Add(0, smf.MetaTrackSequenceName("answer"))
	track.Add(0, smf.MetaTempo(tempo))
	track.Add(0, smf.MetaMeter(4, 4))
	last := uint32(0)
	for _, e := range events {
		track.Add(e.tick-last, e.message)
		last = e.tick
	}
	track.Close(0)
	file := smf.New()
	file.TimeFormat = smf.MetricTicks(ticksPerQuarter)
	if err := file.Add(track); err != nil {
		panic("demo: " + err.Error()) // the track was closed above
	}
	var b bytes.Buffer
	if _, err := file.WriteTo(&b); err != nil {
		panic("demo: " + err.Error()) // a buffer takes everything
	}
	return b.Bytes()
}
