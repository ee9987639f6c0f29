package report

import (
	"encoding/xml"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// pen writes SVG elements. Coordinates are user units, one CSS pixel at full size, y downwards.
type pen struct{ out strings.Builder }

// coordinate writes x with one digit after the point: a tenth of a pixel is finer than anyone sees.
func coordinate(x float64) string {
	const digits = 1
	return strconv.FormatFloat(float64(rounded(x, digits)), 'f', -1, 64)
}

// escaped is text that may stand in an element or an attribute. Characters that XML cannot hold become U+FFFD.
func escapedXML(text string) string {
	var b strings.Builder
	xml.EscapeText(&b, []byte(text)) // a strings.Builder does not fail
	return b.String()
}

func (p *pen) raw(markup string) { p.out.WriteString(markup + "\n") }

func (p *pen) line(class string, x1, y1, x2, y2 float64) {
	p.raw(fmt.Sprintf(`<line class="%s" x1="%s" y1="%s" x2="%s" y2="%s"/>`, class,
		coordinate(x1), coordinate(y1), coordinate(x2), coordinate(y2)))
}

func (p *pen) circle(class string, x, y, radius float64) {
	p.raw(fmt.Sprintf(`<circle class="%s" cx="%s" cy="%s" r="%s"/>`, class, coordinate(x), coordinate(y), coordinate(radius)))
}

// cross draws an upright cross (a plus) or, slanted, the letter x; arm is the length of an arm.
func (p *pen) cross(class string, x, y, arm float64, slanted bool) {
	if slanted {
		arm *= math.Sqrt2 / 2
		p.raw(fmt.Sprintf(`<path class="%s" d="M%s %sL%s %sM%s %sL%s %s"/>`, class,
			coordinate(x-arm), coordinate(y-arm), coordinate(x+arm), coordinate(y+arm),
			coordinate(x-arm), coordinate(y+arm), coordinate(x+arm), coordinate(y-arm)))
		return
	}
	p.raw(fmt.Sprintf(`<path class="%s" d="M%s %sH%sM%s %sV%s"/>`, class,
		coordinate(x-arm), coordinate(y), coordinate(x+arm), coordinate(x), coordinate(y-arm), coordinate(y+arm)))
}

// text writes text whose anchor (class "end", "mid" or none for the start) is at x.
func (p *pen) text(class string, x, y float64, text string) {
	p.raw(fmt.Sprintf(`<text class="%s" x="%s" y="%s">%s</text>`, class, coordinate(x), coordinate(y), escapedXML(text)))
}

// polyline draws a path through points; breaks are where a new stroke begins.
func (p *pen) polyline(class, clip string, strokes [][][2]float64) {
	var d strings.Builder
	for _, stroke := range strokes {
		for i, at := range stroke {
			command := "L"
			if i == 0 {
				command = "M"
			}
			d.WriteString(command + coordinate(at[0]) + " " + coordinate(at[1]))
		}
	}
	if d.Len() == 0 {
		return
	}
	p.raw(fmt.Sprintf(`<path class="%s" clip-path="url(#%s)" d="%s"/>`, class, clip, d.String()))
}
