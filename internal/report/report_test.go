package report

import (
	"bytes"
	"testing"

	"larkhand/internal/round"
)

var rounds = map[string]func(testing.TB) round.Round{
	"searched": searchedRound, "known": knownRound, "long": longRound, "written": writtenRound,
}

func TestGoldenText(t *testing.T) {
	for name, make := range rounds {
		var b bytes.Buffer
		if err := Text(&b, make(t), false); err != nil {
			t.Fatal(err)
		}
		golden(t, "text_"+name+".golden", b.Bytes())
	}
}

func TestGoldenSVG(t *testing.T) {
	for name, make := range rounds {
		var b bytes.Buffer
		if err := SVG(&b, make(t)); err != nil {
			t.Fatal(err)
		}
		golden(t, "svg_"+name+".svg", b.Bytes())
	}
}
