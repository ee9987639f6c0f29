package reportpage_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"larkhand/hunt"
	"larkhand/internal/demo"
	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/progress"
	"larkhand/internal/report"
	"larkhand/internal/reportpage"
	"larkhand/internal/round"
	"larkhand/internal/steps"
	"larkhand/match"
	"larkhand/midiin"
)

// hostile is a name with all that a page could stumble over: markup, quotes, a template, an emoji, right-to-left letters and marks.
const hostile = `<script>alert(1)</script> "Ann's" & {{.}} 🎹 אבג ` + "\u202e" + `x</title><img src=x onerror=alert(2)>`

var made = time.Date(2026, 11, 25, 18, 30, 0, 0, time.UTC)

// demoRound is the demo's round, judged, with its sounds.
func demoRound(t testing.TB, number int64, name string) reportpage.Round {
	t.Helper()
	first, second, rate, answer, meta := demo.Round()
	key, err := music.ParseKey(meta.Key)
	must(t, err)
	chart, err := music.ParseChart(meta.Chart)
	must(t, err)
	l, err := loop.New(chart, meta.Tempo, meta.LoopStart)
	must(t, err)
	r := reportpage.Round{Row: row(number, name, "searched")}
	var takes []round.Take
	for i, samples := range [][]float32{first, second} {
		take, err := round.SungTake(fmt.Sprintf("%s take%d.wav", name, i+1), samples, rate)
		must(t, err)
		takes = append(takes, take)
		sound, err := reportpage.Compact(samples, rate)
		must(t, err)
		r.Takes = append(r.Takes, sound)
	}
	file, err := midiin.Parse(answer)
	must(t, err)
	notes, _ := midiin.Notes(file, midiin.Options{})
	r.Judged, err = round.Judge(takes, round.Answer{File: name, Notes: notes}, round.Options{Key: &key, Loop: &l, AnswerStarts: &meta.AnswerStart})
	must(t, err)
	r.Judged.Remarks = append(r.Judged.Remarks, name)
	r.Answer, err = reportpage.AnswerSound(r.Judged.Answer.Notes)
	must(t, err)
	return r
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func row(number int64, name, label string) reportpage.Row {
	response := 1.4
	return reportpage.Row{Number: number, At: made.AddDate(0, 0, -int(number%60)), Sang: name, Played: name, Key: "C minor", Phrase: []string{"1", "2", "3", "4", "6", "#7", "1"}, Same: 7,
		Label: label, Response: &response}
}

// season is a player's rounds, as many in each of so many sessions, with trouble at degree b6 and answers that get quicker.
func season(sessions, each int) []progress.Round {
	r := rand.New(rand.NewPCG(1, 2))
	var list []progress.Round
	for s := range sessions {
		for i := range each {
			one := progress.Round{
				At: made.AddDate(0, 0, 3*(s-sessions)).Add(time.Duration(4*i) * time.Minute), Sang: true, Played: true, Key: []string{"C minor", "Eb major"}[i%2], Tempo: 96,
				Label: hunt.Known, Response: 3 - float64(s)*0.03 + r.Float64(), Agreement: progress.SamePhrase,
			}
			for t := range one.Takes {
				one.Takes[t] = progress.Centring{CentreCents: 6 + 4*r.Float64(), SpreadCents: 14 + 5*r.Float64()}
			}
			for k, degree := range []string{"1", "b3", "5", "b6", "5"} {
				note := progress.Note{Degree: degree, Step: []int{progress.NoStep, 3, 4, 1, -1}[k], Verdict: match.Same}
				if degree == "b6" && r.Float64() < 0.5 {
					note.Kinds, one.Label = progress.KindOf(hunt.Correction), hunt.Searched
				}
				one.Notes = append(one.Notes, note)
			}
			list = append(list, one)
		}
	}
	return list
}

// withSteps lets the player write the steps down in a season's rounds; letters go wrong in Eb major, three times in four.
func withSteps(rounds []progress.Round) []progress.Round {
	for i := range rounds {
		r := &rounds[i]
		names := progress.LinkResult{Name: steps.Names, Compared: len(r.Notes), Failed: r.Key == "Eb major" && i%8 != 1}
		if names.Failed {
			names.Notes = []int{i % len(r.Notes)}
		}
		r.Links = []progress.LinkResult{{Name: steps.Voice, Compared: len(r.Notes)}, {Name: steps.Ear, Compared: len(r.Notes)}, names, {Name: steps.Fingers, Compared: len(r.Notes)}}
	}
	return rounds
}

// written writes a report to a file of the test.
func written(t testing.TB, r reportpage.Report) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "report.html")
	f, err := os.Create(path)
	must(t, err)
	must(t, reportpage.Write(f, r))
	must(t, f.Close())
	return path
}

// full is a report with everything on it, of a player with such a name.
func full(t testing.TB, name string) reportpage.Report {
	t.Helper()
	rounds := season(20, 6)
	withSteps(rounds[60:])
	r := reportpage.Report{Made: made, Program: "larkhand test", Choice: "Rounds since 2026-09-01", Total: 120, Remarks: []string{name + " has a broken file."},
		Players: []report.ProgressView{{Player: name, Progress: progress.Of(rounds)}}}
	one := demoRound(t, 120, name)
	two := one
	two.Number = 119
	two.Remarks = []string{name}
	r.Rounds = []reportpage.Round{one, two}
	for number := int64(120); number > 0; number-- {
		r.Rows = append(r.Rows, row(number, name, []string{"known", "searched", "unsure"}[number%3]))
	}
	return r
}
