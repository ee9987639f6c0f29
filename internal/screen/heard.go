package screen

import (
	"math"
	"slices"

	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/voice"
)

// This file draws what the program understood of a take beside the voice, so that a mishearing shows at once.

// shape is the take whose notes as understood are heard while the phrase is still worked out or played: then its shape is shown, without numbers
// and letters. 0 for none.
func (m *model) shape(v round.View) int {
	if v.Part != round.PartVerdict && v.Sound.What == round.NotesSound {
		return v.Sound.Take
	}
	return 0
}

// pictured is the take that is heard at a verdict, itself or as it was understood; 0 for none.
func (m *model) pictured(v round.View) int {
	if v.Part == round.PartVerdict && (v.Sound.What == round.NotesSound || v.Sound.What == round.TakeSound) {
		return v.Sound.Take
	}
	return 0
}

// noteEnds are the signs in which a note as understood begins and ends; between them the voice is seen where it agrees.
const (
	noteBegins  = '['
	noteEnds    = ']'
	noteLasts   = '─'
	unclearLast = '┄'
	soundsHere  = '┊' // what sounds has come so far
)

// shapePane is the shape of the take that is heard: the voice in dots, the notes as understood in brackets.
func (m *model) shapePane(v round.View, width, rows int) []string {
	return m.picture(v, m.shape(v), true, width, rows)
}

// picture draws a take with the notes that were understood of it; bare without what tells the notes' names.
func (m *model) picture(v round.View, take int, bare bool, width, rows int) []string {
	s := m.live.latest
	trail, notes := s.Trails[take-1], s.Understood[take-1]
	if r := s.Result; notes == nil && r != nil && r.Judged != nil && !bare && take <= len(r.Judged.Takes) {
		notes = r.Judged.Takes[take-1].Voice.Notes
	}
	const least = 3 // rows on which a shape can be seen
	if rows < least+1 {
		return nil
	}
	from, to := stretch(trail, notes)
	p := &paper{key: keyOf(v), numbering: m.live.setup.Numbering, columns: max(1, width-labelColumns), rows: rows - 1, from: from, seconds: to - from, bare: bare}
	trail = tuned(trail, notes)
	p.top = middleOf(notes, pitches(trail), p.rows)
	p.rule()
	if x, ok := p.column(v.SoundFor); ok && v.SoundFor > 0 {
		for y := range p.cells {
			p.cells[y][x] = soundsHere
		}
	}
	p.sing(trail)
	p.understand(notes)
	words := "dots: the voice; brackets: the notes as understood"
	if len(notes) == 0 {
		words = "dots: the voice"
	}
	return append(p.lines(m.styles), m.styles.Quiet.Render(words))
}

// stretch is where in a take something was sung, s, with a little before and after it.
func stretch(trail []practice.Point, notes []voice.Note) (from, to float64) {
	const around = 0.3 // s; own choice
	from, to = math.Inf(1), math.Inf(-1)
	for _, p := range trail {
		if !math.IsNaN(p.Pitch) && !math.IsInf(p.Pitch, 0) {
			from, to = math.Min(from, p.Time), math.Max(to, p.Time)
		}
	}
	for _, n := range notes {
		from, to = math.Min(from, n.Onset), math.Max(to, n.Offset)
	}
	if to < from {
		return 0, freePage
	}
	return math.Max(0, from-around), to + around
}

// tuned is a trail after the take's own tuning, so that a voice that is as it was understood lies on its note.
func tuned(trail []practice.Point, notes []voice.Note) []practice.Point {
	if len(notes) == 0 {
		return trail
	}
	var cents []float64
	for _, n := range notes {
		cents = append(cents, n.ReferenceCents)
	}
	slices.Sort(cents)
	out := slices.Clone(trail)
	for i := range out {
		out[i].Pitch -= cents[len(cents)/2] / 100
	}
	return out
}

// middleOf is the upper row of a page on which the notes lie in the middle, or where there are none the voice.
func middleOf(notes []voice.Note, pitches []float64, rows int) int {
	low, high := math.Inf(1), math.Inf(-1)
	for _, n := range notes {
		low, high = math.Min(low, float64(n.Semitone)), math.Max(high, float64(n.Semitone))
	}
	if len(notes) == 0 {
		return moveFor(pitches, rows, usualMiddle)
	}
	return int(math.Ceil((low+high)/2)) + rows/2
}

// understand writes notes as they were understood: in brackets, and between these where the voice does not lie on them a line.
func (p *paper) understand(notes []voice.Note) {
	for _, n := range notes {
		y := p.top - n.Semitone
		from, ok := p.column(n.Onset)
		if !ok || y < 0 || y >= p.rows {
			continue
		}
		to, ok := p.column(n.Offset)
		if !ok {
			to = p.columns
		}
		lasts := noteLasts
		if n.Unclear {
			lasts = unclearLast
		}
		put := func(x int, r rune) { p.cells[y][x], p.written[y][x] = r, true }
		for x := from + 1; x < to-1; x++ {
			if !p.written[y][x] {
				put(x, lasts)
			}
		}
		put(from, noteBegins)
		if to-1 > from {
			put(to-1, noteEnds)
		}
	}
}
