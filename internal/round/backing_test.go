package round

import (
	"math"
	"strings"
	"testing"

	"larkhand/internal/bleed"
	"larkhand/internal/singer"
)

// heardTune is the tune sung by the synthesizer, as package bleed would hand it over with a given power of the loop left.
func heardTune(left float64, verdict bleed.Verdict) bleed.Result {
	const rate, seed = 16000, 7
	var notes []singer.Note
	for i, p := range tune {
		onset := 0.5 + beat*float64(i)
		notes = append(notes, singer.Note{Onset: onset, Offset: onset + length, Pitch: float64(p), Syllable: "da"})
	}
	r := bleed.Result{Samples: singer.Render(notes, singer.Baritone, rate, seed), Rate: rate, Present: true, Method: bleed.Fixed, Verdict: verdict,
		BleedDB: -6, ResidualDB: -30}
	for range int(float64(len(r.Samples)) / rate / bleed.LeftFrame) {
		r.LeftPower = append(r.LeftPower, left)
	}
	return r
}

// With little left the notes are clear; with much left they are unclear and counted; with too much the take is refused.
func TestTakeWithoutBleed(t *testing.T) {
	clear, err := TakeWithoutBleed("take.wav", heardTune(1e-9, bleed.Usual))
	if err != nil {
		t.Fatal(err)
	}
	if len(clear.Voice.Notes) != len(tune) || clear.Bleed == nil || clear.Bleed.Unclear != 0 || clear.Bleed.LevelDB != -6 {
		t.Errorf("%d notes, bleed %+v; want %d clear ones at -6 dB", len(clear.Voice.Notes), clear.Bleed, len(tune))
	}
	power := 0.0
	loud := heardTune(0, bleed.Marked)
	for _, v := range loud.Samples {
		power += float64(v) * float64(v) / float64(len(loud.Samples))
	}
	marked, err := TakeWithoutBleed("take.wav", heardTune(power, bleed.Marked))
	if err != nil {
		t.Fatal(err)
	}
	for i, n := range marked.Voice.Notes {
		if !n.Unclear {
			t.Errorf("note %d is clear with as much of the loop left as there is voice", i+1)
		}
	}
	if marked.Bleed.Unclear != len(tune) || !strings.Contains(strings.Join(marked.Remarks, " "), "7 notes are unclear") {
		t.Errorf("bleed %+v, remarks %q", marked.Bleed, marked.Remarks)
	}
	for _, v := range []bleed.Verdict{bleed.NoVerdict, bleed.Unusable} {
		if _, err := TakeWithoutBleed("take.wav", heardTune(power, v)); err == nil || !strings.Contains(err.Error(), "headphones") {
			t.Errorf("verdict %v: error %v", v, err)
		}
	}
}

// What sounds where nobody sings is no note.
func TestNoNotesInTheCountIn(t *testing.T) {
	r := heardTune(1e-9, bleed.Usual)
	r.VoiceFree = []bleed.Span{{From: 0, To: 0.5 + 2*beat}} // the first two notes stand for what is left of the loop
	take, err := TakeWithoutBleed("take.wav", r)
	if err != nil {
		t.Fatal(err)
	}
	if len(take.Voice.Notes) != len(tune)-2 {
		t.Errorf("%d notes, want %d", len(take.Voice.Notes), len(tune)-2)
	}
	if got := leftBeside(take.Voice.Notes[0], bleed.Result{}); !math.IsInf(got, -1) {
		t.Errorf("without any power left %g dB, want -Inf", got)
	}
}
