package hunt_test

import (
	"larkhand/hunt"
	"larkhand/match"
)

// line makes a sung phrase out of keys, evenly spaced by ioi seconds, each note 90 % of its interval long.
func line(ioi float64, keys ...int) []match.Sung {
	var sung []match.Sung
	for i, key := range keys {
		onset := 1 + ioi*float64(i)
		sung = append(sung, match.Sung{
			Onset: onset, Offset: onset + 0.9*ioi, Pitch: float64(key), Semitone: key,
			Chance: [3]float64{0.02, 0.96, 0.02}, Confidence: 0.95,
		})
	}
	return sung
}

// unclear marks one sung note as unclear.
func unclear(sung []match.Sung, i int) []match.Sung {
	sung[i].Unclear = true
	return sung
}

// stroke is one played note of a hand-made answer.
type stroke struct {
	at, long float64 // s
	key      int
	velocity int
}

func answerOf(strokes ...stroke) []match.Played {
	var played []match.Played
	for _, s := range strokes {
		played = append(played, match.Played{Onset: s.at, Offset: s.at + s.long, Pitch: float64(s.key), Velocity: s.velocity})
	}
	return played
}

// byEditDistance aligns keys (after octaves) by the plain edit distance, a substitution costing as much as an extra or
// a missing note; among equal alignments the later match wins.
func byEditDistance(sung []match.Sung, played []match.Played, octaves int) match.Alignment {
	n, m := len(sung), len(played)
	cost := make([][]int, n+1)
	for i := range cost {
		cost[i] = make([]int, m+1)
		for j := range cost[i] {
			switch {
			case i == 0:
				cost[i][j] = j
			case j == 0:
				cost[i][j] = i
			default:
				cost[i][j] = min(cost[i-1][j-1]+differs(sung[i-1], played[j-1], octaves), cost[i-1][j]+1, cost[i][j-1]+1)
			}
		}
	}
	a := match.Alignment{Octaves: octaves, TempoRatio: 1}
	for i, j := n, m; i > 0 || j > 0; {
		switch {
		case i > 0 && j > 0 && cost[i][j] == cost[i-1][j-1]+differs(sung[i-1], played[j-1], octaves):
			i, j = i-1, j-1
			verdict := match.Same
			if sung[i].Unclear {
				verdict = match.Unclear
			} else if differs(sung[i], played[j], octaves) == 1 {
				verdict = match.Different
			}
			a.Pairs = append(a.Pairs, match.Pair{Sung: i, Played: j, Verdict: verdict})
		case j > 0 && cost[i][j] == cost[i][j-1]+1:
			j--
			a.Pairs = append(a.Pairs, match.Pair{Sung: match.None, Played: j, Verdict: match.Added})
		default:
			i--
			verdict := match.LeftOut
			if sung[i].Unclear {
				verdict = match.Unclear
			}
			a.Pairs = append(a.Pairs, match.Pair{Sung: i, Played: match.None, Verdict: verdict})
		}
	}
	for i, j := 0, len(a.Pairs)-1; i < j; i, j = i+1, j-1 {
		a.Pairs[i], a.Pairs[j] = a.Pairs[j], a.Pairs[i]
	}
	return a
}

func differs(s match.Sung, p match.Played, octaves int) int {
	if s.Unclear || s.Semitone+12*octaves == int(p.Pitch+0.5) {
		return 0
	}
	return 1
}

func find(sung []match.Sung, played []match.Played) hunt.Finding {
	return hunt.Find(sung, played, byEditDistance(sung, played, 0), hunt.Options{})
}
