package music

import "math"

// keyProfiles say how well each semitone above the tonic fits into a major and a minor key: mean ratings of probe tones on a
// scale from 1 to 7, Krumhansl and Kessler, Psychological Review 89, 1982, and Krumhansl, Cognitive Foundations of Musical Pitch, 1990.
// The values are from memory; several published programs that cite the same sources have the same ones.
var keyProfiles = map[scale][semitones]float64{
	scaleMajor: {6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88},
	scaleMinor: {6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17},
}

// GuessKey estimates the key of a phrase among the 24 major and minor keys from its pitches (MIDI note numbers; fractions allowed) and their
// weights (durations in s, or anything proportional; nil weighs all alike). It is the key-finding algorithm of Krumhansl and Schmuckler
// (Krumhansl 1990, chapter 4): the correlation of the weight on each pitch class with the profile of each key. Own
// addition: a pitch between two semitones shares its weight between them in proportion.
//
// The confidence is the best correlation less the next best, 0 to 1 (own measure): near 0 the key is a toss-up. Without
// usable notes, or with all pitch classes equally heavy, the key is C major and the confidence 0. Pitches that are not finite and weights
// that are not finite and positive are left out. Slices of different lengths panic.
func GuessKey(pitches, weights []float64) (key Key, confidence float64) {
	if weights != nil && len(weights) != len(pitches) {
		panic("music: GuessKey needs one weight for each pitch, or none at all")
	}
	heard := classWeights(pitches, weights)
	best, next := 0.0, 0.0
	for class := range semitones {
		for _, sc := range []scale{scaleMajor, scaleMinor} {
			r := correlation(rotated(heard, class), keyProfiles[sc])
			switch {
			case r > best:
				best, next, key = r, best, usualKey(class, sc)
			case r > next:
				next = r
			}
		}
	}
	return key, best - next
}

// classWeights adds up the weight on each pitch class.
func classWeights(pitches, weights []float64) (heard [semitones]float64) {
	for i, p := range pitches {
		w := 1.0
		if weights != nil {
			w = weights[i]
		}
		if math.IsNaN(p) || math.IsInf(p, 0) || !(w > 0) || math.IsInf(w, 1) {
			continue
		}
		p = math.Mod(math.Mod(p, semitones)+semitones, semitones)
		below, share := math.Modf(p)
		heard[int(below)%semitones] += w * (1 - share)
		heard[(int(below)+1)%semitones] += w * share
	}
	return heard
}

// rotated puts the weight of the tonic's pitch class first.
func rotated(heard [semitones]float64, tonic int) (out [semitones]float64) {
	for i := range out {
		out[i] = heard[(i+tonic)%semitones]
	}
	return out
}

// correlation is Pearson's r, and 0 where one side does not vary.
func correlation(a, b [semitones]float64) float64 {
	var meanA, meanB float64
	for i := range a {
		meanA += a[i] / semitones
		meanB += b[i] / semitones
	}
	var ab, aa, bb float64
	for i := range a {
		da, db := a[i]-meanA, b[i]-meanB
		ab, aa, bb = ab+da*db, aa+da*da, bb+db*db
	}
	if !(aa > 0) || !(bb > 0) || math.IsInf(aa, 1) {
		return 0
	}
	return ab / math.Sqrt(aa*bb)
}
