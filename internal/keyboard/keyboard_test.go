package keyboard_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"larkhand/internal/keyboard"
)

func Example() {
	notes := []keyboard.Note{{0, "C", "1"}, {3, "Eb", "b3"}, {5, "F", "4"}, {6, "Gb", "b5"}, {7, "G", "5"}, {10, "Bb", "b7"}}
	for _, line := range keyboard.Text(notes) {
		fmt.Println(line)
	}
	// Output:
	//      ·     Eb          Gb    ·     Bb
	//            b3          b5          b7
	//   C     ·     ·     F     G     ·     ·
	//   1                 4     5
}

// TestEveryKeyHasItsPlace: the letters of the twelve keys stand in the order of their pitch, no two on one place.
func TestEveryKeyHasItsPlace(t *testing.T) {
	names := strings.Fields("C Db D Eb E F Gb G Ab A Bb B")
	last := -1
	for class, name := range names {
		lines := keyboard.Text([]keyboard.Note{{class, name, ""}})
		at := -1
		for _, line := range lines {
			if i := strings.Index(strings.ReplaceAll(line, "·", " "), name); i >= 0 {
				at = i
			}
		}
		if at <= last {
			t.Errorf("%s stands at %d, the key below it at %d", name, at, last)
		}
		last = at
	}
}

// TestSVG is well-formed whatever the texts are, and has each note once an octave.
func TestSVG(t *testing.T) {
	var b strings.Builder
	err := keyboard.SVG(&b, []keyboard.Note{{1, "<C#>", "&"}, {4, "E", "3"}}, 2, `"quoted" <label>`)
	if err != nil {
		t.Fatal(err)
	}
	texts := 0
	for d := xml.NewDecoder(strings.NewReader(b.String())); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if start, ok := token.(xml.StartElement); ok && start.Name.Local == "text" {
			texts++
		}
	}
	if texts != 8 {
		t.Errorf("%d texts, want a letter and a number for 2 notes in 2 octaves", texts)
	}
}
