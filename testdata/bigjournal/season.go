package main

import (
	"encoding/json"
	"fmt"
	"iter"
	"math/rand/v2"
	"time"

	"larkhand/internal/journal"
	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/report"
	"larkhand/internal/round"
	"larkhand/midiin"
	"larkhand/voice"
)

// The size of a season. Judging takes longer than saving, so the rounds are drawn from this many judged ones.
const (
	patterns      = 400
	roundsADay    = 25
	roundSeconds  = 75
	fewestNotes   = 4
	mostNotes     = 8
	noteSeconds   = 0.45
	noteLength    = 0.38
	answerPause   = 1.5 // s from the end of the take
	searchedShare = 0.3 // of the rounds
)

var keyNames = []string{"C minor", "F minor", "Bb major", "D dorian", "Eb major", "G minor"}

// season makes entries without end.
type season struct {
	rng     *rand.Rand
	judged  []journal.Entry
	players int
	made    int
}

// firstDay is when a season begins.
var firstDay = time.Date(2014, 1, 6, 18, 0, 0, 0, time.UTC)

func newSeason(seed uint64, players int) (*season, error) {
	s := &season{rng: rand.New(rand.NewPCG(seed, 1)), players: max(players, 1)}
	for range patterns {
		e, err := s.pattern()
		if err != nil {
			return nil, err
		}
		s.judged = append(s.judged, e)
	}
	return s, nil
}

// entries gives the next count rounds, in the order of time: a session every day.
func (s *season) entries(count int) iter.Seq[journal.Entry] {
	return func(yield func(journal.Entry) bool) {
		for range count {
			e := s.judged[s.rng.IntN(len(s.judged))]
			day, inDay := s.made/roundsADay, s.made%roundsADay
			e.At = firstDay.AddDate(0, 0, day).Add(time.Duration(inDay*roundSeconds) * time.Second)
			e.Sang = fmt.Sprintf("Player %d", 1+s.made%s.players)
			s.made++
			if !yield(e) {
				return
			}
		}
	}
}

// pattern is one judged round.
func (s *season) pattern() (journal.Entry, error) {
	key, err := music.ParseKey(keyNames[s.rng.IntN(len(keyNames))])
	if err != nil {
		return journal.Entry{}, err
	}
	chart, err := music.ParseChart("Cm7 | Fm7 | G7b9 | Cm7")
	if err != nil {
		return journal.Entry{}, err
	}
	l, err := loop.New(chart, float64(80+4*s.rng.IntN(12)), 0)
	if err != nil {
		return journal.Entry{}, err
	}
	phrase := s.phrase(key)
	takes := []round.Take{s.take("take1.wav", phrase, 12), s.take("take2.wav", phrase, 8)}
	starts := takes[1].Voice.Duration + answerPause*s.rng.Float64()
	r, err := round.Judge(takes, round.Answer{File: "answer.mid", Notes: s.answer(phrase)}, round.Options{Key: &key, Loop: &l, AnswerStarts: &starts})
	if err != nil {
		return journal.Entry{}, err
	}
	document, err := json.Marshal(report.NewRoundDocument(r))
	return journal.Entry{Round: r, Program: "invented", Document: document}, err
}

// phrase is a walk through the key's scale, MIDI numbers.
func (s *season) phrase(key music.Key) []int {
	scale := key.PitchClasses()
	at := s.rng.IntN(len(scale))
	var phrase []int
	for range fewestNotes + s.rng.IntN(mostNotes-fewestNotes+1) {
		octave := at / len(scale)
		phrase = append(phrase, 60+12*octave+scale[at%len(scale)])
		at = min(max(at+s.rng.IntN(7)-3, 0), 2*len(scale)-1)
	}
	return phrase
}

func (s *season) take(name string, phrase []int, offCents float64) round.Take {
	t := round.Take{File: name, Voice: voice.Take{Clarity: 1, Frames: []voice.Frame{{Level: -20}}}}
	for i, p := range phrase {
		onset := 0.5 + noteSeconds*float64(i)
		centre := offCents * s.rng.NormFloat64()
		t.Voice.Notes = append(t.Voice.Notes, voice.Note{
			Onset: onset, Offset: onset + noteLength, Pitch: float64(p) + centre/100, Semitone: p, Chance: [3]float64{0.01, 0.98, 0.01},
			CentreCents: centre, SpreadCents: 10 + 10*s.rng.Float64(), Level: -20, Confidence: 0.97,
		})
	}
	t.Voice.Duration = 0.5 + noteSeconds*float64(len(phrase))
	return t
}

// answer plays the phrase, in some rounds with a wrong key before one of its notes.
func (s *season) answer(phrase []int) []midiin.Note {
	searched := -1 // the note that is searched for
	if s.rng.Float64() < searchedShare {
		searched = s.rng.IntN(len(phrase))
	}
	var notes []midiin.Note
	now := 0.0
	play := func(key int, seconds float64) {
		notes = append(notes, midiin.Note{Onset: now, Offset: now + 0.8*seconds, Released: now + 0.8*seconds, Key: key, Pitch: float64(key), Velocity: 60 + s.rng.IntN(30)})
		now += seconds
	}
	for i, p := range phrase {
		if i == searched {
			play(p-1, noteSeconds)
		}
		play(p, noteSeconds)
	}
	return notes
}
