package progress

import (
	"cmp"
	"math"
	"slices"
	"time"

	"larkhand/hunt"
	"larkhand/internal/stats"
)

// Least is how many rounds are needed before anything is claimed.
const Least = 30

// SessionGap is the time without a new round that ends a session. Own: longer than a meal's pause is rare inside a
// practice session, and two sessions a day lie further apart.
const SessionGap = 45 * time.Minute

// Share is a number of hits among trials with its 95 % interval (Wilson). Value is NaN without trials.
type Share struct {
	Hits, Trials     int
	Value, Low, High float64 // 0 to 1
}

func shareOf(hits, trials int) Share {
	s := Share{Hits: hits, Trials: trials, Value: math.NaN()}
	if trials > 0 {
		s.Value = float64(hits) / float64(trials)
	}
	s.Low, s.High = stats.Wilson(hits, trials)
	return s
}

// TakeQuality is what the takes of one kind, first or second, were like.
type TakeQuality struct {
	CentreCents stats.Spread // of the takes' median distance from the tempered pitch
	SpreadCents stats.Spread // of the takes' median unsteadiness
}

// Settling says whether the second take settles.
type Settling struct {
	SamePhrase        Share        // of the rounds with two takes, those in which both are one phrase
	CentreChangeCents stats.Spread // take 2 less take 1, where both are one phrase; negative is better centred
	SpreadChangeCents stats.Spread // the same for the spread; negative is steadier
}

// Summary is what a number of rounds were like.
type Summary struct {
	Rounds      int   // in which the player sang or played
	Answers     int   // in which the player played
	Known       Share // of the answers that were known or searched for, those that were known
	Unsure      int   // answers that cannot be told
	Pieces      int   // answers in pieces, which are none of these three
	FirstTouch  Share // of the clear notes, those played as sung at first touch
	Response    stats.Spread
	Takes       [2]TakeQuality
	Links       [len(LinkNames)]Share // of the rounds in which each of LinkNames was compared, those in which it failed
	LongestHeld int                   // notes of the longest phrase that held at least twice; 0 where none did
	WidestHeld  int                   // semitones of the widest leap in rounds that held, reached at least twice; 0 where none was
}

// Point is a stretch of time in a plot.
type Point struct {
	From, To time.Time // begin of its first and of its last round
	Summary
}

// Grain is how long the points of a plot are.
type Grain string

// The grains.
const (
	BySession Grain = "session"
	ByWeek    Grain = "week"
	ByMonth   Grain = "month"
)

// mostPoints is how many points a plot has at most before a coarser grain is taken. Own: more cannot be told apart on a
// screen.
const mostPoints = 120

// Progress is what a player's rounds show.
type Progress struct {
	From, To time.Time // begin of the first and of the last round; zero where there is none
	Sessions int
	Enough   bool // there are Least answers or more that were not in pieces, so that something can be claimed of them
	Summary
	Settling Settling
	Recent   Recent
	Grain    Grain
	Points   []Point
	Trends   []Trend
	Habits   []Habit
	Tables   []Table  // by degree, by interval, by key, by place
	Steps    int      // rounds in which the player wrote down numbers or letters
	Links    []Link   // between voice and fingers, in order: those that were compared
	Length   Mastered // phrase length, notes
	Leap     Mastered // largest leap, semitones
	Next     Proposal
	// Sentences say in plain words what can be said, the most important first.
	Sentences []string
}

// Recent is the state of the last rounds.
type Recent struct {
	Known Share
	// Response is the median of the last response times, s, with its 95 % interval by the bootstrap over sessions; NaN
	// below Least of them.
	Response, ResponseLow, ResponseHigh float64
}

// recentRounds is how many rounds the recent state looks at: twice what is needed to claim anything. Own.
const recentRounds = 2 * Least

// Of says what the rounds of one player show. They may come in any order.
func Of(rounds []Round) Progress {
	rounds = withoutRestarts(ordered(rounds))
	p := Progress{Summary: summarise(rounds)}
	if len(rounds) > 0 {
		p.From, p.To = rounds[0].At, rounds[len(rounds)-1].At
	}
	p.Enough = p.Answers-p.Pieces >= Least
	sessions := Sessions(rounds)
	p.Sessions = len(sessions)
	p.Settling = settling(rounds)
	answers := answered(rounds)
	p.Recent = recent(answers)
	p.Grain, p.Points = points(rounds, sessions)
	p.Trends = trends(p.Points)
	p.Habits = habits(answers)
	p.Tables = tables(answers)
	last := lastDecided(answers, masteredWindow)
	p.Length = mastered(last, func(r *Round) int { return len(r.Notes) })
	p.Leap = mastered(last, (*Round).largestStep)
	p.Links = links(rounds)
	for i := range answers {
		if answers[i].Links != nil {
			p.Steps++
		}
	}
	p.Next = propose(answers, p.Tables, p.Links)
	p.Sentences = p.sentences()
	return p
}

func ordered(rounds []Round) []Round {
	byTime := func(a, b Round) int { return a.At.Compare(b.At) }
	if slices.IsSortedFunc(rounds, byTime) {
		return rounds
	}
	rounds = slices.Clone(rounds)
	slices.SortStableFunc(rounds, byTime)
	return rounds
}

// withoutRestarts takes the restarts out of answers in pieces: going back is their way of being played. The rounds given are not changed.
func withoutRestarts(rounds []Round) []Round {
	inPieces := func(r Round) bool { return r.Pieces }
	if !slices.ContainsFunc(rounds, inPieces) {
		return rounds
	}
	rounds = slices.Clone(rounds)
	for i := range rounds {
		if r := &rounds[i]; r.Pieces {
			r.Notes = slices.Clone(r.Notes)
			for k := range r.Notes {
				r.Notes[k].Kinds &^= KindOf(hunt.Restart)
			}
		}
	}
	return rounds
}

// Sessions cuts rounds, in order of time, where none begins for SessionGap.
func Sessions(rounds []Round) [][]Round {
	return cut(rounds, func(a, b Round) bool { return b.At.Sub(a.At) > SessionGap })
}

// cut cuts between neighbours where apart says so.
func cut(rounds []Round, apart func(a, b Round) bool) [][]Round {
	var out [][]Round
	from := 0
	for i := 1; i <= len(rounds); i++ {
		if i == len(rounds) || apart(rounds[i-1], rounds[i]) {
			out = append(out, rounds[from:i])
			from = i
		}
	}
	return out
}

// points takes the finest grain that a plot can show.
func points(rounds []Round, sessions [][]Round) (Grain, []Point) {
	grain, groups := BySession, sessions
	if len(groups) > mostPoints {
		grain, groups = ByWeek, cut(rounds, func(a, b Round) bool {
			y1, w1 := a.At.ISOWeek()
			y2, w2 := b.At.ISOWeek()
			return y1 != y2 || w1 != w2
		})
	}
	if len(groups) > mostPoints {
		grain, groups = ByMonth, cut(rounds, func(a, b Round) bool {
			return a.At.Year() != b.At.Year() || a.At.Month() != b.At.Month()
		})
	}
	list := make([]Point, len(groups))
	for i, g := range groups {
		list[i] = Point{From: g[0].At, To: g[len(g)-1].At, Summary: summarise(g)}
	}
	return grain, list
}

// answered are the rounds that the player played; the same slice where all are.
func answered(rounds []Round) []Round {
	if !slices.ContainsFunc(rounds, func(r Round) bool { return !r.Played }) {
		return rounds
	}
	return slices.DeleteFunc(slices.Clone(rounds), func(r Round) bool { return !r.Played })
}

// lastDecided are the last rounds, count at most, that held or did not.
func lastDecided(answers []Round, count int) []*Round {
	var out []*Round
	for i := len(answers) - 1; i >= 0 && len(out) < count; i-- {
		if answers[i].outcome() != open {
			out = append(out, &answers[i])
		}
	}
	return out
}

// summarise goes through the rounds once.
func summarise(rounds []Round) Summary {
	s := Summary{Rounds: len(rounds), Links: linkShares(rounds)}
	var known, searched, touched, notes int
	response := make([]float64, 0, len(rounds))
	var lengths, leaps best
	for i := range rounds {
		r := &rounds[i]
		if !r.Played {
			continue
		}
		s.Answers++
		switch {
		case r.Pieces:
			s.Pieces++
		case r.Label == hunt.Known:
			known++
		case r.Label == hunt.Searched:
			searched++
		default:
			s.Unsure++
		}
		for k := range r.Notes {
			if r.Notes[k].counts() {
				notes++
			}
			if r.Notes[k].firstTouch() {
				touched++
			}
		}
		if r.timed() {
			response = append(response, r.Response)
		}
		if r.outcome() == held {
			lengths.add(len(r.Notes))
			leaps.add(r.largestStep())
		}
	}
	s.Known, s.FirstTouch = shareOf(known, known+searched), shareOf(touched, notes)
	s.Response = stats.Quartiles(response)
	s.LongestHeld, s.WidestHeld = lengths.second, leaps.second
	for i := range s.Takes {
		s.Takes[i] = TakeQuality{
			CentreCents: quartilesOf(rounds, func(r *Round) float64 { return r.Takes[i].CentreCents }),
			SpreadCents: quartilesOf(rounds, func(r *Round) float64 { return r.Takes[i].SpreadCents }),
		}
	}
	return s
}

func linkShares(rounds []Round) (shares [len(LinkNames)]Share) {
	var failed, compared [len(LinkNames)]int
	for i := range rounds {
		for k := range rounds[i].Links {
			if l := &rounds[i].Links[k]; rounds[i].counted(l) && l.index() >= 0 {
				compared[l.index()]++
				if l.Failed {
					failed[l.index()]++
				}
			}
		}
	}
	for i := range shares {
		shares[i] = shareOf(failed[i], compared[i])
	}
	return shares
}

// best keeps the two largest of some numbers.
type best struct{ first, second int }

func (b *best) add(n int) {
	b.first, b.second = max(b.first, n), max(b.second, min(b.first, n))
}

// quartilesOf are those of a quantity of the rounds that the player sang, where it is known.
func quartilesOf(rounds []Round, quantity func(*Round) float64) stats.Spread {
	values := make([]float64, 0, len(rounds))
	for i := range rounds {
		if v := quantity(&rounds[i]); rounds[i].Sang && !math.IsNaN(v) {
			values = append(values, v)
		}
	}
	return stats.Quartiles(values)
}

func settling(rounds []Round) Settling {
	var same, two int
	for _, r := range rounds {
		if !r.Sang || r.Agreement == OneTake {
			continue
		}
		two++
		if r.Agreement == SamePhrase {
			same++
		}
	}
	change := func(quantity func(Centring) float64) stats.Spread {
		return quartilesOf(rounds, func(r *Round) float64 {
			if r.Agreement != SamePhrase {
				return math.NaN()
			}
			return quantity(r.Takes[1]) - quantity(r.Takes[0])
		})
	}
	return Settling{
		SamePhrase:        shareOf(same, two),
		CentreChangeCents: change(func(c Centring) float64 { return c.CentreCents }),
		SpreadChangeCents: change(func(c Centring) float64 { return c.SpreadCents }),
	}
}

// Draws of the bootstrap, and its fixed seed, so that the same rounds give the same interval.
const (
	bootstrapDraws = 1000
	bootstrapSeed  = 1
)

func recent(answers []Round) Recent {
	last := answers[max(0, len(answers)-recentRounds):]
	out := Recent{Known: summarise(last).Known, Response: math.NaN(), ResponseLow: math.NaN(), ResponseHigh: math.NaN()}
	var all []float64
	var clusters [][]float64
	for _, session := range Sessions(last) {
		var times []float64
		for _, r := range session {
			if r.timed() {
				times = append(times, r.Response)
			}
		}
		if len(times) > 0 {
			clusters = append(clusters, times)
			all = append(all, times...)
		}
	}
	if len(all) < Least {
		return out
	}
	out.Response = stats.Median(all)
	out.ResponseLow, out.ResponseHigh = stats.Bootstrap(clusters, stats.Median, bootstrapDraws, bootstrapSeed)
	return out
}

// Habit is how often a kind of evidence stands in the player's answers.
type Habit struct {
	Kind  hunt.Kind
	Share Share // of the answers
	Named bool  // it stands in so many that it can be called a habit
}

// habitFrom is the share of answers, at the lower end of its interval, from which a kind of evidence is a habit. Own: one
// answer in five is heard at every sitting.
const habitFrom = 0.2

// habits lists the kinds, the most frequent first.
func habits(answers []Round) []Habit {
	var counts [len(AllKinds)]int
	pieces := 0
	for _, r := range answers {
		var in Kinds
		if r.Pieces {
			pieces++
		}
		for _, n := range r.Notes {
			in |= n.Kinds
		}
		for i, k := range AllKinds {
			if in.Has(k) {
				counts[i]++
			}
		}
	}
	list := make([]Habit, len(AllKinds))
	for i, k := range AllKinds {
		of := len(answers)
		if k == hunt.Restart {
			of -= pieces
		}
		s := shareOf(counts[i], of)
		list[i] = Habit{Kind: k, Share: s, Named: of >= Least && s.Low >= habitFrom}
	}
	slices.SortStableFunc(list, func(a, b Habit) int { return cmp.Compare(b.Share.Hits, a.Share.Hits) })
	return list
}

// Mastered is the largest size at which rounds hold.
type Mastered struct {
	Size  int   // 0 where none can be claimed
	Share Share // of the rounds of that size or more that held
}

// masteredFrom is the lower end of the share's interval from which a size is mastered: the level at which a staircase of
// two successes in a row settles (Levitt 1971), 0.5^(1/2). masteredWindow is how many rounds back it looks. Own.
const (
	masteredFrom   = math.Sqrt2 / 2
	masteredWindow = 4 * Least
)

// mastered looks for the largest size such that enough of the last rounds of it or more held.
func mastered(last []*Round, size func(*Round) int) Mastered {
	sizes := make([]int, len(last))
	for i, r := range last {
		sizes[i] = size(r)
	}
	for _, s := range slices.Backward(slices.Compact(slices.Sorted(slices.Values(sizes)))) {
		var hits, trials int
		for i, r := range last {
			if sizes[i] < s {
				continue
			}
			trials++
			if r.outcome() == held {
				hits++
			}
		}
		if share := shareOf(hits, trials); trials >= Least && share.Low >= masteredFrom && s > 0 {
			return Mastered{s, share}
		}
	}
	return Mastered{Share: shareOf(0, 0)}
}
