package main

import (
	"math"
	"math/rand/v2"
)

// How real singing is made faster; own. Fast singers shorten the vowels most, the attacks and consonants less.
const (
	hurryCalm    = 0.2  // share of the groups of notes that stay as they were sung
	hurryLeast   = 0.08 // s from onset to onset, the fastest pace of a group ...
	hurryMost    = 0.22 // ... and the slowest
	hurryRest    = 0.3  // s: a gap from here on parts phrases and stays as it is
	hurryGap     = 2.5  // a shorter gap is made shorter at most so many times
	spliceWindow = 0.02 // s, overlap-add
	spliceReach  = 0.006
)

// piece is a stretch of the new sound: from out seconds on it follows the old one from in on, at a speed.
type piece struct{ out, in, speed float64 }

// hurried gives a copy in which groups of notes are sung faster at their pitch: of each vowel a middle part
// is left out, attacks and consonants pass up to 1.8 times faster. The labels follow. The splices lie where
// the waveforms fit best (WSOLA: Verhelst and Roelands, ICASSP 1993).
func hurried(s sound, rng *rand.Rand) sound {
	pieces, labels := hurry(s.labels, rng)
	out := sound{rate: s.rate, labels: labels}
	end := float64(len(s.samples)) / float64(s.rate)
	last := pieces[len(pieces)-1]
	out.samples = splice(s.samples, s.rate, pieces, last.out+(end-last.in)/last.speed)
	return out
}

// hurry plans the pieces and moves the labels.
func hurry(notes []label, rng *rand.Rand) ([]piece, []label) {
	pieces := []piece{{0, 0, 1}}
	labels := make([]label, len(notes))
	shift := 0.0 // s, new time minus old at the onset of note i
	pace, left := 0.0, 0
	for i, n := range notes {
		if left == 0 {
			left = 4 + rng.IntN(12)
			pace = hurryLeast * math.Pow(hurryMost/hurryLeast, rng.Float64())
			if rng.Float64() < hurryCalm {
				pace = math.Inf(1)
			}
		}
		left--
		at := n.onset + shift
		labels[i] = label{at, n.offset + shift, n.pitch}
		whole := n.offset - n.onset
		gap := hurryRest
		if i+1 < len(notes) {
			gap = notes[i+1].onset - n.offset
		}
		step := pace * math.Exp(0.08*rng.NormFloat64())
		if gap >= hurryRest { // the last note of a phrase
			step *= 1 + rng.Float64()
			if whole <= step {
				continue
			}
			head := step * (0.4 + 0.2*rng.Float64())
			tail := step - head
			pieces = append(pieces, piece{at + head, n.offset - tail, 1})
			shift -= whole - step
			labels[i].offset = n.offset + shift
			continue
		}
		gap = max(gap, 0)
		if whole+gap <= step {
			continue
		}
		head := step * (0.3 + 0.2*rng.Float64())
		tail := max(step-head, gap/hurryGap)
		step = head + tail
		headSpeed, tailSpeed := 1+0.3*rng.Float64(), 1+0.8*rng.Float64()
		kept := max(tail*tailSpeed, gap+0.01)
		next := n.onset + whole + gap
		if head*headSpeed+kept >= next-n.onset {
			headSpeed = (next - n.onset) / step
			pieces = append(pieces, piece{at, n.onset, headSpeed}, piece{at + step, next, 1})
			labels[i].offset = at + whole/headSpeed
		} else {
			tailSpeed = kept / tail
			pieces = append(pieces, piece{at, n.onset, headSpeed}, piece{at + head, next - kept, tailSpeed}, piece{at + step, next, 1})
			labels[i].offset = at + step - gap/tailSpeed
		}
		shift = at + step - next
	}
	return pieces, labels
}

// splice plays the pieces, for seconds in all.
func splice(x []float32, rate int, pieces []piece, seconds float64) []float32 {
	window := 2 * int(spliceWindow/2*float64(rate))
	hop, reach := window/2, int(spliceReach*float64(rate))
	out := make([]float32, int(seconds*float64(rate)))
	fade := make([]float32, window)
	for i := range fade {
		fade[i] = float32(0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(window)))
	}
	k, natural := 0, 0
	for start := -hop; start < len(out); start += hop {
		middle := float64(start+hop) / float64(rate)
		for k+1 < len(pieces) && pieces[k+1].out <= middle {
			k++
		}
		p := pieces[k]
		from := int((p.in+(middle-p.out)*p.speed)*float64(rate)) - hop
		if start >= 0 {
			if abs(natural-from) <= 2 { // nothing is left out here: go on where the last window went
				from = natural
			} else {
				from = likest(x, natural, from, window, reach)
			}
		}
		for i, f := range fade {
			if at, to := from+i, start+i; at >= 0 && at < len(x) && to >= 0 && to < len(out) {
				out[to] += f * x[at]
			}
		}
		natural = from + hop
	}
	return out
}

// likest finds the place within reach of from where x goes on most like at natural.
func likest(x []float32, natural, from, window, reach int) int {
	step := 1 + window/640 // coarser at high rates
	best, most := from, math.Inf(-1)
	for d := -reach; d <= reach; d += step {
		if from+d < 0 || from+d+window > len(x) || natural < 0 || natural+window > len(x) {
			continue
		}
		a, b := x[natural:natural+window], x[from+d:from+d+window]
		var ab, bb float64
		for i := 0; i < window; i += step {
			ab += float64(a[i]) * float64(b[i])
			bb += float64(b[i]) * float64(b[i])
		}
		if c := ab / math.Sqrt(bb+1e-12); c > most {
			best, most = from+d, c
		}
	}
	return best
}

func abs(x int) int { return max(x, -x) }
