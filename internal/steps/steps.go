package steps

import (
	"math"

	"larkhand/hunt"
	"larkhand/internal/entry"
	"larkhand/internal/music"
	"larkhand/match"
)

// Stage is a form that the phrase takes on its way.
type Stage int

// The stages, in order.
const (
	Sung Stage = iota
	Numbers
	Letters
	Played
)

// Name is one of the four links.
type Name string

// The links.
const (
	Voice   Name = "voice"
	Ear     Name = "ear to numbers"
	Names   Name = "numbers to letters"
	Fingers Name = "letters to fingers"
)

// Entries is what the player wrote down between singing and playing.
type Entries struct {
	Numbers, Letters []entry.Note // nil where the step was left out
}

// Mistake is one difference that a link is blamed for.
type Mistake struct {
	Place  int // index of the note of the phrase; None for one too many
	Wanted int // pitch class that the stage before has there; Nothing for one too many
	Given  int // pitch class that this stage has; Nothing where it is missing
}

// Nothing stands for a pitch class where there is no note.
const Nothing = -2

// Link is what became of one link.
type Link struct {
	Name     Name
	From, To Stage
	Compared int       // notes that could be compared
	Mistakes []Mistake // in order
	Shift    int       // semitones, -5 to +6, by which To lies off From throughout; 0 is none. Mistakes are counted after it
	Searched bool      // of Fingers: the answer was searched for
	Failed   bool
}

// Input is one judged round, as far as the steps need it. Lists of sung notes are those of package match.
type Input struct {
	Key       music.Key
	Numbering music.Numbering
	Takes     [][]match.Sung   // one or two, as sung; the last one is what Phrase was made of
	Agreement *match.Agreement // of two takes; nil with one
	Phrase    []match.Sung     // what was sung, after both takes had their say
	Played    []match.Played   // the answer
	Alignment match.Alignment  // of Phrase and Played
	Finding   hunt.Finding
	Hunt      hunt.Options // that Finding was made with
}

// Result is a whole round, link by link.
type Result struct {
	// Finding says whether the answer was searched for, measured by what the player had in mind: the last step that was
	// written down. Where that is the phrase as sung it is the round's own.
	Finding hunt.Finding
	Links   []Link // Voice first; links of stages that were left out are joined
	Weak    []Name // those that failed, in order
	// Sentences say in plain words which link is weak and by what it shows, or that none is.
	Sentences []string
}

// Judge finds the weak links of a round.
func Judge(in Input, e Entries) Result {
	j := newJudge(in, e)
	var links []Link
	links = append(links, j.voice())
	stages := j.stages()
	for i := 1; i < len(stages); i++ {
		links = append(links, j.link(stages[i-1], stages[i]))
	}
	j.forgiveMoved(links)
	res := Result{Links: links, Finding: j.finding}
	for i := range links {
		l := &links[i]
		l.Failed = l.Failed || len(l.Mistakes) > 0 || l.Shift != 0 || l.Searched
		if l.Failed {
			res.Weak = append(res.Weak, l.Name)
		}
	}
	res.Sentences = res.sentences(in)
	return res
}

// note is one note of the phrase, as far as the steps need it.
type note struct {
	classes []int // pitch classes that count as right; the first is the likeliest
	sure    bool  // the voice decides: a difference is a mistake
	present bool  // that it is a note of its own is so sure that leaving it out is a mistake
}

// judge holds one round while it is judged.
type judge struct {
	in      Input
	finding hunt.Finding
	phrase  []note
	lists   [Played + 1][]int // the pitch classes of each stage; nil where it was left out
	spot    [Played + 1][]int // for each note of a stage the place in the phrase, or None
}

// Limits of what a difference may be blamed on.
const (
	possible    = 0.1 // chance from which a neighbouring pitch may have been meant too. Own
	sureNote    = 0.8 // confidence from which a difference in pitch is a mistake. Own
	presentNote = 0.9 // confidence from which a note left out is a mistake. Own
)

const semitones = 12

func class(midi int) int { return ((midi % semitones) + semitones) % semitones }

func agree(a, b int) bool { return a == b || a == entry.Unheard || b == entry.Unheard }

func newJudge(in Input, e Entries) *judge {
	j := &judge{in: in, finding: in.Finding}
	for i, s := range in.Phrase {
		n := note{sure: !s.Unclear && s.Confidence >= sureNote, present: !s.Unclear && s.Confidence >= presentNote}
		middle := s.Semitone + in.Alignment.TuningShift
		n.classes = []int{class(middle)}
		for k, chance := range s.Chance {
			if k != 1 && chance >= possible {
				n.classes = append(n.classes, class(middle+k-1))
			}
		}
		like := func(k int) bool {
			return k >= 0 && k < len(in.Phrase) && class(in.Phrase[k].Semitone) == class(s.Semitone)
		}
		if like(i-1) || like(i+1) {
			n.present = false // one note may have been split in two
		}
		j.phrase = append(j.phrase, n)
	}
	j.lists[Sung] = make([]int, len(j.phrase))
	for i, n := range j.phrase {
		j.lists[Sung][i] = n.classes[0]
	}
	if e.Numbers != nil {
		j.lists[Numbers] = entry.Classes(e.Numbers)
	}
	if e.Letters != nil {
		j.lists[Letters] = entry.Classes(e.Letters)
	}
	for _, n := range in.Played {
		j.lists[Played] = append(j.lists[Played], class(int(math.Round(n.Pitch))))
	}
	return j
}

// stages are those that there are.
func (j *judge) stages() []Stage {
	list := []Stage{Sung}
	for s := Numbers; s <= Letters; s++ {
		if j.lists[s] != nil {
			list = append(list, s)
		}
	}
	return append(list, Played)
}

// voice compares the takes, and marks the notes in which they differ.
func (j *judge) voice() Link {
	l := Link{Name: Voice, From: Sung, To: Sung, Compared: len(j.phrase)}
	unsure := 0
	for _, n := range j.phrase {
		if !n.sure {
			unsure++
		}
	}
	l.Failed = unsure >= fewUnsure && unsureShare*unsure >= len(j.phrase)
	a := j.in.Agreement
	if a == nil {
		return l
	}
	l.Failed = l.Failed || !a.SamePhrase
	first, second := j.in.Takes[0], j.in.Takes[1]
	for _, k := range a.Moved {
		before, place := a.Pairs[k][0], a.Pairs[k][1]
		was := class(first[before].Semitone + a.Semitones() + j.in.Alignment.TuningShift)
		is := class(second[place].Semitone + j.in.Alignment.TuningShift)
		n := &j.phrase[place]
		n.classes = append(n.classes, was, is)
		n.sure, n.present = surely(first[before]) && surely(second[place]), false
		if n.sure {
			l.Mistakes = append(l.Mistakes, Mistake{Place: place, Wanted: was, Given: is})
		}
	}
	by := a.Semitones() + j.in.Alignment.TuningShift
	for _, c := range alone(first, a.Pairs, 0) {
		l.Mistakes = append(l.Mistakes, Mistake{Place: None, Wanted: class(c + by), Given: Nothing})
	}
	for _, c := range alone(second, a.Pairs, 1) {
		l.Mistakes = append(l.Mistakes, Mistake{Place: None, Wanted: Nothing, Given: class(c + j.in.Alignment.TuningShift)})
	}
	return l
}

const (
	fewUnsure   = 2 // unsure notes below which the voice is not blamed. Own
	unsureShare = 3 // one in so many must be unsure. Own
)

// lasting is how long a note must be, s, that only one take has, to count: shorter ones may be the way to the next. Own.
const lasting = 0.2

// alone are the semitones of the notes of one take that the other has not; side says which side of the pairs the take is. A
// note beside another of its pitch may be that one, split in two, and does not count.
func alone(take []match.Sung, pairs [][2]int, side int) []int {
	paired := map[int]bool{}
	for _, p := range pairs {
		paired[p[side]] = true
	}
	var out []int
	for i, n := range take {
		like := func(k int) bool { return k >= 0 && k < len(take) && take[k].Semitone == n.Semitone }
		if !paired[i] && surely(n) && n.Confidence >= presentNote && n.Offset-n.Onset >= lasting && !like(i-1) && !like(i+1) {
			out = append(out, n.Semitone)
		}
	}
	return out
}

// surely reports whether a note of a take decides its pitch.
func surely(n match.Sung) bool { return !n.Unclear && n.Confidence >= sureNote }

// fits reports whether a pitch class is what was sung at a place.
func (j *judge) fits(place, class int) bool {
	for _, c := range j.phrase[place].classes {
		if agree(c, class) {
			return true
		}
	}
	return false
}

// link compares two stages.
func (j *judge) link(from, to Stage) Link {
	l := Link{Name: nameOf(from, to), From: from, To: to}
	switch {
	case from == Sung && to == Played:
		j.playedStraight(&l)
	case from == Sung:
		j.compareSung(&l)
	default:
		j.compare(&l)
	}
	if to == Played {
		j.search(from)
		l.Searched = j.finding.Label == hunt.Searched && j.tried(from)
	}
	return l
}

func nameOf(from, to Stage) Name {
	switch {
	case from == Sung && to != Played:
		return Ear
	case to == Letters:
		return Names
	}
	return Fingers
}

// playedStraight takes the verdicts of the round: nothing was written down between.
func (j *judge) playedStraight(l *Link) {
	for _, p := range j.in.Alignment.Pairs {
		if p.Sung == match.None {
			continue
		}
		l.Compared++
		m := Mistake{Place: p.Sung, Wanted: j.phrase[p.Sung].classes[0], Given: Nothing}
		if p.Played != match.None {
			m.Given = j.lists[Played][p.Played]
		}
		if j.phrase[p.Sung].sure && (p.Verdict == match.Different || p.Verdict == match.LeftOut) {
			l.Mistakes = append(l.Mistakes, m)
		}
	}
	l.Shift = j.in.Alignment.Transposition
}

// compareSung compares a stage that was written down with what was sung.
func (j *judge) compareSung(l *Link) {
	list := j.lists[l.To]
	pairs := j.alignSung(list)
	wrong := j.sungMistakes(list, pairs)
	count := func(shift int) int {
		back := moved(list, -shift)
		return len(j.sungMistakes(back, j.alignSung(back)))
	}
	if s := j.shiftOf(list, len(wrong), count); s != 0 {
		l.Shift = s
		j.shiftPhrase(s)
		pairs = j.alignSung(list)
		wrong = j.sungMistakes(list, pairs)
	}
	j.spot[l.To] = partners(pairs, len(list))
	l.Mistakes, l.Compared = wrong, len(j.phrase)
}

// shiftPhrase moves the phrase to where the player had it.
func (j *judge) shiftPhrase(semitones int) {
	for i := range j.phrase {
		for k := range j.phrase[i].classes {
			j.phrase[i].classes[k] = class(j.phrase[i].classes[k] + semitones)
		}
		j.lists[Sung][i] = j.phrase[i].classes[0]
	}
}

// What it costs to line a written note up with one that the voice does not decide.
const (
	unsureWrong   = 0.3
	unsureMissing = 0.5
)

// alignSung lines a written list up with the phrase.
func (j *judge) alignSung(list []int) []pair {
	return align(len(j.phrase), len(list), costs{
		both: func(a, b int) float64 {
			switch {
			case j.fits(a, list[b]):
				return 0
			case !j.phrase[a].sure:
				return unsureWrong
			}
			return 1
		},
		without: func(a int) float64 {
			if !j.phrase[a].sure {
				return unsureMissing
			}
			return 1
		},
		extra: func(int) float64 { return 1 },
	})
}

// sungMistakes are the differences that the ear is blamed for.
func (j *judge) sungMistakes(list []int, pairs []pair) []Mistake {
	var wrong []Mistake
	for k, p := range pairs {
		switch {
		case p.b == None:
			if j.phrase[p.a].present {
				wrong = append(wrong, Mistake{p.a, j.phrase[p.a].classes[0], Nothing})
			}
		case p.a == None:
			if list[p.b] != entry.Unheard && !j.lost(list, pairs, k) {
				wrong = append(wrong, Mistake{None, Nothing, list[p.b]})
			}
		case j.phrase[p.a].sure && !j.fits(p.a, list[p.b]):
			wrong = append(wrong, Mistake{p.a, j.phrase[p.a].classes[0], list[p.b]})
		}
	}
	return wrong
}

// lost reports whether a written note without a sung one may be a note that the program did not hear: it was played too, it
// repeats its neighbour (sung on one breath, two are heard as one), or a neighbour in the phrase is unsure.
func (j *judge) lost(list []int, pairs []pair, k int) bool {
	for _, d := range []int{-1, 1} {
		if n := k + d; n >= 0 && n < len(pairs) && pairs[n].a != None && !j.phrase[pairs[n].a].sure {
			return true
		}
	}
	at := pairs[k].b
	if at > 0 && list[at-1] == list[at] || at+1 < len(list) && list[at+1] == list[at] {
		return true
	}
	for _, p := range align(len(list), len(j.lists[Played]), plain(list, j.lists[Played])) {
		if p.a == at {
			return p.b != None && list[at] == j.lists[Played][p.b]
		}
	}
	return false
}

// compare compares a stage with the one before it, both written or played.
func (j *judge) compare(l *Link) {
	from, to := j.lists[l.From], j.lists[l.To]
	count := func(shift int) int { return len(j.mistakes(l, moved(to, -shift))) }
	if l.To == Played {
		l.Shift = j.shiftOf(to, count(0), count)
		to = moved(to, -l.Shift)
	}
	l.Mistakes, l.Compared = j.mistakes(l, to), len(from)
	if l.To == Letters {
		pairs := align(len(from), len(to), plain(from, to))
		j.spot[Letters] = j.through(l.From, partners(pairs, len(to)))
		j.fillSpots(to)
	}
}

// through turns places in a stage into places in the phrase.
func (j *judge) through(stage Stage, places []int) []int {
	out := make([]int, len(places))
	for i, p := range places {
		out[i] = None
		if p != None {
			out[i] = j.spot[stage][p]
		}
	}
	return out
}

// fillSpots gives letters that no number stands for their place in the phrase, where it can be told.
func (j *judge) fillSpots(letters []int) {
	direct := partners(j.alignSung(letters), len(letters))
	for i, spot := range j.spot[Letters] {
		if spot == None && direct[i] != None && j.fits(direct[i], letters[i]) {
			j.spot[Letters][i] = direct[i]
		}
	}
}

// mistakes are the differences that the link is blamed for; to is its second list, moved where need be.
func (j *judge) mistakes(l *Link, to []int) []Mistake {
	from, spots := j.lists[l.From], j.spot[l.From]
	direct := partners(j.alignSung(to), len(to))
	c := plain(from, to)
	if l.To == Played {
		c.extra = func(int) float64 { return extraPlayed }
	}
	var wrong []Mistake
	for _, p := range align(len(from), len(to), c) {
		switch {
		case p.b == None: // a note that was never sung and is gone again is no loss
			if from[p.a] != entry.Unheard && (spots[p.a] != None || !j.extraIn(l.From, p.a)) {
				wrong = append(wrong, Mistake{spots[p.a], from[p.a], Nothing})
			}
		case p.a == None:
			if l.To != Played && !(direct[p.b] != None && j.fits(direct[p.b], to[p.b])) {
				wrong = append(wrong, Mistake{None, Nothing, to[p.b]})
			}
		case agree(from[p.a], to[p.b]):
		case spots[p.a] != None && j.fits(spots[p.a], to[p.b]): // what was sung: it corrects a slip
		default:
			wrong = append(wrong, Mistake{spots[p.a], from[p.a], to[p.b]})
		}
	}
	return wrong
}

// extraPlayed is the cost of a played note beyond what was written: notes that were tried or brushed lie between the others.
const extraPlayed = 0.6

// extraIn reports whether a written note stands for none that was sung, while every sung one has its own.
func (j *judge) extraIn(stage Stage, at int) bool { return j.spot[stage][at] == None }

// A list is moved as a whole where that leaves this few mistakes of that many.
const (
	shiftLeaves = 1 // mistakes
	shiftFrom   = 3 // mistakes that it must do away with. Own
)

// shiftOf is how far a list lies off as a whole; wrong is how many mistakes it has where it stands.
func (j *judge) shiftOf(list []int, wrong int, count func(shift int) int) int {
	best, least := 0, wrong
	for shift := -5; shift <= 6; shift++ {
		if n := count(shift); shift != 0 && n < least {
			best, least = shift, n
		}
	}
	if least <= shiftLeaves && wrong-least >= shiftFrom && 2*wrong > len(list) {
		return best
	}
	return 0
}

func moved(list []int, by int) []int {
	out := make([]int, len(list))
	for i, c := range list {
		out[i] = c
		if c != entry.Unheard {
			out[i] = class(c + by)
		}
	}
	return out
}

// forgiveMoved takes back the ear's shift where nothing after it moves back: the phrase was only sung in another place.
func (j *judge) forgiveMoved(links []Link) {
	for i := range links {
		if links[i].Name == Ear && links[i].Shift != 0 && j.in.Alignment.Transposition != 0 &&
			class(links[i].Shift) == class(j.in.Alignment.Transposition) {
			links[i].Shift = 0
		}
	}
	if len(links) == 2 { // sung and played alone: where it lies is no fault of a link
		links[1].Shift = 0
	}
}
