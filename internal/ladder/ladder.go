package ladder

import (
	"fmt"
	"math"
)

// Try is one round, as far as the ladder needs it. Rounds whose answer was unsure, or whose voice was unclear, have no say and
// should be left out.
type Try struct {
	Size  Size
	Known bool // the answer was known, and every note as sung
}

// Direction is where a proposal lies from the rung before it.
type Direction string

// The directions.
const (
	First Direction = "first"
	Up    Direction = "up"
	Stay  Direction = "stay"
	Down  Direction = "down"
)

// Proposal is the size of the next phrase.
type Proposal struct {
	Rung      int // index of Rungs
	Direction Direction
	Chance    float64 // that the answer will be known, 0 to 1
	Reason    string  // one sentence or two
}

// The aim, and the model of a player.
const (
	Aim       = 0.85 // share of answers that should be known; the package comment says how soft that is
	spread    = 0.9  // of the logistic curve: difficulty over which the odds change by e. Own
	drift     = 0.15 // standard deviation of the change of ability from round to round. Own
	lapse     = 0.02 // share of answers that fail or hold whatever the difficulty. Own
	startMean = 3.0  // ability before any round. Own: a wide guess around the middle rungs
	startWide = 3.0
	lowest    = -4.0 // of the grid
	highest   = 16.0
	step      = 0.1
)

// Ladder is what is known of one player. The zero value is not ready: use New.
type Ladder struct {
	weights Weights
	curves  [][]float64 // for each rung the chance at each ability of the grid
	belief  []float64   // over the grid of abilities; sums to 1
	rung    int         // proposed last
	top     int         // the highest rung that was tried and known, -1 without any
	tries   int
	last    []bool // the outcomes at this rung, newest last
	left    []bool // those at the rung before the last move
}

// New makes the ladder of a player without rounds.
func New(w Weights) *Ladder {
	l := &Ladder{weights: w, top: -1}
	for i := range int(math.Round((highest-lowest)/step)) + 1 {
		z := (ability(i) - startMean) / startWide
		l.belief = append(l.belief, math.Exp(-z*z/2))
	}
	normalise(l.belief)
	for _, r := range Rungs {
		l.curves = append(l.curves, l.curve(r.Size))
	}
	return l
}

// curve is the chance of a size at each ability of the grid.
func (l *Ladder) curve(s Size) []float64 {
	d, out := l.weights.Difficulty(s), make([]float64, len(l.belief))
	for i := range out {
		out[i] = chance(ability(i), d)
	}
	return out
}

// expect is the mean of a curve over the belief.
func (l *Ladder) expect(curve []float64) float64 {
	sum := 0.0
	for i, b := range l.belief {
		sum += b * curve[i]
	}
	return sum
}

// Of makes the ladder of a player with rounds, oldest first; the weights are those that Fit finds.
func Of(tries []Try) *Ladder {
	l := New(Fit(tries))
	for _, t := range tries {
		l.Add(t)
	}
	return l
}

func ability(i int) float64 { return lowest + step*float64(i) }

// chance that an answer of a difficulty is known to a player of an ability.
func chance(ability, difficulty float64) float64 {
	return lapse + (1-2*lapse)/(1+math.Exp((difficulty-ability)/spread))
}

// Add takes one more round, and moves the proposal where it has to move.
func (l *Ladder) Add(t Try) {
	l.blur()
	d := l.weights.Difficulty(t.Size)
	for i := range l.belief {
		p := chance(ability(i), d)
		if !t.Known {
			p = 1 - p
		}
		l.belief[i] *= p
	}
	normalise(l.belief)
	l.tries++
	l.last = append(l.last, t.Known)
	if t.Known {
		l.top = max(l.top, l.rungOf(d))
	}
	l.move(t.Known)
}

// blur lets the ability drift between rounds.
func (l *Ladder) blur() {
	const reach = 5 // grid steps; more than three standard deviations
	var kernel [2*reach + 1]float64
	for k := range kernel {
		z := step * float64(k-reach) / drift
		kernel[k] = math.Exp(-z * z / 2)
	}
	out := make([]float64, len(l.belief))
	for i, b := range l.belief {
		for k, weight := range kernel {
			out[max(0, min(len(out)-1, i+k-reach))] += b * weight
		}
	}
	normalise(out)
	l.belief = out
}

func normalise(p []float64) {
	sum := 0.0
	for _, v := range p {
		sum += v
	}
	for i := range p {
		p[i] /= sum
	}
}

// Chance is the chance that an answer to a phrase of a size will be known, 0 to 1.
func (l *Ladder) Chance(s Size) float64 {
	return l.expect(l.curve(s))
}

// rungOf is the rung whose difficulty is nearest: who is asked for three notes sings them a little slower or closer together than the rung
// has them, and has tried it all the same.
func (l *Ladder) rungOf(difficulty float64) int {
	best, least := 0, math.Inf(1)
	for i, r := range Rungs {
		if miss := math.Abs(l.weights.Difficulty(r.Size) - difficulty); miss < least {
			best, least = i, miss
		}
	}
	return best
}

// wanted is the rung whose chance lies nearest to the aim.
func (l *Ladder) wanted() int {
	best, least := 0, math.Inf(1)
	for i := range Rungs {
		if miss := math.Abs(l.expect(l.curves[i]) - Aim); miss < least {
			best, least = i, miss
		}
	}
	return best
}

// move takes the proposal one rung towards the wanted one.
func (l *Ladder) move(known bool) {
	want := min(l.wanted(), l.top+1)
	switch {
	case known && want > l.rung && l.rung+1 < len(Rungs):
		l.rung++
		l.left, l.last = l.last, nil
	case !known && want < l.rung:
		l.rung--
		l.left, l.last = l.last, nil
	}
}

// Overrule sets the rung that the player wants; the ladder goes on from there.
func (l *Ladder) Overrule(rung int) {
	l.rung = max(0, min(len(Rungs)-1, rung))
	l.top = max(l.top, l.rung-1)
	l.last = nil
}

// Refit weighs the parts of difficulty anew by all the rounds that were added, oldest first. What is proposed stays.
func (l *Ladder) Refit(tries []Try) {
	fitted := Of(tries)
	fitted.rung, fitted.top, fitted.last, fitted.left = l.rung, max(fitted.top, l.top), l.last, l.left
	*l = *fitted
}

// Rung is the rung that is proposed now, an index of Rungs.
func (l *Ladder) Rung() int { return l.rung }

// Propose says what to sing next, before the next round.
func (l *Ladder) Propose(before int) Proposal {
	p := Proposal{Rung: l.rung, Chance: l.expect(l.curves[l.rung])}
	name := Rungs[l.rung].Name
	switch {
	case l.tries == 0:
		p.Direction = First
		p.Reason = fmt.Sprintf("Begin small: %s. It grows as soon as you know what you play.", name)
	case l.rung > before:
		p.Direction = Up
		p.Reason = fmt.Sprintf("That size holds, %s, so one step up: %s.", shareKnown(l.left), name)
	case l.rung < before:
		p.Direction = Down
		p.Reason = fmt.Sprintf("Not often enough, %s since the last step, so one step down: %s.", shareKnown(l.left), name)
	default:
		p.Direction = Stay
		p.Reason = l.stay(name)
	}
	return p
}

// stay is the reason for the same size again.
func (l *Ladder) stay(name string) string {
	if len(l.last) == 0 {
		return fmt.Sprintf("The same size again: %s.", name)
	}
	return fmt.Sprintf("The same size again, %s: %s since it was proposed, and about %.0f in 100 is the aim.", name, shareKnown(l.last), 100*Aim)
}

// shareKnown counts outcomes.
func shareKnown(outcomes []bool) string {
	known := 0
	for _, k := range outcomes {
		if k {
			known++
		}
	}
	if len(outcomes) == 1 {
		return fmt.Sprintf("%d of 1 answer known", known)
	}
	return fmt.Sprintf("%d of %d answers known", known, len(outcomes))
}
