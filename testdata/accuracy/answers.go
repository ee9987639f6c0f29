package main

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"larkhand/hunt/simulate"
	"larkhand/midiin"
)

// variant is the one fault of an answer.
type variant int

const (
	faultless variant = iota
	wrongNote
	leftOut
	corrected
	hesitated
	variants
)

// String names the variant as in the tables.
func (v variant) String() string {
	return [...]string{"no fault", "one wrong note", "one left out", "one corrected", "one hesitation"}[v]
}

// How answers are made; own choices but where a source is named.
const (
	firstOnset      = 0.5  // s on the answer's clock
	slowest         = 1.3  // tempo, played seconds per sung second
	fastest         = 0.85 // the same
	shortestKey     = 0.02 // s; keys are not released sooner
	longestOverlap  = 0.23 // s that a key is held into the next note (legato of pianists, 99.9th percentile; Tominaga et al. 2022)
	keyLift         = 0.01 // s between the release of a key and its next stroke
	correctionDelay = 0.30 // s from the wrong key to the right one, median (slowed right keys of pianists: 124 to 886 ms)
	correctionSpan  = 0.25 // standard deviation of its logarithm
	wrongKeyHeld    = 0.85 // of that delay
	hesitationDelay = 0.70 // s
	ticksPerQuarter = 960
	tempoOfFile     = 120.0 // quarter notes a minute
)

// stroke is one key press of an answer.
type stroke struct {
	onset, offset float64 // s on the answer's clock
	key, velocity int
}

// answer is a played phrase with its fault.
type answer struct {
	variant variant
	fault   int      // index of the phrase's note that the fault is about; -1 without fault
	at      float64  // s on the answer's clock: where the fault is heard
	wait    float64  // s, of a hesitation: the interval that was due before the note
	octaves int      // above the sung phrase
	strokes []stroke // in order of onset
	of      []int    // of[i] is the phrase's note that stroke i plays; -1 for a wrong key that was corrected
}

// play makes an answer to the phrase: the labelled rhythm at another tempo, the hand of a real run, another octave, and the fault.
func play(p phrase, v variant, hand simulate.Timing, rng *rand.Rand) answer {
	a := answer{variant: v, fault: -1, octaves: octave(p, rng)}
	strokes := hand.Strokes(rng, len(p.notes))
	tempo := fastest * math.Pow(slowest/fastest, rng.Float64())
	at := firstOnset
	for i, n := range p.notes {
		interval := tempo * (n.offset - n.onset)
		if i+1 < len(p.notes) {
			interval = tempo * strokes[i].Stretch * (p.notes[i+1].onset - n.onset)
		}
		length := math.Max(shortestKey, math.Min(interval*strokes[i].Hold, interval+longestOverlap))
		a.strokes = append(a.strokes, stroke{at, at + length, n.semitone + 12*a.octaves, strokes[i].Velocity})
		a.of = append(a.of, i)
		at += interval
	}
	if v != faultless {
		a.spoil(faultPlace(p, v, rng), rng)
	}
	a.liftKeys()
	return a
}

// octave draws where the answer lies, one or two octaves from the voice and inside the usual keys.
func octave(p phrase, rng *rand.Rand) int {
	choices := []int{-1, 1}
	if p.notes[0].semitone < 60 {
		choices = []int{1, 2}
	}
	return choices[rng.IntN(len(choices))]
}

// faultPlace draws a note whose key the labels tell; a hesitation needs a note before it.
func faultPlace(p phrase, v variant, rng *rand.Rand) int {
	var places []int
	for i, n := range p.notes {
		if n.scored && !(v == hesitated && i == 0) {
			places = append(places, i)
		}
	}
	return places[rng.IntN(len(places))]
}

// spoil puts the fault in.
func (a *answer) spoil(i int, rng *rand.Rand) {
	a.fault, a.at = i, a.strokes[i].onset
	off := []int{-2, -1, 1, 2}[rng.IntN(4)]
	switch a.variant {
	case wrongNote:
		a.strokes[i].key += off
	case leftOut:
		a.strokes = slices.Delete(a.strokes, i, i+1)
		a.of = slices.Delete(a.of, i, i+1)
	case corrected:
		delay := correctionDelay * math.Exp(correctionSpan*rng.NormFloat64())
		wrong := a.strokes[i]
		wrong.key, wrong.offset = wrong.key+off, wrong.onset+wrongKeyHeld*delay
		a.delay(i, delay)
		a.strokes = slices.Insert(a.strokes, i, wrong)
		a.of = slices.Insert(a.of, i, -1)
	case hesitated:
		a.wait = a.strokes[i].onset - a.strokes[i-1].onset
		a.delay(i, hesitationDelay)
	}
}

// delay moves the strokes from i on.
func (a *answer) delay(i int, by float64) {
	for k := i; k < len(a.strokes); k++ {
		a.strokes[k].onset += by
		a.strokes[k].offset += by
	}
}

// liftKeys ends each stroke before the same key is struck again.
func (a *answer) liftKeys() {
	for i := range a.strokes {
		for _, next := range a.strokes[i+1:] {
			if next.key == a.strokes[i].key {
				a.strokes[i].offset = math.Min(a.strokes[i].offset, math.Max(next.onset-keyLift, a.strokes[i].onset+shortestKey))
				break
			}
		}
	}
}

// file writes the answer as a MIDI file.
func (a answer) file() ([]byte, error) {
	type event struct {
		tick    int64
		message midi.Message
	}
	var events []event
	for _, s := range a.strokes {
		events = append(events,
			event{tick(s.onset), midi.NoteOn(0, uint8(s.key), uint8(s.velocity))},
			event{tick(s.offset), midi.NoteOff(0, uint8(s.key))})
	}
	slices.SortStableFunc(events, func(x, y event) int { return cmp.Compare(x.tick, y.tick) })
	var track smf.Track
	track.Add(0, smf.MetaTempo(tempoOfFile))
	before := int64(0)
	for _, e := range events {
		track.Add(uint32(e.tick-before), e.message)
		before = e.tick
	}
	track.Close(0)
	song := smf.New()
	song.TimeFormat = smf.MetricTicks(ticksPerQuarter)
	if err := song.Add(track); err != nil {
		return nil, fmt.Errorf("write an answer: %w", err)
	}
	var out bytes.Buffer
	if _, err := song.WriteTo(&out); err != nil {
		return nil, fmt.Errorf("write an answer: %w", err)
	}
	return out.Bytes(), nil
}

// tick is a time in ticks of the file.
func tick(seconds float64) int64 {
	return int64(math.Round(seconds * tempoOfFile / 60 * ticksPerQuarter))
}

// read reads the answer back as the program does. The notes stand in the order of the strokes.
func (a answer) read() ([]midiin.Note, error) {
	data, err := a.file()
	if err != nil {
		return nil, err
	}
	file, err := midiin.Parse(data)
	if err != nil {
		return nil, fmt.Errorf("read an answer back: %w", err)
	}
	notes, _ := midiin.Notes(file, midiin.Options{})
	if len(notes) != len(a.strokes) {
		return nil, fmt.Errorf("an answer of %d strokes was read back as %d notes", len(a.strokes), len(notes))
	}
	for i, n := range notes {
		if n.Key != a.strokes[i].key {
			return nil, fmt.Errorf("stroke %d of an answer was read back as key %d, want %d", i, n.Key, a.strokes[i].key)
		}
	}
	return notes, nil
}
