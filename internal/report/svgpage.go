package report

import (
	"fmt"
	"math"

	"larkhand/internal/round"
)

// Picture is a drawing that stands among other text in a page. The style of its elements is [PageStyle].
type Picture struct {
	Markup string // an <svg> element whose id, and the beginning of all ids in it, is the one that was given
	Width  float64
	// The picture of a round has two upright lines with class "playhead sung" and "playhead played" at x = 0, to be moved
	// while a sound plays, and shown by the class "seen". The moment t lies at x = Zero + Scale*t, on the clock of the last take and, with PlayedZero, of the
	// answer.
	Zero, PlayedZero, Scale float64
}

// RoundPicture draws what [SVG] draws, without its sentences: see [Tell] for these.
func RoundPicture(r round.Round, id string) Picture {
	s := newSheet(r)
	s.id, s.y = id+"-", lineHeight
	s.strips()
	s.legend()
	s.playhead("sung", s.sung)
	s.playhead("played", s.played)
	return Picture{
		Markup: s.element(id, capital(Summary(r))+".", description(r, s.cols), s.clip()), Width: s.width,
		Zero: s.x(0), PlayedZero: s.x(s.shift), Scale: s.xPerSec,
	}
}

func (s *sheet) playhead(class string, st strip) {
	s.line("playhead "+class, 0, st.top-st.step, 0, st.bottom()+st.step)
}

// element puts the drawing into an element of a page, with the words for those who do not see it.
func (s *sheet) element(id, title, description, definitions string) string {
	return fmt.Sprintf(`<svg id="%[1]s" class="sheet" role="img" aria-labelledby="%[1]s-title %[1]s-desc" width="%[2]s" height="%[3]s" viewBox="0 0 %[2]s %[3]s">
<title id="%[1]s-title">%[4]s</title>
<desc id="%[1]s-desc">%[5]s</desc>
%[6]s%[7]s</svg>
`, escapedXML(id), coordinate(s.width), coordinate(math.Ceil(s.y)), escapedXML(title), escapedXML(description), definitions, s.out.String())
}
