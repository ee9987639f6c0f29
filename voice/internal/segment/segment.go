// Package segment chooses the notes of a take: where each begins and ends.
//
// It is a segmental Viterbi search (Ostendorf, Digalakis and Kimball 1996, the
// segment model): over all ways to lay notes of 40 ms to 4 s, with free rests
// between them, it maximises
//
//	2.6 logit(begins at a) + end(b) + 1/2 sum logit(inside) - 0.2 min_g sum score*min(|pitch-g|, 1.5)
//	- 1/4 ((ln d - ln u)/0.7)^2 + [1 if the pitch repeats that of a note ending at a]
//
// for each note [a, b) of d seconds; u is 0.4 s, less in takes whose marks
// follow one another faster than every 0.2 s. Candidates for a and b are few,
// so the search is fast. Times are in frames inside, in seconds outside.
// Non-goals: what semitone a note was meant as.
package segment

import (
	"math"
	"slices"

	"larkhand/voice/internal/front"
	"larkhand/voice/internal/marks"
	"larkhand/voice/internal/track"
)

// Weights of the search. Found by a search on sight-singing clips other than those reported on; the time constants are frames of 10 ms.
const (
	markLeast     = 0.03 // least probability of a candidate for a beginning or an end
	markApart     = 2    // frames between candidates, at least
	beginWeight   = 2.6  // 2.0 loses more of the short notes and splits more long ones
	beginFloor    = 0.02 // probability that a beginning has at least, so that voicing starts without a mark stay possible ...
	stepFloor     = 0.3  // ... and at a lasting step of pitch, whatever the marks say
	endWeight     = 0.6
	insideWeight  = 0.5
	pitchWeight   = 0.2 // 0.12 merges more hummed semitones; with less weight on the marks 0.22 splits more on sight-singing
	pitchCap      = 1.5 // semitones
	pitchGrid     = 0.2 // semitones between the constant pitches that are tried
	lengthWeight  = 0.25
	lengthMedian  = 0.4  // s; shorter where a take's own pace is faster than paceSlow, in proportion, ...
	paceSlow      = 0.2  // s between clear marks; 0.25 splits scoops
	paceFast      = 0.1  // s, ... down to half of it
	paceMark      = 0.5  // probability of a clear mark
	paceLeast     = 3    // steps between clear marks that tell a pace
	lengthSpread  = 0.7  // natural logarithm
	repeatBonus   = 1.0  // for a note on the pitch of the one that ends where it begins
	repeatNear    = 0.6  // semitones
	shortest      = 4    // frames; 5 loses a third more of the notes of 100 ms
	longest       = 400  // frames
	stepSpan      = 7    // frames on each side of a step of pitch
	stepLeast     = 0.7  // semitones between their medians
	stepPeak      = 5    // frames: a step is the largest within this distance
	stepNearMark  = 6    // frames: a mark so near stands for the step
	settledFloor  = 0.5  // probability that a beginning has at least at a step between two even pitches, whatever its size ...
	settledLeast  = 0.5  // ... from here on, semitones; sung semitones are often so small
	settledSpread = 0.15 // semitones between the highest and the lowest pitch of an even stretch; 0.3 splits notes that drift
	settledSpan   = 10   // frames of it
	settledSkip   = 3    // frames of the movement, on each side of the step
	voicedRun     = 5    // frames of unbroken voice that make a voicing start or end a candidate
	voicedNear    = 4    // frames: a mark so near stands for the voicing change
	probabilityLo = 1e-4
	beginMost     = 0.98
)

// Note is one note in frames: it begins at Begin and ends before End.
type Note struct {
	Begin, End   int
	Onset        float64 // s, between the frames
	Offset       float64 // s
	BeginsChance float64 // probability of the mark that it begins with
}

// Find chooses the notes of a take.
func Find(path track.Path, m []marks.Marks) []Note {
	s := &search{path: path, marks: m, n: len(m)}
	if s.n < shortest {
		return nil
	}
	s.candidates()
	if len(s.begins) == 0 {
		return nil
	}
	s.sums()
	s.run()
	return s.notes()
}

type search struct {
	path   track.Path
	marks  []marks.Marks
	n      int
	begins []int   // candidate frames, rising
	usual  float64 // s, the length of a note that costs nothing
	ends   map[int]bool
	steps  map[int]float64 // least probability of those of begins that stand at a step of pitch
	inside []float64       // cumulative log odds
	grid   int             // number of constant pitches
	cost   []float64       // cumulative pitch cost, [frame][grid]

	state map[int]*node
	last  int
}

// node is the best account of everything before a frame.
type node struct {
	value   float64
	pitch   float64 // of the note that ends here, NaN after a rest
	begin   int     // of that note; -1 after a rest
	earlier int     // frame of the node before
}

// candidates gathers the frames at which notes may begin or end.
func (s *search) candidates() {
	begins := s.peaks(func(m marks.Marks) float64 { return m.Begins })
	s.usual = s.usualLength(begins)
	ends := s.peaks(func(m marks.Marks) float64 { return m.Ends })
	begins = s.addVoicingChanges(begins, 1)
	begins = s.addSteps(begins)
	ends = s.addVoicingChanges(ends, -1)
	slices.Sort(begins)
	s.begins = begins
	s.ends = map[int]bool{s.n - 1: true}
	for _, b := range ends {
		s.ends[b] = true
	}
}

// usualLength is the length of notes in s that is expected of the take, by the pace of its clear marks.
func (s *search) usualLength(peaks []int) float64 {
	var clear []int
	for _, t := range peaks {
		if s.marks[t].Begins >= paceMark {
			clear = append(clear, t)
		}
	}
	if len(clear) <= paceLeast {
		return lengthMedian
	}
	slices.Sort(clear)
	for i := len(clear) - 1; i > 0; i-- {
		clear[i] -= clear[i-1]
	}
	steps := clear[1:]
	slices.Sort(steps)
	pace := float64(steps[len(steps)/2]) * front.Hop
	return lengthMedian * min(max(pace, paceFast)/paceSlow, 1)
}

// peaks lists the frames where a probability has a maximum, at least markApart apart, the higher first.
func (s *search) peaks(p func(marks.Marks) float64) []int {
	var all, kept []int
	for t := 1; t+1 < s.n; t++ {
		if v := p(s.marks[t]); v > markLeast && v >= p(s.marks[t-1]) && v > p(s.marks[t+1]) {
			all = append(all, t)
		}
	}
	slices.SortStableFunc(all, func(a, b int) int {
		switch d := p(s.marks[b]) - p(s.marks[a]); {
		case d > 0:
			return 1
		case d < 0:
			return -1
		}
		return 0
	})
	for _, t := range all {
		if !near(kept, t, markApart) {
			kept = append(kept, t)
		}
	}
	return kept
}

func near(list []int, t, distance int) bool {
	return slices.ContainsFunc(list, func(u int) bool { return abs(t-u) <= distance })
}

// addVoicingChanges adds the frames where a run of voice starts (direction 1) or has just ended (-1).
func (s *search) addVoicingChanges(list []int, direction int) []int {
	for t := 2; t+2 < s.n; t++ {
		first := t // of the run
		if direction < 0 {
			first = t - voicedRun
		}
		outside := t - 1
		if direction < 0 {
			outside = t
		}
		if first < 0 || first+voicedRun > s.n || s.path.Voiced(outside) || !s.voicedRun(first, voicedRun) || near(list, t, voicedNear) {
			continue
		}
		list = append(list, t)
	}
	return list
}

func (s *search) voicedRun(from, length int) bool {
	for t := from; t < from+length; t++ {
		if !s.path.Voiced(t) {
			return false
		}
	}
	return true
}

// addSteps adds lasting steps of pitch inside unbroken voice.
func (s *search) addSteps(list []int) []int {
	s.steps = map[int]float64{}
	size := make([]float64, s.n)
	for t := stepSpan; t+stepSpan+1 < s.n; t++ {
		if s.voicedRun(t-stepSpan, 2*stepSpan+1) {
			size[t] = math.Abs(median(s.path.Bridged[t+1:t+1+stepSpan]) - median(s.path.Bridged[t-stepSpan:t]))
		}
	}
	for t, v := range size {
		floor := s.floorAt(t, v)
		if floor == 0 || v < slices.Max(size[max(t-stepPeak, 0):min(t+stepPeak+1, s.n)]) {
			continue
		}
		at := -1
		for _, u := range list {
			if abs(t-u) <= stepNearMark && (at < 0 || s.marks[u].Begins > s.marks[at].Begins) {
				at = u
			}
		}
		if at < 0 {
			at = t + 1
			list = append(list, at)
		}
		s.steps[at] = max(s.steps[at], floor)
	}
	return list
}

// floorAt is the least probability that a note begins at a step of size semitones at frame t; 0: there is no step.
func (s *search) floorAt(t int, size float64) float64 {
	switch {
	case size > settledLeast && s.even(t-settledSkip-settledSpan) && s.even(t+settledSkip):
		return settledFloor
	case size > stepLeast:
		return stepFloor
	}
	return 0
}

// even says whether the pitch stays within settledSpread over the settledSpan frames after from.
func (s *search) even(from int) bool {
	if from < 0 || from+settledSpan >= s.n || !s.voicedRun(from, settledSpan+1) {
		return false
	}
	part := s.path.Bridged[from : from+settledSpan+1]
	return slices.Max(part)-slices.Min(part) < settledSpread
}

func median(v []float64) float64 {
	var w [stepSpan]float64
	copy(w[:], v)
	for i := 1; i < len(w); i++ { // insertion sort: seven values
		for j := i; j > 0 && w[j] < w[j-1]; j-- {
			w[j], w[j-1] = w[j-1], w[j]
		}
	}
	return w[stepSpan/2]
}

// sums prepares the cumulative sums that make a note's value one subtraction.
func (s *search) sums() {
	s.inside = make([]float64, s.n+1)
	for t, m := range s.marks {
		p := min(max(m.Inside, probabilityLo), 1-probabilityLo)
		s.inside[t+1] = s.inside[t] + insideWeight*(math.Log(p)-math.Log(1-p))
	}
	low := s.lowest()
	s.grid = int(math.Ceil((s.highest()+1-low)/pitchGrid)) + 1
	s.cost = make([]float64, (s.n+1)*s.grid)
	for t := range s.n {
		now, next := s.cost[t*s.grid:][:s.grid], s.cost[(t+1)*s.grid:][:s.grid]
		copy(next, now)
		w := s.path.Score[t]
		if w == 0 {
			continue
		}
		for g := range next {
			next[g] += w * min(math.Abs(s.path.Bridged[t]-low-float64(g)*pitchGrid), pitchCap)
		}
	}
}

func (s *search) lowest() float64  { return math.Floor(quantile(s.path.Bridged, 0.005)) - 1 }
func (s *search) highest() float64 { return math.Ceil(quantile(s.path.Bridged, 0.995)) }

func quantile(v []float64, q float64) float64 {
	w := slices.Clone(v)
	slices.Sort(w)
	return w[int(q*float64(len(w)-1)+0.5)]
}

// run is the search itself, over candidate frames in rising order.
func (s *search) run() {
	frames := slices.Clone(s.begins)
	for b := range s.ends {
		frames = append(frames, b)
	}
	slices.Sort(frames)
	frames = slices.Compact(frames)
	isBegin := map[int]bool{}
	for _, a := range s.begins {
		isBegin[a] = true
	}
	s.state = map[int]*node{0: {pitch: math.NaN(), begin: -1, earlier: -1}}
	s.last = 0
	for _, t := range frames {
		if t == 0 {
			continue
		}
		best := &node{value: s.state[s.last].value, pitch: math.NaN(), begin: -1, earlier: s.last}
		for i := len(s.begins) - 1; i >= 0; i-- {
			a := s.begins[i]
			if a > t-shortest {
				continue
			}
			if a < t-longest {
				break
			}
			if v, pitch := s.value(a, t, isBegin[t]); v > best.value {
				*best = node{v, pitch, a, a}
			}
		}
		s.state[t] = best
		s.last = t
	}
}

// value is the best account of everything before t that ends with the note [a, t).
func (s *search) value(a, t int, legato bool) (value, pitch float64) {
	before := s.state[a]
	d := float64(t-a) * front.Hop
	length := (math.Log(d) - math.Log(s.usual)) / lengthSpread
	pitch, cost := s.constantPitch(a, t)
	value = before.value + s.begin(a) + s.end(t, legato) + s.inside[t] - s.inside[a] - pitchWeight*cost - lengthWeight*length*length
	if before.begin >= 0 && math.Abs(before.pitch-pitch) < repeatNear {
		value += repeatBonus
	}
	return value, pitch
}

func (s *search) constantPitch(a, t int) (pitch, cost float64) {
	from, to := s.cost[a*s.grid:][:s.grid], s.cost[t*s.grid:][:s.grid]
	best := 0
	cost = math.Inf(1)
	for g, v := range to {
		if c := v - from[g]; c < cost {
			best, cost = g, c
		}
	}
	return float64(best) * pitchGrid, cost
}

func (s *search) begin(a int) float64 {
	p := s.marks[a].Begins
	least := max(beginFloor, s.steps[a])
	return beginWeight * (math.Log(max(p, least)) - math.Log(1-min(p, beginMost)))
}

func (s *search) end(t int, legato bool) float64 {
	v := math.Inf(-1)
	if s.ends[t] {
		p := s.marks[t].Ends
		v = endWeight * (math.Log(max(p, beginFloor)) - math.Log(1-min(p, beginMost)))
	}
	if legato { // the next note ends this one at no cost
		v = max(v, 0)
	}
	return v
}

// notes walks back through the search.
func (s *search) notes() []Note {
	var out []Note
	for t := s.last; t > 0; {
		nd := s.state[t]
		if nd.begin >= 0 {
			a := nd.begin
			n := Note{Begin: a, End: t, BeginsChance: s.marks[a].Begins}
			n.Onset = s.between(a, func(m marks.Marks) float64 { return m.Begins })
			n.Offset = float64(t) * front.Hop
			if s.ends[t] {
				n.Offset = s.between(t, func(m marks.Marks) float64 { return m.Ends })
			}
			n.Offset = max(n.Offset, n.Onset+0.03)
			out = append(out, n)
		}
		t = nd.earlier
	}
	slices.Reverse(out)
	return out
}

// between places a mark between the frames by a parabola, in seconds.
func (s *search) between(t int, p func(marks.Marks) float64) float64 {
	offset := 0.0
	if t > 0 && t+1 < s.n {
		a, b, c := p(s.marks[t-1]), p(s.marks[t]), p(s.marks[t+1])
		if bend := a - 2*b + c; bend < 0 {
			offset = min(max(0.5*(a-c)/bend, -0.5), 0.5)
		}
	}
	return (float64(t) + offset) * front.Hop
}

func abs(x int) int { return max(x, -x) }
