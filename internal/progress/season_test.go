package progress

import (
	"math"
	"math/rand/v2"
	"time"

	"larkhand/hunt"
	"larkhand/match"
)

// player is an invented player of a generated season.
type player struct {
	// stumble is the probability of trouble at a note, and its kind; the season's day counts from 0.
	stumble func(n Note, place, length int, key string, day int) (p float64, kind hunt.Kind)
	length  func(day int) int     // of the phrase
	respond func(day int) float64 // median response time, s
	settle  float64               // factor from take 1 to take 2 for centre and spread
}

// steady is a player without habits: 2 % of the notes are corrected, whatever they are.
func steady() player {
	return player{
		stumble: func(Note, int, int, string, int) (float64, hunt.Kind) { return 0.02, hunt.Correction },
		length:  func(int) int { return 6 },
		respond: func(int) float64 { return 2 },
		settle:  0.8,
	}
}

var seasonKeys = []string{"C minor", "F minor", "Ab major", "D dorian"}
var seasonDegrees = []string{"1", "2", "3", "4", "5", "6", "7"}

// plainSteps are the intervals that the phrases of a season are made of, seconds and thirds more often than leaps.
var plainSteps = []int{1, 2, -1, -2, 2, -2, 3, -3, 4, -4, 5, -5, 7, -7, 9}

var seasonStart = time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC)

// season is sessions of rounds each, a session every other day.
func (pl player) season(seed uint64, sessions, rounds int) []Round {
	rng := rand.New(rand.NewPCG(seed, 5))
	var out []Round
	for s := range sessions {
		for i := range rounds {
			at := seasonStart.AddDate(0, 0, 2*s).Add(time.Duration(i) * 90 * time.Second)
			out = append(out, pl.round(rng, at, s))
		}
	}
	return out
}

func (pl player) round(rng *rand.Rand, at time.Time, day int) Round {
	r := Round{
		At: at, Sang: true, Played: true, Key: seasonKeys[rng.IntN(len(seasonKeys))], Tempo: 96, Label: hunt.Known,
		Response: pl.respond(day) * math.Exp(0.3*rng.NormFloat64()), Agreement: SamePhrase,
	}
	r.Takes[0] = Centring{12 * math.Exp(0.3*rng.NormFloat64()), 20 * math.Exp(0.3*rng.NormFloat64())}
	r.Takes[1] = Centring{r.Takes[0].CentreCents * pl.settle, r.Takes[0].SpreadCents * pl.settle}
	length := pl.length(day)
	for i := range length {
		n := Note{Degree: seasonDegrees[rng.IntN(len(seasonDegrees))], Step: NoStep, Verdict: match.Same}
		if i > 0 {
			n.Step = plainSteps[rng.IntN(len(plainSteps))]
		}
		if p, kind := pl.stumble(n, i, length, r.Key, day); rng.Float64() < p {
			n.Kinds, r.Label = KindOf(kind), hunt.Searched
		}
		r.Notes = append(r.Notes, n)
	}
	return r
}
