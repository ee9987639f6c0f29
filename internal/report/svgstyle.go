package report

import "strings"

// svgShapes is the part of the style that is the same in light and dark. Custom properties are not used, since many
// programs that show SVG do not know them.
const svgShapes = `
.sheet text{font-family:"DejaVu Sans",Verdana,sans-serif;font-size:12px}
.sheet .mid{text-anchor:middle}
.sheet .end{text-anchor:end}
.sheet text.head{font-size:15px;font-weight:bold}
.sheet text.number{font-size:13px;font-weight:bold}
.sheet text.soft,.sheet text.same,.sheet text.look{font-size:11px;stroke:none}
.sheet .rule{stroke-width:1}
.sheet .tonic{stroke-width:1.5}
.sheet .curve{fill:none;stroke-width:1.3;stroke-linejoin:round;stroke-linecap:round}
.sheet .earlier{fill:none;stroke-width:1.2;stroke-dasharray:2.5 2.5;stroke-linejoin:round}
.sheet .note{fill:none;stroke-width:2.2}
.sheet .thread{fill:none;stroke-width:1;stroke-opacity:.7}
.sheet .thread.look{stroke-dasharray:4 3}
.sheet .mark{fill:none;stroke-width:2}
.sheet .bracket{fill:none;stroke-width:1.4}
`

// ink is one set of colours: two accents, the rest between paper and ink. Text has at least 4.5:1 contrast on the paper
// (WCAG 2.1, 1.4.3; see TestContrast).
type ink struct{ paper, ink, soft, rule, tonic, asSung, look string }

var (
	onLight = ink{paper: "#faf8f3", ink: "#23282d", soft: "#5f6365", rule: "#d8d4c9", tonic: "#a39d8a", asSung: "#0a6a72", look: "#a3401b"}
	onDark  = ink{paper: "#15181b", ink: "#e4e1d8", soft: "#a2a49f", rule: "#353a3e", tonic: "#6a6d66", asSung: "#5cc3c4", look: "#f09a6c"}
)

// rules fills one set of colours into rules.
func (c ink) rules(of string) string {
	return strings.NewReplacer("PAPER", c.paper, "INK", c.ink, "SOFT", c.soft, "RULE", c.rule, "TONIC", c.tonic, "SUNG", c.asSung, "LOOK", c.look).Replace(of)
}

// svgColours are the colour rules of a sheet.
const svgColours = `.sheet .paper,.sheet .open{fill:PAPER}
.sheet text{fill:INK}
.sheet text.soft{fill:SOFT}
.sheet text.same{fill:SUNG}
.sheet text.look{fill:LOOK}
.sheet .rule{stroke:RULE}
.sheet .tonic{stroke:TONIC}
.sheet .tick,.sheet .earlier{stroke:SOFT}
.sheet .curve,.sheet .note{stroke:INK}
.sheet .same{stroke:SUNG}
.sheet .look,.sheet .bracket{stroke:LOOK}
.sheet .full{fill:SUNG}
`

// pageShapes and pageColours are for what only the pictures in a page have.
const (
	pageShapes = `.sheet .range{stroke-width:2;stroke-opacity:.45}
.sheet .dot{stroke-width:1}
.sheet .trend{stroke-width:1.5;stroke-dasharray:6 4}
.sheet .playhead{stroke-width:2;visibility:hidden}
.sheet .playhead.seen{visibility:visible}
`
	pageColours = `.sheet .range,.sheet .dot{stroke:SUNG}
.sheet .dot{fill:SUNG}
.sheet .trend{stroke:INK}
.sheet .playhead{stroke:LOOK}
`
)

// svgStyle is the whole style: light, and dark on a screen whose system asks for it; paper is always light.
func svgStyle() string { return styleOf(svgShapes, svgColours) }

// PageStyle is the style of the pictures in a page.
func PageStyle() string { return styleOf(svgShapes+pageShapes, svgColours+pageColours) }

func styleOf(shapes, colours string) string {
	return shapes + onLight.rules(colours) + "@media screen and (prefers-color-scheme:dark){\n" + onDark.rules(colours) + "}\n"
}
