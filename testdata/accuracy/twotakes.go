package main

import (
	"fmt"
	"math"

	"larkhand/hunt/simulate"
	"larkhand/internal/data/sightsing"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
)

// How a first take is made of the only one there is: another tuning and tempo, and noise. A singer's second take differs by more, but
// no clip has one.
const (
	takeRetuneCents = 30.0 // up or down; the tempo changes with it, by 1.7 %
	takeNoiseDB     = 15.0 // of the voice above pink noise in the copy
)

// takeSetting is a way to hand in a phrase.
type takeSetting struct {
	name         string
	copied       bool // a retuned and degraded copy is sung first
	noisy        bool // the last take lies in white noise, 10 dB below the voice
	compareWith  int  // index of the setting with one take less
	hasCompanion bool
}

var takeSettings = []takeSetting{
	{name: "one take"},
	{name: "two takes", copied: true, hasCompanion: true, compareWith: 0},
	{name: "one take in noise", noisy: true},
	{name: "two takes, the last in noise", copied: true, noisy: true, hasCompanion: true, compareWith: 2},
}

// takeVariants are the answers that are judged.
var takeVariants = []variant{faultless, wrongNote, leftOut}

// twoTakes judges every phrase in every setting.
func twoTakes(clips []sightsing.Clip, hand simulate.Timing, seed uint64) ([]roundCount, error) {
	parts, err := inParallel(clips, func(clip sightsing.Clip) ([]roundCount, error) {
		counts := make([]roundCount, len(takeSettings))
		sound, err := soundfile.Read(clip.Sound)
		if err != nil {
			return nil, err
		}
		phrases, _ := cut(&clip)
		for _, p := range phrases {
			if p.unsure {
				continue
			}
			from, to := int(p.from*float64(sound.Rate)), min(len(sound.Samples), int(p.to*float64(sound.Rate)))
			if err := takesOfPhrase(counts, p, sound.Samples[from:to], sound.Rate, hand, seed); err != nil {
				return nil, fmt.Errorf("clip %s at %.1f s: %w", clip.ID, p.from, err)
			}
		}
		return counts, nil
	})
	all := make([]roundCount, len(takeSettings))
	for _, part := range parts {
		for k := range part {
			all[k].add(&part[k])
		}
	}
	return all, err
}

// takesOfPhrase judges one phrase in every setting. A phrase of which a take is refused in any setting counts in none.
func takesOfPhrase(counts []roundCount, p phrase, samples []float32, rate int, hand simulate.Timing, seed uint64) error {
	rng := generator(seed, "takes "+p.clip.ID, p.index, faultless)
	cents := takeRetuneCents
	if rng.IntN(2) == 0 {
		cents = -cents
	}
	clean := doubles(samples)
	copied := retuned(clean, cents)
	copied = mixed(copied, pink(rng, len(copied), rate), voiceLevel(copied, rate)*fromDB(-takeNoiseDB))
	noisy := mixed(clean, white(rng, len(clean)), voiceLevel(clean, rate)*fromDB(-noiseDB))
	var takes [3]round.Take
	for k, x := range [][]float64{clean, copied, noisy} {
		take, err := round.SungTake(p.clip.ID, singles(x), rate)
		if err != nil {
			return err
		}
		if round.CheckTake(take, p.clip.ID) != nil {
			return nil
		}
		takes[k] = take
	}
	for k, s := range takeSettings {
		last := takes[0]
		if s.noisy {
			last = takes[2]
		}
		handed := []round.Take{last}
		if s.copied {
			handed = []round.Take{takes[1], last}
		}
		for _, v := range takeVariants {
			if err := judge(&counts[k], p, handed, play(p, v, hand, generator(seed, p.clip.ID, p.index, v))); err != nil {
				return err
			}
		}
	}
	return nil
}

// retuned plays a recording faster or slower, so that it lies cents higher, by cubic interpolation (Catmull and Rom 1974).
func retuned(x []float64, cents float64) []float64 {
	ratio := math.Exp2(cents / 1200)
	out := make([]float64, int(float64(len(x))/ratio))
	at := func(i int) float64 { return x[max(0, min(len(x)-1, i))] }
	for i := range out {
		position := float64(i) * ratio
		k := int(position)
		u := position - float64(k)
		a, b, c, d := at(k-1), at(k), at(k+1), at(k+2)
		out[i] = b + u/2*(c-a+u*(2*a-5*b+4*c-d+u*(3*(b-c)+d-a)))
	}
	return out
}

// takeTables lays out the outcome.
func takeTables(counts []roundCount, which string, g *goals) []table {
	t := table{title: "Two takes against one (" + which + ")",
		head: []string{"handed in", "blame without cause", "wrong notes called same", "right notes unclear", "right notes same", "left-out notes found", "right notes"}}
	for k, s := range takeSettings {
		c := counts[k]
		t.add(s.name, c.blame.share(), c.wrong.same.share(), c.right.unclear.share(), c.right.same.share(), c.omission.share(), fmt.Sprint(c.right.same.of))
		if s.hasCompanion {
			one := counts[s.compareWith]
			g.least(s.name+": right notes called same, points above one take", c.right.same.percent()-one.right.same.percent(), 0, percentFormat)
			g.most(s.name+": blame without cause, points above one take", c.blame.percent()-one.blame.percent(), 0, percentFormat)
		}
	}
	t.notes = []string{"The first of two takes is a copy of the phrase, 30 cents higher or lower, 1.7 % faster or slower, with pink noise 15 dB below the voice: no clip has a true second take.",
		"Each phrase is answered without fault, with one wrong note, and with one left out."}
	return []table{t}
}
