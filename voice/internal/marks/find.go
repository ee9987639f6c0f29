package marks

import (
	"slices"

	"larkhand/voice/internal/front"
	"larkhand/voice/internal/track"
)

// How the networks are put together. Found on the tuning side, each family of clips marked by networks that had not met it.
const (
	runsShare = 0.35 // of the network for runs in the mean of both; 0.2 to 0.5 are alike
	clear     = 0.5  // probability of a clear beginning
	runSteps  = 3    // so many steps from one clear beginning to the next ...
	runPace   = 0.25 // s, ... that are shorter than this on average make a run; 0.3 splits notes of 250 ms
	runBefore = 5    // frames before its first beginning that belong to a run
	runAfter  = 25   // frames after its last
	noisy     = -24  // dB by the vowels: where the softest twentieth of a take is louder than that, it stands in noise or a hall
	softest   = 0.05
)

// Find marks a take. The networks' probabilities are averaged; in runs those of the network for runs count alone, and in noise,
// which drowns beginnings rather than making them up, a beginning that either network marks.
func Find(frames []front.Frame, path track.Path) []Marks {
	rows := Inputs(frames, path)
	steady, runs := Steady().Run(rows), Runs().Run(rows)
	return together(steady, runs, inNoise(frames, path))
}

// together puts the marks of both networks together.
func together(steady, runs []Marks, inNoise bool) []Marks {
	out := make([]Marks, len(steady))
	for t := range out {
		s, r := steady[t], runs[t]
		out[t] = Marks{Begins: mean(s.Begins, r.Begins), Ends: mean(s.Ends, r.Ends), Inside: mean(s.Inside, r.Inside)}
		if inNoise {
			out[t].Begins = max(s.Begins, r.Begins)
		}
	}
	begins := clearBegins(runs)
	for i := 0; i+runSteps < len(begins); i++ {
		first, last := begins[i], begins[i+runSteps]
		if float64(last-first)*front.Hop < runSteps*runPace {
			from, to := max(first-runBefore, 0), min(last+runAfter, len(out))
			copy(out[from:to], runs[from:to])
		}
	}
	return out
}

func mean(steady, runs float64) float64 { return (1-runsShare)*steady + runsShare*runs }

// clearBegins are the frames of clear beginnings.
func clearBegins(m []Marks) []int {
	var out []int
	for t := 1; t+1 < len(m); t++ {
		if p := m[t].Begins; p >= clear && p >= m[t-1].Begins && p > m[t+1].Begins {
			out = append(out, t)
		}
	}
	return out
}

// inNoise says whether a take stands in noise.
func inNoise(frames []front.Frame, path track.Path) bool {
	if len(frames) == 0 {
		return false
	}
	levels := make([]float64, len(frames))
	for t := range frames {
		levels[t] = float64(frames[t].Level)
	}
	slices.Sort(levels)
	return levels[int(softest*float64(len(levels)))]-path.Reference > noisy
}
