package main

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"larkhand/hunt/simulate"
	"larkhand/internal/data/sightsing"
	"larkhand/internal/entry"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/internal/steps"
)

// The targets for the weak link, percent.
const (
	linkNamed    = 95.0
	noneNamed    = 98.0
	bothNamed    = 85.0
	strengths    = 3   // a link fails in 1, 2 or 3 notes
	missingShare = 0.2 // of the mistakes leave a note out; the others change it
)

// steppers are the simulated players: which links fail.
var steppers = [][]steps.Name{
	{},
	{steps.Voice}, {steps.Ear}, {steps.Names}, {steps.Fingers},
	{steps.Voice, steps.Ear}, {steps.Voice, steps.Names}, {steps.Voice, steps.Fingers},
	{steps.Ear, steps.Names}, {steps.Ear, steps.Fingers}, {steps.Names, steps.Fingers},
}

// stepCount is what became of the rounds of one player at one strength.
type stepCount struct {
	exact tally // exactly the links that failed were named
	all   tally // every link that failed was named
}

// stepRounds are all of them, by player and strength.
type stepRounds [][strengths]stepCount

// stepping judges every phrase for every player, step by step.
func stepping(clips []sightsing.Clip, hand simulate.Timing, seed uint64) (stepRounds, error) {
	parts, err := inParallel(clips, func(clip sightsing.Clip) (stepRounds, error) {
		counts := make(stepRounds, len(steppers))
		sound, err := soundfile.Read(clip.Sound)
		if err != nil {
			return nil, err
		}
		phrases, _ := cut(&clip)
		for _, p := range phrases {
			if p.unsure || len(scoredPlaces(p, len(p.notes), generator(seed, "", 0, faultless))) < len(p.notes) {
				continue
			}
			from, to := int(p.from*float64(sound.Rate)), min(len(sound.Samples), int(p.to*float64(sound.Rate)))
			if err := stepPhrase(counts, p, sound.Samples[from:to], sound.Rate, hand, seed); err != nil {
				return nil, fmt.Errorf("clip %s at %.1f s: %w", clip.ID, p.from, err)
			}
		}
		return counts, nil
	})
	all := make(stepRounds, len(steppers))
	for _, part := range parts {
		for k := range part {
			for s := range strengths {
				all[k][s].exact.add(part[k][s].exact)
				all[k][s].all.add(part[k][s].all)
			}
		}
	}
	return all, err
}

// stepPhrase lets every player sing, write down and play one phrase. Take 2 is the clip; take 1 is a copy as in twoTakes, in which a
// voice that fails sings other notes.
func stepPhrase(counts stepRounds, p phrase, samples []float32, rate int, hand simulate.Timing, seed uint64) error {
	rng := generator(seed, "steps "+p.clip.ID, p.index, faultless)
	last, err := round.SungTake("", samples, rate)
	if err != nil || round.CheckTake(last, "") != nil {
		return err
	}
	first, err := firstTake(p, doubles(samples), rate, nil, rng)
	if err != nil || round.CheckTake(first, "") != nil {
		return err
	}
	for strength := 1; strength <= strengths; strength++ {
		places := scoredPlaces(p, strength, rng)
		if len(places) < strength {
			return nil
		}
		wrong, err := firstTake(p, doubles(samples), rate, places, rng)
		if err != nil {
			return err
		}
		for k, failing := range steppers {
			takes := []round.Take{first, last}
			if slices.Contains(failing, steps.Voice) {
				takes[0] = wrong
			}
			if round.CheckTake(takes[0], "") != nil {
				continue
			}
			weak, err := stepOnce(p, takes, failing, strength, hand, rng)
			if err != nil {
				return err
			}
			counts[k][strength-1].exact.count(slices.Equal(weak, failing))
			counts[k][strength-1].all.count(!slices.ContainsFunc(failing, func(n steps.Name) bool { return !slices.Contains(weak, n) }))
		}
	}
	return nil
}

// firstTake is the retuned and noisy copy of the phrase; the notes at the places are sung 1 to 4 semitones off.
func firstTake(p phrase, x []float64, rate int, places []int, rng *rand.Rand) (round.Take, error) {
	for _, i := range slices.Backward(places) {
		from, to := int(p.notes[i].onset*float64(rate)), min(int(p.notes[i].offset*float64(rate)), len(x))
		off := float64(1+rng.IntN(4)) * float64(1-2*rng.IntN(2))
		x = slices.Concat(x[:from], retuned(x[from:to], 100*off), x[to:])
	}
	cents := takeRetuneCents * float64(1-2*rng.IntN(2))
	x = retuned(x, cents)
	x = mixed(x, pink(rng, len(x), rate), voiceLevel(x, rate)*fromDB(-takeNoiseDB))
	return round.SungTake("", singles(x), rate)
}

// scoredPlaces draws notes whose key the labels tell, in order.
func scoredPlaces(p phrase, count int, rng *rand.Rand) []int {
	var all []int
	for i, n := range p.notes {
		if n.scored {
			all = append(all, i)
		}
	}
	rng.Shuffle(len(all), func(i, k int) { all[i], all[k] = all[k], all[i] })
	all = all[:min(count, len(all))]
	slices.Sort(all)
	return all
}

// thought is a phrase in the player's head: what each note is, and which of the phrase's notes it stands for.
type thought struct{ semitones, of []int }

// fail makes mistakes in a thought at notes whose key the labels tell.
func (t thought) fail(p phrase, strength int, rng *rand.Rand) thought {
	out := thought{slices.Clone(t.semitones), slices.Clone(t.of)}
	places := scoredPlaces(p, strength, rng)
	for _, place := range slices.Backward(places) {
		at := slices.Index(out.of, place)
		switch {
		case at < 0: // gone already
		case rng.Float64() < missingShare:
			out.semitones, out.of = slices.Delete(out.semitones, at, at+1), slices.Delete(out.of, at, at+1)
		default:
			out.semitones[at] += (1 + rng.IntN(4)) * (1 - 2*rng.IntN(2))
		}
	}
	return out
}

func (t thought) classes() []int {
	out := make([]int, len(t.semitones))
	for i, s := range t.semitones {
		out[i] = ((s % 12) + 12) % 12
	}
	return out
}

// stepOnce plays one round through the program's own path and tells which links it names.
func stepOnce(p phrase, takes []round.Take, failing []steps.Name, strength int, hand simulate.Timing, rng *rand.Rand) ([]steps.Name, error) {
	mind := thought{}
	for i, n := range p.notes {
		mind.semitones, mind.of = append(mind.semitones, n.semitone), append(mind.of, i)
	}
	var stages []thought
	for _, link := range []steps.Name{steps.Ear, steps.Names, steps.Fingers} {
		if slices.Contains(failing, link) {
			mind = mind.fail(p, strength, rng)
		}
		stages = append(stages, mind)
	}
	if len(mind.of) == 0 {
		return failing, nil
	}
	played, err := play(thoughtPhrase(p, mind), faultless, hand, rng).read()
	if err != nil {
		return nil, err
	}
	key, _ := round.KeyOf(takes[len(takes)-1], nil)
	reader := entry.Reader{Key: key, Numbering: music.ScaleNumbers}
	written := round.Written{Numbers: reader.Write(entry.Numbers, stages[0].classes()), Letters: reader.Write(entry.Letters, stages[1].classes())}
	r, err := round.Judge(takes, round.Answer{Notes: played}, round.Options{Written: &written})
	if err != nil {
		return nil, err
	}
	return r.Steps.Weak, nil
}

// thoughtPhrase is the phrase with the notes that the player has in mind.
func thoughtPhrase(p phrase, t thought) phrase {
	notes := make([]truth, len(t.of))
	for i, of := range t.of {
		notes[i] = p.notes[of]
		notes[i].semitone = t.semitones[i]
	}
	p.notes = notes
	return p
}

// stepTables lays out the outcome.
func stepTables(counts stepRounds, which string, g *goals) []table {
	t := table{title: "The weak link (" + which + ")", head: []string{"links that failed", "notes", "exactly these named", "all of these named", "rounds"}}
	var one, two tally
	for k, failing := range steppers {
		for s := range strengths {
			c := counts[k][s]
			name := "none"
			for i, link := range failing {
				name = string(link)
				if i > 0 {
					name = string(failing[0]) + ", " + name
				}
			}
			t.add(name, fmt.Sprint(s+1), c.exact.share(), c.all.share(), fmt.Sprint(c.exact.of))
			switch len(failing) {
			case 1:
				one.add(c.exact)
			case 2:
				two.add(c.all)
			}
		}
	}
	g.least("weak link: the one that failed named, and no other", one.percent(), linkNamed, percentFormat)
	g.least("weak link: none named in faultless rounds", counts[0][0].exact.percent(), noneNamed, percentFormat)
	g.least("weak link: both of two named", two.percent(), bothNamed, percentFormat)
	t.notes = []string{"Only phrases of which the labels tell every note's key: nobody knows what the others were to be.", "Take 2 is the clip, take 1 a retuned copy in noise. A voice that fails sings 1 to 3 notes of take 1 one to four semitones off (resampled in the sound).",
		"The other links fail in 1 to 3 notes: one to four semitones off, or one in five left out. Mistakes are carried on to the links after them."}
	return []table{t}
}
