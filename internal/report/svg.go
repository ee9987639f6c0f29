package report

import (
	"fmt"
	"io"
	"math"

	"larkhand/internal/round"
	"larkhand/match"
)

// SVG draws a round: the pitch curve of the takes on the key's degree lines with the sung notes as measured strokes, the
// table of numbers, letters and centres under them, and below, on the same time axis, the answer in its own strip;
// threads join what belongs together, words and shapes give the verdicts, brackets the evidence.
//
// The time axis is that of the last take. Take 1 is laid over it note by note. The answer is not stretched; it is moved as
// a whole so that its first answered note stands under the sung one, and its own clock is written under its strip.
// Pitch is drawn on the take's own tuning, so that a line is hit where the centre is 0 cents.
func SVG(w io.Writer, r round.Round) error {
	s := newSheet(r)
	s.header()
	s.strips()
	s.evidence()
	s.footer()
	_, err := io.WriteString(w, s.document())
	return err
}

// strips draws all that lies on the time axis.
func (s *sheet) strips() {
	s.sungStrip()
	s.table()
	s.verdicts()
	s.playedStrip()
	s.brackets()
}

// Measures of the sheet, px at full size. All are own choices, tuned by eye.
const (
	marginLeft   = 84.0
	marginRight  = 30.0
	marginTop    = 30.0
	narrowest    = 900.0  // width of the whole sheet
	widest       = 3200.0 // of a long phrase; beyond this notes move closer together
	noteSpacing  = 40.0   // wanted between the onsets of close notes
	semitoneStep = 15.0   // height of a semitone
	lowSemitone  = 7.0    // the same where the phrase spans more than manySteps
	manySteps    = 26     // semitones
	lineHeight   = 17.0
	charWidth    = 6.9 // mean width of a character at 12 px in the sheet's font
	smallChar    = 6.3 // at 11 px
	strokeTick   = 5.0 // half the height of the ticks that end a sung note
)

// sheet is a drawing in the making. y grows while strips are added from top to bottom.
type sheet struct {
	pen
	id      string // begins the ids of its elements, so that several sheets can stand in one page
	r       round.Round
	cols    []column
	xPerSec float64
	start   float64 // s on the last take's clock, at the left end of the strips
	end     float64
	shift   float64 // s to add to the answer's clock to get that of the last take
	width   float64
	y       float64
	sung    strip
	played  strip
	tableY  float64 // bottom of the table
}

// strip is a stretch of the sheet with pitch lines.
type strip struct {
	top       float64
	low, high int // MIDI numbers
	step      float64
}

func (s strip) y(pitch float64) float64 { return s.top + (float64(s.high)-pitch)*s.step }
func (s strip) bottom() float64         { return s.y(float64(s.low)) }

func newSheet(r round.Round) *sheet {
	s := &sheet{r: r, cols: columns(r), y: marginTop}
	s.shift = answerShift(r)
	s.spanTime()
	return s
}

// answerShift lays the first answered note under its sung note; without one, the first under the first.
func answerShift(r round.Round) float64 {
	for _, pair := range r.Alignment.Pairs {
		if pair.Sung != match.None && pair.Played != match.None {
			return r.Phrase[pair.Sung].Onset - r.Answer.Notes[pair.Played].Onset
		}
	}
	return r.Phrase[0].Onset - r.Answer.Notes[0].Onset
}

// spanTime chooses which time is drawn, and how wide a second is.
func (s *sheet) spanTime() {
	const air = 0.25 // s left free at both ends
	s.start, s.end = math.Inf(1), math.Inf(-1)
	closest := math.Inf(1)
	note := func(onset, offset float64) {
		s.start, s.end = math.Min(s.start, onset), math.Max(s.end, offset)
	}
	before := math.Inf(-1)
	for _, n := range s.r.Phrase {
		note(n.Onset, n.Offset)
		closest = math.Min(closest, n.Onset-before)
		before = n.Onset
	}
	for _, n := range s.r.Answer.Notes {
		note(n.Onset+s.shift, n.Offset+s.shift)
	}
	s.start, s.end = s.start-air, s.end+air
	span := s.end - s.start
	s.width = marginLeft + marginRight + span*noteSpacing/math.Max(closest, 1e-3)
	s.width = math.Round(math.Min(math.Max(s.width, narrowest), widest))
	s.xPerSec = (s.width - marginLeft - marginRight) / span
}

func (s *sheet) x(time float64) float64 { return marginLeft + (time-s.start)*s.xPerSec }

// right is where the strips end.
func (s *sheet) right() float64 { return s.width - marginRight }

// paragraph writes text over the width of the sheet from y downwards.
func (s *sheet) paragraph(class, text string, perChar float64) {
	for _, line := range wrapped(text, int((s.width-2*marginRight)/perChar)) {
		s.text(class, marginRight, s.y, line)
		s.y += lineHeight
	}
}

func (s *sheet) header() {
	const headChar = 9.3 // px, mean width of a bold character at 15 px
	s.paragraph("head", capital(Summary(s.r))+".", headChar)
	s.paragraph("soft", heading(s.r), smallChar)
	s.y += lineHeight / 2
}

// document puts the drawing into its frame, with the words for those who do not see it.
func (s *sheet) document() string {
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" class="sheet" role="img" aria-labelledby="title desc" width="%[1]s" height="%[2]s" viewBox="0 0 %[1]s %[2]s">
<title id="title">%[3]s</title>
<desc id="desc">%[4]s</desc>
<style>%[5]s</style>
%[6]s<rect class="paper" width="100%%" height="100%%"/>
%[7]s</svg>
`, coordinate(s.width), coordinate(math.Ceil(s.y)), escapedXML(capital(Summary(s.r))+"."), escapedXML(description(s.r, s.cols)), svgStyle(),
		s.clip(), s.out.String())
}

// clip keeps the curves inside the sung strip.
func (s *sheet) clip() string {
	return fmt.Sprintf("<clipPath id=\"%ssung\"><rect x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\"/></clipPath>\n", s.id,
		coordinate(marginLeft), coordinate(s.sung.top-s.sung.step), coordinate(s.right()-marginLeft), coordinate(s.sung.bottom()-s.sung.top+2*s.sung.step))
}

// description says in words what the picture shows.
func description(r round.Round, cols []column) string {
	text := "In " + r.Key.String() + ", from left to right:"
	for i, c := range cols {
		if i > 0 {
			text += ";"
		}
		switch {
		case c.sung == match.None:
			text += fmt.Sprintf(" %s played, added", c.playedLetter)
		case c.played == match.None:
			text += fmt.Sprintf(" %s (%s) sung, %s", c.letter, c.degree, c.verdict)
		default:
			text += fmt.Sprintf(" %s (%s) sung, %s played, %s", c.letter, c.degree, c.playedLetter, c.verdict)
		}
	}
	text += "."
	for i, e := range r.Finding.Evidence {
		text += fmt.Sprintf(" Evidence %s, %s: %s", evidenceMark(i), e.Kind, e.Text)
	}
	return text
}
