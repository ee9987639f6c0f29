package main

import (
	"math/rand/v2"

	"larkhand/internal/metrics"
	"larkhand/internal/singer"
	"larkhand/voice/internal/marks"
)

// singerRate is the rate that singers are rendered at, in Hz, and singerSeconds the length of a take.
const (
	singerRate    = 16000
	singerSeconds = 25.0
)

// singerStyles is what the rendered singers sing, the commoner the more often.
// The clips hold solfege and "la", so words and legato weigh most here.
var singerStyles = []singer.Style{
	singer.Words, singer.Words, singer.Words, singer.Legato, singer.Legato,
	singer.Scat, singer.Scat, singer.Hum, singer.La, singer.Solfege,
}

// singerExamples renders takes of random singers; two thirds stand in a room or in noise.
func singerExamples(takes int, seed uint64) []example {
	out := make([]example, takes)
	parallel(takes, func(i int) { out[i] = learn(singerSound(i, seed)) })
	return out
}

func singerSound(i int, seed uint64) sound {
	rng := rand.New(rand.NewPCG(seed, 1e6+uint64(i)))
	v := singer.RandomVoice(rng)
	notes := singer.Take(rng, singerStyles[i%len(singerStyles)], v, singer.RandomHabits(rng), singerSeconds)
	s := sound{samples: singer.Render(notes, v, singerRate, rng.Uint64()), rate: singerRate}
	for _, t := range singer.Truths(notes) {
		s.labels = append(s.labels, label{t.Onset, t.Offset, t.Pitch})
	}
	if rng.Float64() < 0.67 {
		r := singer.RandomRoom(rng)
		s.samples = r.Record(s.samples, singerRate, rng.Uint64())
	}
	return s
}

// scoreSingers scores a network on rendered singers that it has not learned from.
func scoreSingers(n *marks.Network) scores {
	const (
		takes = 20
		seed  = 99991 // far from the seeds of training
	)
	each := make([]scores, takes)
	parallel(takes, func(i int) {
		s := singerSound(i, seed)
		each[i] = scoreNotes(truth(s), notesOf(s, n))
	})
	var sum scores
	for _, s := range each {
		sum = sum.plus(s)
	}
	return sum
}

func truth(s sound) []metrics.Note {
	var out []metrics.Note
	for _, l := range s.labels {
		out = append(out, metrics.Note{Onset: l.onset, Offset: l.offset, Pitch: l.pitch})
	}
	return out
}
