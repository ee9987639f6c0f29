package screen

import (
	"context"
	"flag"
	"fmt"
	"io"
	"runtime"
	"slices"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/demo"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/midiin"
)

var soakRounds = flag.Int("rounds", 2, "rounds that TestRoundsThroughTheScreens practises")

// droppingSaver keeps nothing.
type droppingSaver struct{}

func (droppingSaver) Save(context.Context, practice.Finished) (string, error) { return "", nil }

// repeatedDemo is a session that hears the demo round over and over, as fast as it goes.
func repeatedDemo(setup round.Setup, folder string, count int) (*practice.Session, error) {
	take1, take2, rate, smf, meta := demo.Round()
	file, err := midiin.Parse(smf)
	if err != nil {
		return nil, err
	}
	at1, at2, _ := practice.FirstRound(setup)
	sounds := []practice.Placed{{At: at1 - meta.LoopStart, Samples: take1}, {At: at2 - meta.LoopStart, Samples: take2}}
	files := practice.NewFiles(sounds, rate, practice.Messages(file.Events, at2-meta.LoopStart+meta.AnswerStart), 30, true)
	const bars, bar = 14, 2.5 // of a round: count-in, two takes, answer, verdict; s
	files.Repeat(count, bars*bar)
	return practice.New(practice.Config{
		Setup: setup, Folder: folder, Saver: droppingSaver{}, Start: true, Rounds: count,
		Microphones: []practice.Microphone{files.Microphone()}, MIDIPorts: []practice.MIDIPort{files.MIDIPort()},
	})
}

// Rounds go through session, model and screen, each to the verdict of the first, and leave nothing behind. The long run is
//
//	go test ./internal/screen -run TestRoundsThroughTheScreens -rounds 500 -timeout 30m -v
func TestRoundsThroughTheScreens(t *testing.T) {
	const mostGrowth = 2.0 // MB from the first to the last third of the rounds; what is under way when it is measured makes 20
	count := *soakRounds
	settings := demoSettings()
	settings.FromTop, settings.Verdict = no, "1"
	folder := t.TempDir()
	m := newModel(t.Context(), io.Discard, Config{
		Settings: settings, Begin: func(_ Settings, setup round.Setup) (Session, error) { return repeatedDemo(setup, folder, count) },
	})
	m.Update(tea.WindowSizeMsg{Width: 80, Height: 24})
	_, next := m.Update(tea.KeyMsg{Type: tea.KeyEnter})
	if m.view != roundView {
		t.Fatal(m.form.refused)
	}
	var inUse []float64 // MB
	drawn, judged, first := 0, 0, ""
	for next != nil {
		_, next = m.Update(next())
		if m.View() == "" {
			t.Fatal("nothing is shown")
		}
		drawn++
		r := m.live.latest.Result
		if r == nil || r.Facts.Round == judged {
			continue
		}
		judged = r.Facts.Round
		if r.Judged == nil {
			t.Fatalf("round %d has no verdict: %s", judged, r.Reason)
		}
		verdict := fmt.Sprintf("%v %+v", r.Judged.Finding.Label, r.Judged.Alignment.Pairs)
		if first == "" {
			first = verdict
		}
		if verdict != first {
			t.Fatalf("round %d: %s; the first: %s", judged, verdict, first)
		}
		if every := max(1, count/30); judged%every == 0 {
			inUse = append(inUse, heapMB())
			t.Logf("round %d: %.1f MB in use, %d goroutines, %d screens drawn", judged, inUse[len(inUse)-1], runtime.NumGoroutine(), drawn)
		}
	}
	if m.live.failed != nil || judged != count {
		t.Errorf("%d of %d rounds were judged: %v", judged, count, m.live.failed)
	}
	third := len(inUse) / 3
	if third == 0 {
		return
	}
	if early, late := slices.Min(inUse[:third]), slices.Min(inUse[len(inUse)-third:]); late-early > mostGrowth {
		t.Errorf("the memory in use grew from %.1f to %.1f MB", early, late)
	}
}

// heapMB is the memory in use after a collection, MB.
func heapMB() float64 {
	var s runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&s)
	return float64(s.HeapAlloc) / 1e6
}
