package match

import "math"

// The priors. "Own" means chosen by reasoning and held to the rates that the simulator in simulate_test.go prints.
const (
	// wrongRate is the prior probability that a sung note is answered by another pitch. Prepared pieces have 1 to 4 %
	// wrong notes in all (common practice, no source); someone who works a phrase out by ear makes more. Own.
	wrongRate = 0.05
	// leftOutRate is the prior probability that a sung note is left out. In 1,100 performances of one piano piece 59
	// of 163 errors were missing notes and 97 extra ones (measured on Tominaga et al. 2022, Sci. Rep. 12:21296). Own.
	leftOutRate = 0.03
	// addedRate is the prior probability of an added note per note, and addedPitches the number of pitches over which
	// it spreads evenly, two octaves. Own.
	addedRate    = 0.05
	addedPitches = 24

	// Where a wrong key lies: 76 % of them within two semitones of the right one (measured on Tominaga et al. 2022),
	// the rest within the octave; farShare is what each pitch beyond keeps.
	wrongByOne   = 0.22 // share of each of +1, -1
	wrongByTwo   = 0.16 // share of each of +2, -2
	wrongByMore  = 0.24 / 20
	farShare     = 0.002
	octaveReach  = 12 // semitones
	kernelReach  = 2 * octaveReach
	tableEntries = 2*kernelReach + 1

	// slipRate is the probability that the voice's three Chances miss the meant pitch altogether. 0.4 of 100 sung notes
	// were found an octave off and 2.9 more than 50 cents off (measured on 121 sight-singing clips). An unclear note
	// may have been anything: unclearSlipRate, own.
	slipRate        = 0.03
	unclearSlipRate = 0.3
	octaveSlipShare = 0.125 // share of the slips that are one octave up, and that are one octave down; 0.4/2.9 in all

	// Existence is never taken as certain either way; an unclear note counts at most even as a note of its own. Own.
	leastExistence   = 0.05
	mostExistence    = 0.98
	unclearExistence = 0.6
)

// source is a sung note made ready: cleaned of impossible numbers, with the table of what may answer it.
type source struct {
	onset, offset float64
	pitch         float64 // MIDI number on the take's own tuning
	semitone      int
	chance        [3]float64 // sums to 1
	existence     float64    // probability that it is one note of its own
	unclear       bool

	table    [tableEntries]float64 // P(answered by semitone+d | answered), d = index - kernelReach
	logTable [tableEntries]float64
	matched  float64 // log P(there is a note and it is answered)
	left     float64 // log P(no answer)
}

// target is what may answer a source: a played note, or a note of another take.
type target struct {
	onset   float64
	pitch   float64
	base    int        // lowest of the three semitones that it may be
	weight  [3]float64 // of base, base+1 and base+2
	floor   float64    // probability of meeting any source regardless of pitch
	matched float64    // log weight of being joined
	extra   float64    // log P(nothing sung belongs to it)
}

// certain reports whether the target is exactly one semitone, its base.
func (t *target) certain() bool { return t.weight[0] == 1 && t.floor == 0 }

// playKernel returns the probability, per semitone, that a note meant as 0 is played d semitones higher.
func playKernel(d int) float64 {
	switch d = max(d, -d); {
	case d == 0:
		return 1 - wrongRate
	case d == 1:
		return wrongRate * wrongByOne
	case d == 2:
		return wrongRate * wrongByTwo
	case d <= octaveReach:
		return wrongRate * wrongByMore
	default:
		return wrongRate * farShare
	}
}

// meant returns the probability that s was meant d semitones above its Semitone.
func (s *source) meant(d int) float64 {
	slip := slipRate
	if s.unclear {
		slip = unclearSlipRate
	}
	p := 0.0
	if d >= -1 && d <= 1 {
		p = (1 - slip) * s.chance[d+1]
	}
	switch {
	case d == octaveReach || d == -octaveReach:
		p += slip * octaveSlipShare
	case d > -octaveReach && d < octaveReach:
		p += slip * (1 - 2*octaveSlipShare) / (2*octaveReach - 1)
	}
	return p
}

// prepare fills the tables of s from its chances: sum over k of P(meant k) * P(played d | meant k).
func (s *source) prepare() {
	var meant [2*octaveReach + 1]float64
	for k := range meant {
		meant[k] = s.meant(k - octaveReach)
	}
	for i := range s.table {
		p := 0.0
		for k, m := range meant {
			p += m * playKernel(i-kernelReach-(k-octaveReach))
		}
		s.table[i], s.logTable[i] = p, math.Log(p)
	}
	exists := math.Min(math.Max(s.existence, leastExistence), mostExistence)
	if s.unclear {
		exists = math.Min(exists, unclearExistence)
	}
	s.matched = math.Log(exists * (1 - leftOutRate))
	s.left = math.Log(exists*leftOutRate + 1 - exists)
}

// tableIndex returns the index of d in a table; what lies beyond counts as its edge.
func tableIndex(d int) int { return min(max(d, -kernelReach), kernelReach) + kernelReach }

// fit returns the log-probability that t, taken down by shift semitones, answers s.
func fit(s *source, t *target, shift int) float64 {
	d := t.base - shift - s.semitone
	if t.certain() {
		return s.matched + t.matched + s.logTable[tableIndex(d)]
	}
	p := t.floor
	for c, w := range t.weight {
		p += w * s.table[tableIndex(d+c)]
	}
	return s.matched + t.matched + math.Log(p)
}

// chanceOf returns the probability under the voice's Chances that s was meant as t taken down by shift semitones.
func chanceOf(s *source, t *target, shift int) float64 {
	p := 0.0
	for c, w := range t.weight {
		if d := t.base + c - shift - s.semitone; d >= -1 && d <= 1 {
			p += w * s.chance[d+1]
		}
	}
	return p
}
