package voice

import (
	"math"
	"math/cmplx"
	"slices"
)

// The reference of a take, where its own tempered pitches lie against A4 = 440
// Hz, is a hidden state on a circle of one semitone that walks a little from
// note to note; a sung note is a semitone above it, plus the singer's error.
// The reference as a changing latent variable is from Mauch, Frieler and Dixon
// 2014 (JASA 136:401); that it must be free to move quickly was measured: on
// three melodies sung by nine people it wanders 1.8 semitones within a clip (median).
const (
	referenceStep  = 0.05 // semitones between the states
	referenceWalk  = 0.12 // semitones, standard deviation from note to note
	singerError    = 0.20 // semitones, standard deviation
	slipChance     = 0.06 // of a note that has nothing to do with the reference
	firstReference = 0.25 // semitones, standard deviation before the first note: the loop gives the tuning
	unclearBelow   = 0.80 // a note whose best semitone is less probable is unclear
	shortestClear  = 0.06 // s: below that a pitch is hardly heard
	leastExistence = 0.50
)

const referenceStates = 20 // referenceStates * referenceStep = 1 semitone

type circle [referenceStates]float64

// judgePitches fills in Semitone, Chance, ReferenceCents, CentreCents, the
// final Confidence and Unclear, and returns the take's tuning in cents.
func judgePitches(notes []Note) float64 {
	if len(notes) == 0 {
		return 0
	}
	evidence := make([]circle, len(notes))
	for i, n := range notes {
		evidence[i] = pitchEvidence(n)
	}
	without := withoutOwn(evidence)
	path := unwrapped(evidence, without)
	for i := range notes {
		judge(&notes[i], without[i], path[i])
	}
	references := make([]float64, len(notes))
	for i := range notes {
		references[i] = notes[i].ReferenceCents
	}
	slices.Sort(references)
	return references[len(references)/2]
}

func state(k int) float64 { return -0.5 + float64(k)*referenceStep }

// pitchEvidence is how well each reference explains a note; a doubtful note says little.
func pitchEvidence(n Note) circle {
	var c circle
	slip := 1 - (1-slipChance)*n.Confidence
	for k := range c {
		d := wrapped(n.Pitch - state(k))
		c[k] = (1-slip)*math.Exp(-0.5*d*d/(singerError*singerError)) + slip*0.3
	}
	return c
}

// wrapped is the distance to the nearest whole semitone, -0.5 to 0.5.
func wrapped(x float64) float64 { return x - math.Round(x) }

// withoutOwn gives for each note the reference as all the other notes tell it (forward-backward).
func withoutOwn(evidence []circle) []circle {
	n := len(evidence)
	walk := transitions()
	forward, backward := make([]circle, n), make([]circle, n)
	for k := range forward[0] {
		forward[0][k] = math.Exp(-0.5 * state(k) * state(k) / (firstReference * firstReference))
	}
	forward[0] = normalised(forward[0])
	for k := range backward[n-1] {
		backward[n-1][k] = 1
	}
	for i := 1; i < n; i++ {
		forward[i] = normalised(walked(times(forward[i-1], evidence[i-1]), walk))
	}
	for i := n - 2; i >= 0; i-- {
		backward[i] = normalised(walked(times(backward[i+1], evidence[i+1]), walk))
	}
	out := make([]circle, n)
	for i := range out {
		out[i] = normalised(times(forward[i], backward[i]))
	}
	return out
}

// transitions gives the chance of a walk by 0, 1, 2 ... states around the circle.
func transitions() circle {
	var w circle
	for k := range w {
		d := wrapped(float64(k) * referenceStep)
		w[k] = math.Exp(-0.5 * d * d / (referenceWalk * referenceWalk))
	}
	return normalised(w)
}

func walked(c, walk circle) circle {
	var out circle
	for i := range c {
		for j := range c {
			out[j] += c[i] * walk[(j-i+referenceStates)%referenceStates]
		}
	}
	return out
}

func times(a, b circle) circle {
	for k := range a {
		a[k] *= b[k]
	}
	return a
}

func normalised(c circle) circle {
	sum := 0.0
	for _, v := range c {
		sum += v
	}
	for k := range c {
		c[k] /= sum
	}
	return c
}

// unwrapped is the mean reference at each note with its own evidence, as a
// curve without jumps, in semitones; it starts within half a semitone of 0.
func unwrapped(evidence, without []circle) []float64 {
	out := make([]float64, len(evidence))
	last := 0.0
	for i := range out {
		var sum complex128
		for k, v := range times(without[i], evidence[i]) {
			sum += complex(v, 0) * cmplx.Rect(1, 2*math.Pi*state(k))
		}
		o := cmplx.Phase(sum) / (2 * math.Pi)
		last = o + math.Round(last-o)
		out[i] = last
	}
	return out
}

// judge decides one note against the reference of the others, near the unwrapped curve.
func judge(n *Note, without circle, reference float64) {
	nearest := int(math.Round(n.Pitch - reference))
	var chance [5]float64 // of nearest-2 .. nearest+2
	sum := 0.0
	for k, w := range without {
		g := reference + wrapped(state(k)-reference)
		for j := range chance {
			d := n.Pitch - g - float64(nearest+j-2)
			v := w * math.Exp(-0.5*d*d/(singerError*singerError))
			chance[j] += v
			sum += v
		}
	}
	best := 1
	for j := 1; j <= 3; j++ {
		if chance[j] > chance[best] {
			best = j
		}
	}
	n.Semitone = nearest + best - 2
	for j := range n.Chance {
		n.Chance[j] = (1-slipChance)*chance[best+j-1]/max(sum, 1e-300) + slipChance/3
	}
	three := n.Chance[0] + n.Chance[1] + n.Chance[2]
	for j := range n.Chance {
		n.Chance[j] /= three
	}
	n.ReferenceCents = 100 * reference
	n.CentreCents = 100*(n.Pitch-float64(n.Semitone)) - n.ReferenceCents
	n.Unclear = n.Chance[1] < unclearBelow || n.Offset-n.Onset < shortestClear || n.Confidence < leastExistence
	n.Confidence *= n.Chance[1]
}
