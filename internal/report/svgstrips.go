package report

import (
	"fmt"
	"math"
	"strconv"

	"larkhand/hunt"
	"larkhand/match"
)

// newStrip makes room for pitches from low to high.
func (s *sheet) newStrip(low, high float64) strip {
	const air = 1 // semitone left free above and below
	st := strip{top: s.y, low: int(math.Floor(low)) - air, high: int(math.Ceil(high)) + air, step: semitoneStep}
	if st.high-st.low > manySteps {
		st.step = lowSemitone
	}
	return st
}

// degreeLines draws the notes of the key as lines, the tonic's stronger, with number and letter at the left.
func (s *sheet) degreeLines(st strip) {
	classes := s.r.Key.PitchClasses()
	const readable = 12.0 // px between labels
	lastLabel := math.Inf(-1)
	for midi := st.high; midi >= st.low; midi-- {
		degree := indexOf(classes, mod12(midi))
		if degree < 0 {
			continue
		}
		class := "rule"
		if degree == 0 {
			class = "tonic"
		}
		y := st.y(float64(midi))
		s.line(class, marginLeft, y, s.right(), y)
		if y-lastLabel >= readable {
			s.text("soft end", marginLeft-34, y+4, s.r.Key.Degree(midi, s.r.Numbering))
			s.text("soft end", marginLeft-6, y+4, s.r.Key.Letter(midi).String())
			lastLabel = y
		}
	}
}

func mod12(midi int) int { return ((midi % 12) + 12) % 12 }

func indexOf(values []int, want int) int {
	for i, v := range values {
		if v == want {
			return i
		}
	}
	return -1
}

// sungStrip draws the curves and the sung notes.
func (s *sheet) sungStrip() {
	low, high := math.Inf(1), math.Inf(-1)
	for _, n := range s.r.Phrase {
		low, high = math.Min(low, float64(n.Semitone)), math.Max(high, float64(n.Semitone))
	}
	s.stripTitle("sung")
	s.sung = s.newStrip(low, high)
	s.degreeLines(s.sung)
	if s.earlierDrawn() {
		s.polyline("earlier", s.id+"sung", s.strokes(s.r.Takes[0].Voice, s.laidOver(), s.r.Agreement.Semitones()))
	}
	s.polyline("curve", s.id+"sung", s.strokes(s.r.Last().Voice, func(t float64) float64 { return t }, 0))
	for _, c := range s.cols {
		if c.sung != match.None {
			s.sungNote(c)
		}
	}
	s.y = s.sung.bottom() + lineHeight
	s.clock(s.y-4, 0, "s in take")
	s.y += 1.5 * lineHeight
}

// earlierDrawn says whether there is a take 1 that can be laid over take 2.
func (s *sheet) earlierDrawn() bool {
	a := s.r.Agreement
	return a != nil && a.SamePhrase && len(s.r.Takes[0].Voice.Frames) > 0
}

func (s *sheet) stripTitle(text string) {
	s.text("soft", marginRight, s.y, text)
	s.y += lineHeight / 2
}

// sungNote is a stroke at the pitch that was sung, between ticks at onset and offset.
func (s *sheet) sungNote(c column) {
	n := s.r.Phrase[c.sung]
	y := s.sung.y(n.Pitch)
	class := "note " + accent(c.verdict)
	s.line(class, s.x(n.Onset), y, s.x(n.Offset), y)
	s.line(class, s.x(n.Onset), y-strokeTick, s.x(n.Onset), y+strokeTick)
	s.line(class, s.x(n.Offset), y-strokeTick, s.x(n.Offset), y+strokeTick)
}

// accent is the class of a verdict's colour.
func accent(v match.Verdict) string {
	if v == match.Same {
		return "same"
	}
	return "look"
}

// clock writes the seconds along a strip. offset is added to the drawn time to get the time written.
func (s *sheet) clock(y, offset float64, unit string) {
	const wanted = 90.0 // px between two numbers at least
	step := 1.0
	for _, candidate := range []float64{0.2, 0.5, 1, 2, 5, 10, 20, 60} {
		step = candidate
		if step*s.xPerSec >= wanted {
			break
		}
	}
	for k := math.Ceil((s.start + offset) / step); k*step <= s.end+offset; k++ {
		x := s.x(k*step - offset)
		s.line("tick", x, y-9, x, y-5)
		s.text("soft mid", x, y+6, strconv.FormatFloat(float64(rounded(k*step, 1)), 'f', -1, 64))
	}
	s.text("soft end", marginLeft-6, y+6, unit)
}

// table writes number, letter and centre of each sung note under its onset.
func (s *sheet) table() {
	rows := []struct {
		name, class string
		cell        func(column) string
	}{
		{"number", "number mid", func(c column) string { return c.degree }},
		{"letter", "mid", func(c column) string { return c.letter }},
		{"cents", "soft mid", func(c column) string { return c.centre }},
		{"chord", "mid", func(c column) string { return c.chord }},
		{"in chord", "soft mid", func(c column) string { return c.chordDegree }},
	}
	for _, row := range rows {
		written := false
		for _, c := range s.cols {
			if text := row.cell(c); c.sung != match.None && text != "" {
				s.text(row.class, s.middle(c), s.y, text)
				written = true
			}
		}
		if written {
			s.text("soft end", marginLeft-6, s.y, row.name)
			s.y += lineHeight
		}
	}
	s.tableY = s.y - lineHeight/2
}

// middle is where the words of a column stand: over the middle of its sung note, else at its played note.
func (s *sheet) middle(c column) float64 {
	if c.sung != match.None {
		n := s.r.Phrase[c.sung]
		return s.x((n.Onset + n.Offset) / 2)
	}
	return s.playedX(c.played)
}

func (s *sheet) playedX(index int) float64 { return s.x(s.r.Answer.Notes[index].Onset + s.shift) }

// shelf puts words that would overlap on different levels.
type shelf struct{ ends []float64 }

// place finds the first level where a word from left to right is free.
func (sh *shelf) place(left, right float64) (level int) {
	const gap = 10.0 // px
	for level = range sh.ends {
		if sh.ends[level]+gap <= left {
			sh.ends[level] = right
			return level
		}
	}
	sh.ends = append(sh.ends, right)
	return len(sh.ends) - 1
}

// verdicts writes the verdict of each column as shape and word, between the strips.
func (s *sheet) verdicts() {
	s.y += lineHeight
	var sh shelf
	top := s.y
	for _, c := range s.cols {
		x := s.middle(c)
		width := float64(len(c.verdict))*smallChar + 14
		level := sh.place(x-width/2, x+width/2)
		y := top + float64(level)*lineHeight
		s.shape(c.verdict, x-width/2+4, y-4)
		s.text(accent(c.verdict), x-width/2+13, y, string(c.verdict))
	}
	s.text("soft end", marginLeft-6, top, "verdict")
	s.y = top + float64(max(len(sh.ends), 1))*lineHeight
}

// shape is the sign of a verdict.
func (s *sheet) shape(v match.Verdict, x, y float64) {
	const size = 4.0
	class := "mark " + accent(v)
	switch v {
	case match.Same:
		s.circle(class+" full", x, y, size-.5)
	case match.Different:
		s.cross(class, x, y, size+1, true)
	case match.Added:
		s.cross(class, x, y, size+.5, false)
	case match.LeftOut:
		s.circle(class+" open", x, y, size-.5)
	case match.Unclear:
		s.raw(fmt.Sprintf(`<path class="%s" d="M%s %sq2 -4 4 0t4 0"/>`, class, coordinate(x-size), coordinate(y)))
	}
}

// playedStrip draws the answer: heads at the onsets, as large as the key was struck hard, and lines as long as it sounded.
func (s *sheet) playedStrip() {
	low, high := math.Inf(1), math.Inf(-1)
	for _, n := range s.r.Answer.Notes {
		low, high = math.Min(low, n.Pitch), math.Max(high, n.Pitch)
	}
	threadsFrom := s.y
	s.y += lineHeight
	s.stripTitle("played")
	s.played = s.newStrip(low, high)
	s.degreeLines(s.played)
	for _, c := range s.cols {
		if c.played != match.None {
			s.playedNote(c, threadsFrom)
		}
	}
	s.y = s.played.bottom() + lineHeight
	s.clock(s.y-4, -s.shift, "s in answer")
	s.y += lineHeight
}

func (s *sheet) playedNote(c column, threadsFrom float64) {
	const softest, perVelocity = 2.2, 2.6 / 127.0 // px: radius 2.2 to 4.8
	n := s.r.Answer.Notes[c.played]
	x, y := s.playedX(c.played), s.played.y(n.Pitch)
	class := accent(c.verdict)
	if c.sung != match.None {
		s.line("thread "+class, s.middle(c), threadsFrom-lineHeight+6, x, y)
	}
	s.line("note "+class, x, y, s.x(n.Offset+s.shift), y)
	radius := softest + perVelocity*float64(n.Velocity)
	switch c.verdict {
	case match.Same:
		s.circle("mark same full", x, y, radius)
	case match.Different:
		s.cross("mark look", x, y, radius+1.5, true)
	case match.Added:
		s.cross("mark look", x, y, radius+1.5, false)
	default:
		s.circle("mark look open", x, y, radius)
	}
	if c.verdict == match.Different || c.verdict == match.Added {
		const above = 9.0 // px
		s.text("look mid", x, y-above, c.playedLetter)
	}
}

// brackets draws a bracket under the stretch of the answer that each piece of evidence is about.
func (s *sheet) brackets() {
	f := s.r.Finding
	if len(f.Evidence) == 0 {
		return
	}
	s.y += lineHeight / 2
	var sh shelf
	top := s.y
	for i, e := range f.Evidence {
		left, right := s.x(e.Onset+s.shift), s.x(e.Offset+s.shift)
		words := evidenceMark(i) + " " + string(e.Kind)
		width := math.Max(right-left, float64(len(words))*smallChar)
		y := top + 2*lineHeight*float64(sh.place(left, left+width))
		s.raw(fmt.Sprintf(`<path class="bracket" d="M%s %sv6H%sv-6"/>`, coordinate(left), coordinate(y-6), coordinate(right)))
		s.text("look", left, y+13, words)
	}
	s.text("soft end", marginLeft-6, top, "evidence")
	s.y = top + 2*lineHeight*float64(len(sh.ends)) + lineHeight/2
}

// evidence writes the sentences that the letters at the brackets point to.
func (s *sheet) evidence() {
	f := s.r.Finding
	if len(f.Evidence) == 0 {
		return
	}
	for i, e := range f.Evidence {
		s.paragraph("", evidenceMark(i)+"  "+evidenceText(e), charWidth)
	}
	if f.Label != hunt.Searched {
		s.paragraph("soft", "Too little to call the answer searched for.", smallChar)
	}
}

// footer writes what changed between the takes, the remarks, and what the signs mean.
func (s *sheet) footer() {
	s.section("From take 1 to take 2", changes(s.r))
	s.section("Remarks", s.r.Remarks)
	s.y += lineHeight / 2
	s.legend()
	s.y += lineHeight / 2
}

// section writes sentences under a heading, or nothing.
func (s *sheet) section(heading string, sentences []string) {
	if len(sentences) == 0 {
		return
	}
	s.y += lineHeight / 2
	s.paragraph("soft", heading, smallChar)
	for _, text := range sentences {
		s.paragraph("", text, charWidth)
	}
}

func (s *sheet) legend() {
	x := marginRight
	entry := func(text string, sign func(x, y float64)) {
		width := 26 + float64(len(text))*smallChar + 18
		if x+width > s.right() {
			x = marginRight
			s.y += lineHeight
		}
		sign(x, s.y-4)
		s.text("soft", x+26, s.y, text)
		x += width
	}
	if !s.r.Last().Written {
		entry("pitch of the last take", func(x, y float64) { s.line("curve", x, y, x+20, y) })
	}
	if s.earlierDrawn() {
		entry("take 1, laid over it", func(x, y float64) { s.line("earlier", x, y, x+20, y) })
	}
	entry("sung note", func(x, y float64) {
		s.line("note", x, y, x+20, y)
		s.line("note", x, y-strokeTick, x, y+strokeTick)
		s.line("note", x+20, y-strokeTick, x+20, y+strokeTick)
	})
	entry("played note (larger head: struck harder)", func(x, y float64) {
		s.line("note same", x, y, x+20, y)
		s.circle("mark same full", x, y, 4)
	})
	s.y += lineHeight
}
