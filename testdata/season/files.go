package main

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"time"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"larkhand/hunt/simulate"
	"larkhand/internal/music"
	"larkhand/internal/singer"
	"larkhand/internal/soundfile"
	"larkhand/match"
)

// When things happen.
const (
	daysBetween  = 3   // from one session of a player to the next
	roundEvery   = 80  // s from one round to the next
	loopStarts   = 0.5 // s on the clock of each take
	firstBeat    = 2   // quarter notes after the loop's start at which a phrase begins
	firstStroke  = 0.3 // s from the answer's zero to its first note
	onsetNoise   = 0.012
	responseHalf = 0.25 // standard deviation of the logarithm of response times
	rate         = 22050
)

var firstDay = time.Date(2026, 2, 2, 17, 30, 0, 0, time.UTC)

// charts are the loops by key (own).
var charts = map[string]string{
	"C minor": "Cm7 | Fm7 | G7b9 | Cm7", "D dorian": "Dm7 | G7 | Dm7 | G7", "F major": "Fmaj7 | Gm7 | C7 | Fmaj7", "G minor": "Gm7 | Cm7 | D7b9 | Gm7",
	"Db major": "Dbmaj7 | Ebm7 | Ab7 | Dbmaj7", "Gb major": "Gbmaj7 | Abm7 | Db7 | Gbmaj7", "D major": "Dmaj7 | Em7 | A7 | Dmaj7", "G major": "Gmaj7 | Am7 | D7 | Gmaj7",
	"A minor": "Am7 | Dm7 | E7b9 | Am7", "Bb major": "Bbmaj7 | Cm7 | F7 | Bbmaj7",
}

// write sings and plays all rounds into files, on all cores, and tells how many.
func (s size) write(dir string) (int, error) {
	type job struct {
		p              player
		session, round int
	}
	var jobs []job
	for _, p := range players {
		for session := range s.sessions {
			for round := range s.rounds {
				jobs = append(jobs, job{p, session, round})
			}
		}
	}
	errs := make([]error, len(jobs))
	next := make(chan int)
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for i := range next {
				errs[i] = s.round(dir, jobs[i].p, jobs[i].session, jobs[i].round)
			}
		})
	}
	for i := range jobs {
		next <- i
	}
	close(next)
	workers.Wait()
	for _, err := range errs {
		if err != nil {
			return 0, err
		}
	}
	return len(jobs), nil
}

// round sings and plays one round into a folder of its own.
func (s size) round(dir string, p player, session, number int) error {
	rng := rand.New(rand.NewPCG(s.seed<<8+p.seed, uint64(session)<<16+uint64(number)))
	moment := 0.0
	if s.sessions > 1 {
		moment = float64(session) / float64(s.sessions-1)
	}
	name := p.keys[rng.IntN(len(p.keys))]
	key, err := music.ParseKey(name)
	if err != nil {
		return err
	}
	ph := newPhrase(rng, key, p.tonic)
	folder := filepath.Join(dir, p.name, fmt.Sprintf("session-%02d", session+1), fmt.Sprintf("round-%02d", number+1))
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	sung := ph.sing(rng)
	for i := range 2 {
		if s.sound[session] {
			err = soundfile.WriteFLAC(filepath.Join(folder, fmt.Sprintf("take%d.flac", i+1)), ph.sound(rng, p, i), rate)
		} else {
			err = os.WriteFile(filepath.Join(folder, fmt.Sprintf("take%d.mid", i+1)), midiFile(written(ph.sing(rng))), 0o644)
		}
		if err != nil {
			return err
		}
	}
	c := simulate.AnswerAt(rng, sung, simulate.Plain{}, between(rng, 0.9, 1.2))
	c = p.hunt(rng, ph, c, moment)
	steps := ""
	if p.misname != nil {
		misnamed := p.misname(rng, ph)
		if misnamed != match.None {
			c = playWritten(c, misnamed, ph.notes[misnamed].pitch+1)
		}
		numbers, letters := ph.written(misnamed)
		steps = fmt.Sprintf("numbers: %s\nletters: %s\n", numbers, letters)
	}
	delay(c.Played, firstStroke)
	if err := os.WriteFile(filepath.Join(folder, "answer.mid"), midiFile(c.Played), 0o644); err != nil {
		return err
	}
	response := p.response(moment) * math.Exp(responseHalf*rng.NormFloat64())
	at := firstDay.AddDate(0, 0, daysBetween*session).Add(time.Duration(p.seed)*time.Hour/10 + time.Duration(number)*roundEvery*time.Second)
	settings := fmt.Sprintf("key: %s\nchart: %s\ntempo: %g\nloop-starts: %g\nanswer-starts: %.3f\nsang: %s\nat: %s\n",
		name, charts[name], ph.tempo, loopStarts, sung[len(sung)-1].Offset+response-firstStroke, p.name, at.Format(time.RFC3339)) + steps
	return os.WriteFile(filepath.Join(folder, "round.txt"), []byte(settings), 0o644)
}

// seconds is when a beat of the phrase sounds on the clock of a take.
func (p phrase) seconds(beat float64) float64 { return loopStarts + (firstBeat+beat)*60/p.tempo }

// sing is the phrase with the small unevenness of a singer.
func (p phrase) sing(rng *rand.Rand) []match.Sung {
	sung := make([]match.Sung, len(p.notes))
	for i, n := range p.notes {
		sung[i] = match.Sung{Onset: p.seconds(n.beat), Offset: p.seconds(n.beat + n.length), Semitone: n.pitch, Pitch: float64(n.pitch)}
	}
	return simulate.Blur(rng, sung, onsetNoise)
}

// written is a sung phrase as keys.
func written(sung []match.Sung) []match.Played {
	notes := make([]match.Played, len(sung))
	for i, n := range sung {
		notes[i] = match.Played{Onset: n.Onset, Offset: n.Offset, Pitch: n.Pitch, Velocity: 80}
	}
	return notes
}

// room is where the players sing.
var room = singer.Room{RT60: 0.25, WetDB: -22, NoiseDBFS: -64, LowHz: 70, HighHz: 10000}

// sound sings take number index, 0 or 1.
func (p phrase) sound(rng *rand.Rand, pl player, index int) []float32 {
	const intonation, spreadOfWobble = 8.0, 0.15 // cents; standard deviation of the logarithm
	syllables := []singer.Syllable{"da", "du", "ba", "ya"}
	wobble := pl.wobble[index] * math.Exp(spreadOfWobble*rng.NormFloat64())
	notes := make([]singer.Note, len(p.notes))
	for i, s := range p.sing(rng) {
		notes[i] = singer.Note{
			Onset: s.Onset, Offset: s.Offset, Pitch: s.Pitch, DetuneCents: intonation * rng.NormFloat64(), Syllable: syllables[rng.IntN(len(syllables))],
			WobbleCents: wobble, ScoopCents: 20, DecayDB: -3,
		}
	}
	seed := rng.Uint64()
	return room.Record(singer.Render(notes, pl.voice, rate, seed), rate, seed)
}

// midiFile writes notes as a Standard MIDI File of format 0, a tick 0.5 ms long.
func midiFile(notes []match.Played) []byte {
	const ticksPerQuarter, tempo = 1000, 120.0
	type event struct {
		tick    uint32
		message midi.Message
	}
	tick := func(s float64) uint32 { return uint32(math.Round(s * tempo / 60 * ticksPerQuarter)) }
	var events []event
	for _, n := range notes {
		key := uint8(math.Round(n.Pitch))
		events = append(events, event{tick(n.Offset), midi.NoteOff(0, key)}, event{tick(n.Onset), midi.NoteOn(0, key, uint8(n.Velocity))})
	}
	slices.SortStableFunc(events, func(a, b event) int { return cmp.Compare(a.tick, b.tick) })
	var track smf.Track
	track.Add(0, smf.MetaTempo(tempo))
	last := uint32(0)
	for _, e := range events {
		track.Add(e.tick-last, e.message)
		last = e.tick
	}
	track.Close(0)
	file := smf.New()
	file.TimeFormat = smf.MetricTicks(ticksPerQuarter)
	if err := file.Add(track); err != nil {
		panic("season: " + err.Error()) // the track was closed above
	}
	var b bytes.Buffer
	if _, err := file.WriteTo(&b); err != nil {
		panic("season: " + err.Error()) // a buffer takes everything
	}
	return b.Bytes()
}
