package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"
)

// listed is a list of two rounds, and an error after them where there is one.
func listed(failed error) HistoryView {
	response, tempo := 1.26, 96.0
	at := time.Date(2026, 11, 3, 18, 30, 0, 0, time.UTC)
	rows := []Row{
		{Number: 12, At: at, Sang: "=Mira", Played: "Tobrin, \"the\" second", Key: "C harmonic minor", Tempo: &tempo, Phrase: []string{"1", "b3"}, Label: "known",
			Searched: 0.1, Response: &response, Same: 1, Different: 1, Program: "v1", Misheard: true, PhraseName: "@Rain", Numbers: "-1 b3", Letters: "c eb",
			Weak: []string{"voice", "letters to fingers"}, Pieces: 2},
		{Number: 3, At: at, Key: "C minor", Phrase: []string{"1"}, Label: "unsure", Searched: 0.5, LeftOut: 1, Program: "v1"},
	}
	return HistoryView{Total: 2, Rows: func(yield func(Row, error) bool) {
		for _, row := range rows {
			if !yield(row, nil) {
				return
			}
		}
		if failed != nil {
			yield(Row{}, failed)
		}
	}}
}

func TestHistoryText(t *testing.T) {
	var b bytes.Buffer
	if err := listed(nil).Text(&b, false); err != nil {
		t.Fatal(err)
	}
	want := `number  began             who                   key           same    finding   response
    12  2026-11-03 18:30  =Mira, Tobrin, "the…  C harmonic …  1 of 2  known     1.3 s  misheard
     3  2026-11-03 18:30  -                     C minor       0 of 1  unsure    -
`
	if b.String() != want {
		t.Errorf("got\n%swant\n%s", b.String(), want)
	}
}

func TestHistoryCSV(t *testing.T) {
	var b bytes.Buffer
	if err := listed(nil).CSV(&b); err != nil {
		t.Fatal(err)
	}
	want := strings.Join(historyColumns, ",") + `
12,2026-11-03T18:30:00Z,'=Mira,"Tobrin, ""the"" second",C harmonic minor,96.0,1 b3,1,1,0,0,0,known,0.100,1.260,v1,true,'@Rain,'-1 b3,c eb,voice; letters to fingers,2
3,2026-11-03T18:30:00Z,,,C minor,,1,0,0,1,0,0,unsure,0.500,,v1,false,,,,,1
`
	if b.String() != want {
		t.Errorf("got\n%swant\n%s", b.String(), want)
	}
}

func TestHistoryJSON(t *testing.T) {
	var b bytes.Buffer
	if err := listed(nil).JSON(&b); err != nil {
		t.Fatal(err)
	}
	var d HistoryDocument
	if err := json.Unmarshal(b.Bytes(), &d); err != nil {
		t.Fatal(err)
	}
	if d.Schema != HistorySchema || d.Total != 2 || len(d.Rounds) != 2 || d.Rounds[0].Sang != "=Mira" || d.Rounds[0].Tempo != 96 || d.Rounds[1].Label != "unsure" || !d.Rounds[0].Misheard ||
		d.Rounds[0].PhraseName != "@Rain" || d.Rounds[0].Numbers != "-1 b3" || d.Rounds[0].Letters != "c eb" || len(d.Rounds[0].Weak) != 2 || d.Rounds[0].Pieces != 2 || d.Rounds[1].Pieces != 1 {
		t.Errorf("%+v", d)
	}
	if !strings.Contains(b.String(), `"weak":[]`) {
		t.Error("no weak links are not an empty list")
	}
	if !strings.Contains(b.String(), `"response_seconds":null`) {
		t.Error("a response time that is not known is not null")
	}
}

// TestHistoryFails: an error of the list ends every format with it.
func TestHistoryFails(t *testing.T) {
	broken := errors.New("the rounds could not be read")
	for name, write := range map[string]func(HistoryView) error{
		"text": func(v HistoryView) error { return v.Text(&bytes.Buffer{}, true) },
		"CSV":  func(v HistoryView) error { return v.CSV(&bytes.Buffer{}) },
		"JSON": func(v HistoryView) error { return v.JSON(&bytes.Buffer{}) },
	} {
		if err := write(listed(broken)); !errors.Is(err, broken) {
			t.Errorf("%s: error %v", name, err)
		}
	}
}

func TestHistoryWords(t *testing.T) {
	row := Row{Number: 4, At: time.Date(2026, 11, 3, 18, 30, 0, 0, time.UTC), Sang: "Mira", Played: "Tobrin", Key: "C minor", Phrase: []string{"1"}, Label: "known"}
	if got, want := HistoryTitle(row), "Round 4, 2026-11-03 18:30, Mira sang, Tobrin played: 1 note in C minor, known"; got != want {
		t.Errorf("title %q, want %q", got, want)
	}
	row.PhraseName, row.Misheard = "Rain", true
	if got, want := HistoryTitle(row), "Round 4, 2026-11-03 18:30, Mira sang, Tobrin played: 1 note of \"Rain\" in C minor, known; marked as misheard, so it counts nowhere"; got != want {
		t.Errorf("title %q, want %q", got, want)
	}
	before := Outcome{Label: "known", Same: 4}
	after := Outcome{Label: "searched", Same: 3, Different: 1, LeftOut: 1}
	if got, want := Change(before, after), "known -> searched; same 4 -> 3; different 0 -> 1; left out 0 -> 1"; got != want {
		t.Errorf("change %q, want %q", got, want)
	}
	if got := Change(before, before); got != "nothing changed" {
		t.Errorf("no change is %q", got)
	}
}

// TestColumns: columns stand under one another whatever the script. The widths are those of Unicode Standard Annex 11 (wide letters and
// emoji take two cells).
func TestColumns(t *testing.T) {
	for name, want := range map[string]string{"Mira": "Mira    ", "Zoe\u0308": "Zoe\u0308     ", "歌う": "歌う    ", "🎵 Mira": "🎵 Mira ", "歌う人たち": "歌う人… "} {
		if got := filledTo(name, 8); got != want {
			t.Errorf("%q became %q, want %q", name, got, want)
		}
	}
}
