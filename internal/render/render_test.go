package render

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// keysOf is a made-up phrase with a repeat, leaps and steps.
var (
	keysOf      = []int{60, 62, 64, 64, 67, 65, 59, 60}
	onsetsOf    = []float64{0, 0.2, 0.4, 0.6, 0.8, 1.1, 1.3, 1.5}
	durationsOf = []float64{0.2, 0.2, 0.15, 0.2, 0.2, 0.2, 0.2, 0.5}
)

// perform sings the phrase in a style.
func perform(style Style, pace float64) []Note {
	return Perform(rand.New(rand.NewPCG(1, uint64(style))), style, pace, keysOf, onsetsOf, durationsOf)
}

func TestPerformances(t *testing.T) {
	for style := range Styles {
		for _, pace := range []float64{0.08, 0.2} {
			notes := perform(style, pace)
			if err := check(notes); err != nil {
				t.Errorf("%s: %v", style, err)
			}
			if len(notes) < len(keysOf) || (style != Enclosures && len(notes) != len(keysOf)) {
				t.Errorf("%s: %d notes of %d keys", style, len(notes), len(keysOf))
			}
			for i := 1; i < len(notes); i++ {
				least := briefest * pace
				if style == Enclosures {
					least /= 3
				}
				if gap := notes[i].Onset - notes[i-1].Onset; gap < least-1e-9 {
					t.Errorf("%s at %v s: interval %v s", style, pace, gap)
				}
			}
		}
	}
}

func TestStylesDoWhatTheySay(t *testing.T) {
	some := func(style Style, so func(Note) bool) bool {
		rng := rand.New(rand.NewPCG(1, 1))
		for range 10 {
			if slices.ContainsFunc(Perform(rng, style, 0.3, keysOf, onsetsOf, durationsOf), so) {
				return true
			}
		}
		return false
	}
	for _, c := range []struct {
		style Style
		so    func(Note) bool
	}{
		{Hummed, func(n Note) bool { return n.Syllable == "" }},
		{Soft, func(n Note) bool { return n.LevelDB <= -6 && n.LevelDB >= -14 }},
		{Ghosts, func(n Note) bool { return n.LevelDB <= -12 && n.LevelDB >= -20 }},
		{Scoops, func(n Note) bool { return n.ScoopCents >= 100 }},
		{Falls, func(n Note) bool { return n.FallCents >= 200 }},
	} {
		if !some(c.style, c.so) {
			t.Errorf("%s: no note is so", c.style)
		}
		if some(La, c.so) {
			t.Errorf("%s: a plain la is so too", c.style)
		}
	}
}

func TestPitchCurve(t *testing.T) {
	notes := []Note{
		{Onset: 0.5, Offset: 1, Pitch: 60, Syllable: "ba", ScoopCents: 200},
		{Onset: 1, Offset: 1.5, Pitch: 64},
		{Onset: 1.5, Offset: 2, Pitch: 62, Syllable: "da", FallCents: 300},
	}
	for _, c := range []struct{ at, want float64 }{
		{0.5, 58}, {0.7, 60}, {0.9, 60}, // the scoop has gone
		{1, 62}, {1.2, 64}, // the slur is half way at the onset
		{1.5, 62}, {1.7, 62}, // a syllable has arrived at its onset
		{2, 59}, // the fall
	} {
		if got := pitchAt(notes, c.at); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("pitch %v at %v s, want %v", got, c.at, c.want)
		}
	}
}

func TestLevelCurve(t *testing.T) {
	notes := []Note{
		{Onset: 0.5, Offset: 1, Pitch: 60, Syllable: "m"},
		{Onset: 1, Offset: 1.5, Pitch: 60, Syllable: "m", LevelDB: -15},
	}
	for _, c := range []struct{ at, least, most float64 }{
		{0.2, silentDB, silentDB},      // before the voice
		{0.8, 0, 0},                    // in the note
		{0.99, -15 - 12, -15 - 12 + 1}, // in the dip before the repeat
		{1.2, -15, -15},                // the ghost note
		{1.6, silentDB, silentDB},      // after the voice
	} {
		if got := levelAt(notes, c.at, false); got < c.least-1e-6 || got > c.most+1e-6 {
			t.Errorf("level %v dB at %v s, want %v to %v", got, c.at, c.least, c.most)
		}
	}
}

func TestCheck(t *testing.T) {
	for _, bad := range [][]Note{
		{{Onset: 0.5, Offset: 1, Pitch: 60}},
		{{Onset: 0.5, Offset: 1, Pitch: 60, Syllable: "strength"}},
		{{Onset: 0.5, Offset: 0.5, Pitch: 60, Syllable: "ba"}},
		{{Onset: 0.5, Offset: 1, Pitch: 60, Syllable: "ba"}, {Onset: 0.9, Offset: 1.2, Pitch: 62, Syllable: "ba"}},
		{{Onset: 0.5, Offset: 1, Pitch: math.NaN(), Syllable: "ba"}},
		{{Onset: 0.5, Offset: 1, Pitch: 60, Syllable: "ba"}, {Onset: 1.2, Offset: 1.4, Pitch: 62}},
	} {
		if check(bad) == nil {
			t.Errorf("%+v passes", bad)
		}
	}
}

// TestRenderersKeepTheTruth: the middle of every note has the pitch that the truth says, whatever the pace, found by normalised
// correlation up to a fifth around it.
func TestRenderersKeepTheTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	phrases := [][]Note{perform(Scat, 0), perform(Runs, 0.15), perform(Runs, 0.1), perform(Hummed, 0)}
	for _, r := range All() {
		t.Run(r.Name(), func(t *testing.T) {
			if missing := r.Missing(); missing != "" {
				t.Skip("skipped: " + missing)
			}
			sounds, err := r.Render(context.Background(), phrases)
			if err != nil {
				t.Fatal(err)
			}
			right, all := 0, 0
			for i, s := range sounds {
				if !slices.Equal(s.Notes, phrases[i]) {
					t.Fatalf("phrase %d: the truth is not what was asked for", i)
				}
				if want := length(phrases[i]); math.Abs(float64(len(s.Samples))/Rate-want) > lengthSlack {
					t.Errorf("phrase %d lasts %.2f s, want %.2f s", i, float64(len(s.Samples))/Rate, want)
				}
				for k, n := range s.Notes {
					all++
					got := soundingPitch(s.Samples, n, voiceEnd(s.Notes, k))
					if math.Abs(got-n.Pitch) < 0.4 {
						right++
						continue
					}
					t.Logf("phrase %d note %d sounds at %.2f, want %.2f", i, k, got, n.Pitch)
				}
			}
			// Formants near a harmonic may win in a note or two.
			if float64(right) < 0.93*float64(all) {
				t.Errorf("%d of %d notes sound at their pitch", right, all)
			}
		})
	}
}

// soundingPitch is the pitch in the middle of a note.
func soundingPitch(samples []float32, n Note, end float64) float64 {
	const reach = 7.0 // semitones
	window := int(2.5 * Rate / hertz(n.Pitch))
	shortest, longest := int(Rate/hertz(n.Pitch+reach)), int(Rate/hertz(n.Pitch-reach))
	start := int((n.Onset+end)/2*Rate) - (window+longest)/2
	x := make([]float64, window+longest+1)
	for i := range x {
		if k := start + i; k >= 0 && k < len(samples) {
			x[i] = float64(samples[k])
		}
	}
	best, at := -1.0, 0
	for lag := shortest; lag <= longest; lag++ {
		if l := likeness(x[:window], x[lag:lag+window]); l > best {
			best, at = l, lag
		}
	}
	return 69 + 12*math.Log2(Rate/float64(at)/440)
}

func TestSameInputSameSound(t *testing.T) {
	phrases := [][]Note{perform(Scat, 0)}
	for _, r := range All() {
		if r.Missing() != "" {
			continue
		}
		a, err := r.Render(context.Background(), phrases)
		if err != nil {
			t.Fatal(err)
		}
		b, err := r.Render(context.Background(), phrases)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(a[0].Samples, b[0].Samples) {
			t.Errorf("%s: two renderings differ", r.Name())
		}
	}
}

func TestRenderersRefuseBadPhrases(t *testing.T) {
	for _, r := range All() {
		if r.Missing() != "" {
			continue
		}
		if _, err := r.Render(context.Background(), [][]Note{{{Onset: 0.5, Offset: 1, Pitch: 60}}}); err == nil {
			t.Errorf("%s sings a phrase that starts without a syllable", r.Name())
		}
	}
}

// TestDetuning: a tone 30 cents above its key is measured as such.
func TestDetuning(t *testing.T) {
	samples := make([]float64, Rate)
	for i := range samples {
		for k := 1; k <= 5; k++ {
			samples[i] += 0.1 / float64(k) * math.Sin(2*math.Pi*float64(k)*hertz(57.3)*float64(i)/Rate)
		}
	}
	if got := measureDetuning(samples, 57).at(0.4); math.Abs(got-0.3) > 0.02 {
		t.Errorf("%v semitones, want 0.3", got)
	}
}
