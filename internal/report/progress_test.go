package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"larkhand/hunt"
	"larkhand/internal/progress"
	"larkhand/internal/steps"
	"larkhand/match"
)

// stumbling is a made season of a player who corrects every other b6, and nothing else.
func stumbling(rounds int) []progress.Round {
	start := time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC)
	var out []progress.Round
	for i := range rounds {
		const perDay = 6
		at := start.AddDate(0, 0, i/perDay).Add(time.Duration(i%perDay) * 2 * time.Minute)
		r := progress.Round{At: at, Sang: true, Played: true, Key: "C minor", Tempo: 96, Label: hunt.Known, Response: 2, Seconds: 2, Agreement: progress.SamePhrase,
			Takes: [2]progress.Centring{{CentreCents: 12, SpreadCents: 20}, {CentreCents: 8, SpreadCents: 15}}}
		for j, degree := range []string{"1", "2", "b3", "5", "b6"} {
			step := 2
			if j == 0 {
				step = progress.NoStep
			}
			r.Notes = append(r.Notes, progress.Note{Degree: degree, Step: step, Verdict: match.Same, Pitch: []int{60, 62, 63, 67, 68}[j]})
		}
		if i%2 == 0 {
			r.Notes[4].Kinds, r.Label = progress.KindOf(hunt.Correction), hunt.Searched
		}
		out = append(out, r)
	}
	return out
}

// writing is the same player, who writes the steps down; in Gb major, every fourth round, the letters go wrong at b3 three times in four.
func writing(rounds int) []progress.Round {
	list := stumbling(rounds)
	for i := range list {
		r := &list[i]
		names := progress.LinkResult{Name: steps.Names, Compared: len(r.Notes)}
		if i%4 == 1 {
			r.Key = "Gb major"
			if i%16 != 1 {
				names.Failed, names.Notes = true, []int{2}
			}
		}
		r.Links = []progress.LinkResult{{Name: steps.Voice, Compared: len(r.Notes), Failed: i == 7}, {Name: steps.Ear, Compared: len(r.Notes)}, names, {Name: steps.Fingers, Compared: len(r.Notes)}}
	}
	return list
}

func TestProgressText(t *testing.T) {
	testProgressText(t, "progress.txt", stumbling(60))
}

func TestProgressTextOfLinks(t *testing.T) {
	testProgressText(t, "progress_links.txt", writing(96))
}

func testProgressText(t *testing.T, name string, rounds []progress.Round) {
	var b bytes.Buffer
	v := ProgressView{Player: "Miravel", Progress: progress.Of(rounds)}
	if err := v.Text(&b, false); err != nil {
		t.Fatal(err)
	}
	golden(t, name, b.Bytes())
	for _, line := range strings.Split(b.String(), "\n") {
		if utf8.RuneCountInString(line) > pageWidth {
			t.Errorf("wider than %d characters: %q", pageWidth, line)
		}
	}
	if !strings.Contains(b.String(), "\n* b6 ") {
		t.Error("the degree with all the trouble does not stand out")
	}
}

// The table over time keeps to the newest sessions, and says so.
func TestProgressTextOfManySessions(t *testing.T) {
	for _, c := range []struct{ sessions, lines int }{{mostLines, mostLines}, {mostLines + 1, mostLines}, {100, mostLines}} {
		var b bytes.Buffer
		const perDay = 6
		g := progress.Of(stumbling(c.sessions * perDay))
		if err := (ProgressView{Progress: g}).Text(&b, false); err != nil {
			t.Fatal(err)
		}
		text := b.String()
		lines := strings.Count(text, "  2.0 (2.0 to 2.0) ")
		newest := g.Points[len(g.Points)-1].From.Format(dayLayout)
		said := strings.Contains(text, fmt.Sprintf("newest %d of %d sessions", mostLines, c.sessions))
		if lines != c.lines || !strings.Contains(text, "\n"+newest) || said != (c.sessions > mostLines) {
			t.Errorf("%d sessions: %d lines, want %d; said so: %v\n%s", c.sessions, lines, c.lines, said, text)
		}
	}
}

func TestProgressOfNothing(t *testing.T) {
	var text, data bytes.Buffer
	v := ProgressView{Progress: progress.Of(nil)}
	if err := v.Text(&text, true); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text.String(), "A player without a name: no rounds") || strings.Contains(text.String(), "NaN") {
		t.Errorf("text of no rounds: %q", text.String())
	}
	if err := v.JSON(&data); err != nil {
		t.Fatal(err)
	}
	var d map[string]any
	if err := json.Unmarshal(data.Bytes(), &d); err != nil {
		t.Fatal(err)
	}
	if d["from"] != nil || len(d["points"].([]any)) != 0 || d["next"].(map[string]any)["tempo"] != nil {
		t.Errorf("JSON of no rounds: %s", data.String())
	}
}

// TestProgressJSON reads the document back.
func TestProgressJSON(t *testing.T) {
	var b bytes.Buffer
	if err := (ProgressView{Player: "Miravel", Progress: progress.Of(stumbling(60))}).JSON(&b); err != nil {
		t.Fatal(err)
	}
	var d ProgressDocument
	if err := json.Unmarshal(b.Bytes(), &d); err != nil {
		t.Fatal(err)
	}
	if d.Schema != ProgressSchema || d.Summary.Rounds != 60 || d.Summary.Known.Hits != 30 || len(d.Trouble) != 4 || d.Sessions != 10 {
		t.Errorf("%+v", d)
	}
	for _, c := range d.Trouble[0].Cells {
		want := 0
		if c.Name == "b6" {
			want = 30
		}
		if c.Rounds.Hits != want || c.Kinds["correction"] != want || c.Named != (want > 0) {
			t.Errorf("cell %+v", c)
		}
	}
	if d.Steps != 0 || d.Links == nil || len(d.Links) != 0 {
		t.Errorf("links without written steps: %+v", d.Links)
	}
	if n := d.Next; n.Rung < 1 || n.Name == "" || n.Chance <= 0 || n.Chance >= 1 || n.Length < 1 || n.Direction == "" {
		t.Errorf("next %+v", n)
	}
	if math.IsNaN(float64(d.Recent.Response)) || d.Recent.Response != 2 {
		t.Errorf("recent response %v s, want 2", d.Recent.Response)
	}
}

func TestProgressJSONOfLinks(t *testing.T) {
	var b bytes.Buffer
	if err := (ProgressView{Player: "Miravel", Progress: progress.Of(writing(96))}).JSON(&b); err != nil {
		t.Fatal(err)
	}
	var d ProgressDocument
	if err := json.Unmarshal(b.Bytes(), &d); err != nil {
		t.Fatal(err)
	}
	if d.Steps != 96 || len(d.Links) != 4 || d.Summary.Response.N != 0 {
		t.Fatalf("%d rounds with steps, links %+v, %d response times", d.Steps, d.Links, d.Summary.Response.N)
	}
	for _, l := range d.Links {
		if named := l.Name == "numbers to letters"; l.Named != named || l.Failed.Trials != 96 || named && l.Failed.Hits != 18 || len(l.Where) != 3 {
			t.Errorf("link %+v", l)
		}
		for _, w := range l.Where {
			for _, c := range w.Cells {
				if want := l.Name == "numbers to letters" && (c.Name == "Gb major" || c.Name == "b3"); c.Named != want {
					t.Errorf("%s, %s %s: named %v", l.Name, w.By, c.Name, c.Named)
				}
			}
		}
	}
}
