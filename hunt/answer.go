package hunt

import (
	"cmp"
	"math"
	"slices"

	"larkhand/match"
)

// answer is the phrase and the answer side by side, both in time order, with indices of its own.
type answer struct {
	sung   []sungNote
	played []playedNote
}

type sungNote struct {
	match.Sung
	index   int // in the caller's slice
	want    int // the key that answers it on the instrument
	partner int // the played note that answers it, or match.None
	unclear bool
	wrong   bool // the partner is another key than the wanted one
}

type playedNote struct {
	match.Played
	index    int // in the caller's slice
	key      int // nearest tempered pitch, MIDI number
	partner  int // the sung note that it answers, or match.None
	loudness float64
	kept     bool // a wrong key that stands for a note that was left out: reported elsewhere, no say here
	ignored  bool // ghost, slip, chord, second voice or next to an unclear note: no say here
}

// anchors says that the sung note can carry the time: it is clear and was answered.
func (s sungNote) anchors() bool { return s.partner != match.None && !s.unclear }

// extra says that the played note has no place in the phrase and may be evidence.
func (p playedNote) extra() bool { return p.partner == match.None && !p.kept && !p.ignored }

// matched says that the note stands for a note of the phrase.
func (p playedNote) matched() bool { return p.partner != match.None || p.kept }

// newAnswer copies what can be used: notes whose times and pitch are numbers, pairs that keep the order of time.
func newAnswer(sung []match.Sung, played []match.Played, a match.Alignment) answer {
	var ans answer
	for i, s := range sung {
		if usable(s.Onset) {
			ans.sung = append(ans.sung, sungNote{Sung: s, index: i, want: s.Semitone + a.Semitones(), partner: match.None, unclear: s.Unclear})
		}
	}
	for i, p := range played {
		if usable(p.Onset) && usable(p.Pitch) {
			if !usable(p.Offset) || p.Offset < p.Onset {
				p.Offset = p.Onset
			}
			ans.played = append(ans.played, playedNote{Played: p, index: i, key: int(math.Round(p.Pitch)), partner: match.None})
		}
	}
	slices.SortStableFunc(ans.sung, func(a, b sungNote) int { return cmp.Compare(a.Onset, b.Onset) })
	slices.SortStableFunc(ans.played, func(a, b playedNote) int { return cmp.Compare(a.Onset, b.Onset) })
	ans.join(a.Pairs)
	return ans
}

func usable(x float64) bool { return math.Abs(x) <= longestClock }

// join takes over the pairs of the alignment.
func (ans *answer) join(pairs []match.Pair) {
	sungAt := make(map[int]int, len(ans.sung))
	for i, s := range ans.sung {
		sungAt[s.index] = i
	}
	playedAt := make(map[int]int, len(ans.played))
	for i, p := range ans.played {
		playedAt[p.index] = i
	}
	for _, pair := range pairs {
		s, sok := sungAt[pair.Sung]
		p, pok := playedAt[pair.Played]
		if sok && pair.Verdict == match.Unclear {
			ans.sung[s].unclear = true
		}
		if sok && pok && ans.sung[s].partner == match.None && ans.played[p].partner == match.None {
			ans.pair(s, p)
			ans.sung[s].wrong = pair.Verdict == match.Different
		}
	}
	ans.dropCrossings()
	for i, s := range ans.sung {
		if s.partner != match.None && !s.wrong {
			ans.sung[i].want = ans.played[s.partner].key
		}
	}
}

func (ans *answer) pair(s, p int) {
	ans.sung[s].partner = p
	ans.played[p].partner = s
}

func (ans *answer) unpair(s int) {
	if p := ans.sung[s].partner; p != match.None {
		ans.played[p].partner = match.None
		ans.sung[s].partner = match.None
	}
}

// dropCrossings takes apart pairs that run against the order of time.
func (ans *answer) dropCrossings() {
	last := match.None
	for i, s := range ans.sung {
		if s.partner == match.None {
			continue
		}
		if s.partner <= last {
			ans.unpair(i)
			continue
		}
		last = s.partner
	}
}

// intervals lists the intervals between neighbouring anchors, in time order.
func (ans *answer) intervals() []interval {
	var list []interval
	from := match.None
	for i, s := range ans.sung {
		if !s.anchors() {
			continue
		}
		if from != match.None {
			if v := ans.interval(from, i); v.Sung > sameTime {
				list = append(list, v)
			}
		}
		from = i
	}
	return list
}

func (ans *answer) interval(from, to int) interval {
	a, b := ans.sung[from], ans.sung[to]
	return interval{from, to, match.Interval{Sung: b.Onset - a.Onset, Played: ans.played[b.partner].Onset - ans.played[a.partner].Onset}}
}

// around gives the nearest anchors (sung notes) before and after played note p, match.None where there is none.
func (ans *answer) around(p int) (before, after int) {
	before, after = match.None, match.None
	for i, s := range ans.sung {
		if !s.anchors() {
			continue
		}
		if s.partner < p {
			before = i
		} else if s.partner > p {
			return before, i
		}
	}
	return before, after
}

// nearUnclear says that played note p lies between answered notes of which one is unclear, or beside an unclear note
// that was not answered: the voice may have held what was played.
func (ans *answer) nearUnclear(p int) bool {
	from, to := 0, len(ans.sung)-1
	for i, s := range ans.sung {
		if s.partner == match.None {
			continue
		}
		if s.partner < p {
			from = i
		} else if s.partner > p {
			to = i
			break
		}
	}
	for i := from; i <= to; i++ {
		if ans.sung[i].unclear {
			return true
		}
	}
	return false
}
