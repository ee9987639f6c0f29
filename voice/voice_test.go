package voice_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"larkhand/internal/singer"
	"larkhand/voice"
)

func analyse(t testing.TB, samples []float32, rate int) voice.Take {
	t.Helper()
	take, err := voice.Analyse(samples, rate)
	if err != nil {
		t.Fatal(err)
	}
	return take
}

// steady is a singer without any fault: what a rendered phrase holds is then exactly known.
var steady = singer.Voice{Kind: singer.Woman, Low: 53, High: 76}

func phrase(pitches ...float64) []singer.Note {
	var notes []singer.Note
	for i, p := range pitches {
		at := 0.5 + 0.5*float64(i)
		notes = append(notes, singer.Note{Onset: at, Offset: at + 0.4, Pitch: p, Syllable: "da"})
	}
	return notes
}

func semitones(notes []voice.Note) []int {
	var out []int
	for _, n := range notes {
		out = append(out, n.Semitone)
	}
	return out
}

func TestRenderedPhrase(t *testing.T) {
	notes := phrase(60, 62, 63, 62, 60, 55)
	take := analyse(t, singer.Render(notes, steady, 44100, 1), 44100)
	if got, want := semitones(take.Notes), []int{60, 62, 63, 62, 60, 55}; !reflect.DeepEqual(got, want) {
		t.Fatalf("semitones %v, want %v", got, want)
	}
	for i, n := range take.Notes {
		if math.Abs(n.Onset-notes[i].Onset) > 0.05 { // the usual tolerance of onset scores
			t.Errorf("note %d: onset %.3f s, sung at %.3f", i, n.Onset, notes[i].Onset)
		}
		if math.Abs(n.Pitch-notes[i].Pitch) > 0.1 {
			t.Errorf("note %d: pitch %.2f, sung %.2f", i, n.Pitch, notes[i].Pitch)
		}
		if n.Unclear {
			t.Errorf("note %d is unclear", i)
		}
		if c := 100*(n.Pitch-float64(n.Semitone)) - n.ReferenceCents; math.Abs(c-n.CentreCents) > 1e-9 {
			t.Errorf("note %d: centre %.2f cents, %.2f by its definition", i, n.CentreCents, c)
		}
	}
}

func TestEveryRateGivesTheSameNotes(t *testing.T) {
	for _, rate := range []int{16000, 22050, 32000, 44100, 48000, 88200, 96000} {
		take := analyse(t, singer.Render(phrase(57, 59, 60, 64), steady, rate, 2), rate)
		if got, want := semitones(take.Notes), []int{57, 59, 60, 64}; !reflect.DeepEqual(got, want) {
			t.Errorf("%d Hz: semitones %v, want %v", rate, got, want)
		}
		if len(take.Frames) != int(take.Duration/voice.Hop+1e-6) {
			t.Errorf("%d Hz: %d frames for %.3f s", rate, len(take.Frames), take.Duration)
		}
	}
}

func TestAnyBlocksGiveTheSame(t *testing.T) {
	samples := singer.Render(phrase(60, 64), steady, 44100, 3)
	whole := analyse(t, samples, 44100)
	rapid.Check(t, func(t *rapid.T) {
		a, err := voice.NewAnalyser(44100)
		if err != nil {
			t.Fatal(err)
		}
		for rest := samples; len(rest) > 0; {
			k := min(rapid.IntRange(1, 20000).Draw(t, "block"), len(rest))
			if err := a.Write(rest[:k]); err != nil {
				t.Fatal(err)
			}
			rest = rest[k:]
		}
		take := a.Finish()
		if !reflect.DeepEqual(take.Notes, whole.Notes) {
			t.Fatalf("notes in blocks: %v, at once: %v", take.Notes, whole.Notes)
		}
		for i, f := range take.Frames {
			if w := whole.Frames[i]; f != w && !(f.F0 != f.F0 && w.F0 != w.F0 && f.Level == w.Level) { // NaN differs from itself
				t.Fatalf("frame %d in blocks: %v, at once: %v", i, f, w)
			}
		}
	})
}

// The live pitch is the same search without a look ahead: on a clean voice it
// must agree with the final one nearly everywhere, and come within 60 ms.
func TestLivePitch(t *testing.T) {
	samples := singer.Render(phrase(60, 64, 67, 62), steady, 48000, 10)
	a, err := voice.NewAnalyser(48000)
	if err != nil {
		t.Fatal(err)
	}
	const block = 480 // 10 ms
	var live []voice.Frame
	for at := 0; at+block <= len(samples); at += block {
		if err := a.Write(samples[at:][:block]); err != nil {
			t.Fatal(err)
		}
		f, ok := a.Live()
		if !ok {
			continue
		}
		if late := float64(at+block)/48000 - f.Time; late > 0.06 {
			t.Fatalf("the frame of %.2f s came %.0f ms late", f.Time, 1000*late)
		}
		live = append(live, f)
	}
	final := a.Finish().Frames
	voiced, wrong := 0, 0
	for _, f := range live {
		w := final[int(f.Time/voice.Hop+0.5)]
		if math.IsNaN(w.F0) {
			continue
		}
		voiced++
		if !(math.Abs(12*math.Log2(f.F0/w.F0)) < 0.1) {
			wrong++
		}
	}
	if voiced < 100 || wrong > voiced/20 {
		t.Errorf("%d of %d voiced frames differ between live and final pitch", wrong, voiced)
	}
}

func TestLiveAllocatesNothing(t *testing.T) {
	samples := singer.Render(phrase(60), steady, 48000, 11)
	a, err := voice.NewAnalyser(48000)
	if err != nil {
		t.Fatal(err)
	}
	for range 10 { // lets the buffers grow
		if err := a.Write(samples); err != nil {
			t.Fatal(err)
		}
	}
	n := testing.AllocsPerRun(100, func() {
		if err := a.Write(samples[:480]); err != nil {
			t.Fatal(err)
		}
		a.Live()
	})
	if n > 0.1 { // the list of frames doubles now and then
		t.Errorf("%.2f allocations a block", n)
	}
}

// A vowel with vibrato of 6 Hz and +-100 cents is one note on its centre
// (Timmers and Desain 2000: rates of 5.5 to 8 Hz, the mean is what is heard).
func TestVibratoIsOneNote(t *testing.T) {
	n := singer.Note{Onset: 0.3, Offset: 1.3, Pitch: 69, Syllable: "a", VibratoHz: 6, VibratoCents: 100}
	take := analyse(t, singer.Render([]singer.Note{n}, steady, 44100, 4), 44100)
	if len(take.Notes) != 1 {
		t.Fatalf("%d notes", len(take.Notes))
	}
	if p := take.Notes[0].Pitch; math.Abs(p-69) > 0.15 {
		t.Errorf("pitch %.2f, want 69", p)
	}
}

// A scoop of 150 ms from 200 cents below makes no note of its own (from memory: scoops last 50 to 150 ms).
func TestScoopIsNoNote(t *testing.T) {
	n := singer.Note{Onset: 0.3, Offset: 0.95, Pitch: 62, Syllable: "la", ScoopCents: 200, ScoopSeconds: 0.15}
	take := analyse(t, singer.Render([]singer.Note{n}, steady, 44100, 5), 44100)
	if len(take.Notes) != 1 {
		t.Fatalf("%d notes", len(take.Notes))
	}
	if p := take.Notes[0].Pitch; math.Abs(p-62) > 0.1 {
		t.Errorf("pitch %.2f, want 62", p)
	}
}

// A phrase that drifts by 50 cents keeps its notes (Mauch, Frieler and Dixon
// 2014: drift is common and has nothing to do with accuracy).
func TestDriftKeepsTheNotes(t *testing.T) {
	want := []int{60, 62, 64, 65, 67, 65, 64, 62, 60, 62, 64, 60}
	var pitches []float64
	for i, s := range want {
		pitches = append(pitches, float64(s)+0.5*float64(i)/float64(len(want)-1))
	}
	take := analyse(t, singer.Render(phrase(pitches...), steady, 44100, 6), 44100)
	if got := semitones(take.Notes); !reflect.DeepEqual(got, want) {
		t.Errorf("semitones %v, want %v", got, want)
	}
}

// A phrase that is sharp throughout keeps its intervals; poor-pitch singers are
// stably transposed (Pfordresher and Brown 2007).
func TestSharpPhraseKeepsItsIntervals(t *testing.T) {
	take := analyse(t, singer.Render(phrase(60.7, 62.7, 63.7, 62.7, 60.7), steady, 44100, 7), 44100)
	got := semitones(take.Notes)
	if len(got) != 5 {
		t.Fatalf("%d notes", len(got))
	}
	for i, want := range []int{0, 2, 3, 2, 0} {
		if got[i]-got[0] != want {
			t.Errorf("note %d lies %d semitones above the first, want %d", i, got[i]-got[0], want)
		}
		// The note and where the take's tuning lies must add up to what was sung.
		if sung := float64(got[i]) + (take.Notes[i].ReferenceCents+take.Notes[i].CentreCents)/100; math.Abs(sung-take.Notes[i].Pitch) > 1e-9 {
			t.Errorf("note %d: %.2f, want %.2f", i, sung, take.Notes[i].Pitch)
		}
	}
	if off := math.Abs(take.TuningCents) - 50; math.Abs(off) > 30 { // +70, or -30 from the next semitone
		t.Errorf("tuning %.0f cents, want +70 or -30", take.TuningCents)
	}
}

func TestRepeatedNote(t *testing.T) {
	two := []singer.Note{
		{Onset: 0.3, Offset: 0.68, Pitch: 60, Syllable: "da"},
		{Onset: 0.72, Offset: 1.1, Pitch: 60, Syllable: "da"},
	}
	if take := analyse(t, singer.Render(two, steady, 44100, 8), 44100); len(take.Notes) != 2 {
		t.Errorf("two syllables: %d notes", len(take.Notes))
	}
	one := []singer.Note{{Onset: 0.3, Offset: 1.1, Pitch: 60, Syllable: "da"}}
	if take := analyse(t, singer.Render(one, steady, 44100, 8), 44100); len(take.Notes) != 1 {
		t.Errorf("one syllable: %d notes", len(take.Notes))
	}
}

func TestNothingSung(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	noise, constant := make([]float32, 44100), make([]float32, 44100)
	for i := range noise {
		noise[i] = float32(0.05 * rng.NormFloat64())
		constant[i] = 0.3
	}
	for name, samples := range map[string][]float32{
		"nothing": nil, "one sample": {0.5}, "9 ms": noise[:400],
		"silence": make([]float32, 44100), "white noise": noise, "constant": constant,
	} {
		if take := analyse(t, samples, 44100); len(take.Notes) != 0 {
			t.Errorf("%s: %d notes", name, len(take.Notes))
		}
	}
}

func TestSamplesThatAreNoNumbers(t *testing.T) {
	samples := singer.Render(phrase(60, 62), steady, 44100, 9)
	samples[5000], samples[5001], samples[5002] = float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1))
	if got, want := semitones(analyse(t, samples, 44100).Notes), []int{60, 62}; !reflect.DeepEqual(got, want) {
		t.Errorf("semitones %v, want %v", got, want)
	}
	if samples[5000] == samples[5000] {
		t.Error("the caller's samples were changed")
	}
}

func TestBadParameters(t *testing.T) {
	for _, rate := range []int{-1, 0, 8000, 15999, 96001, 192000} {
		if _, err := voice.Analyse(nil, rate); err == nil || !strings.Contains(err.Error(), "16000 to 96000") {
			t.Errorf("%d Hz: error %v, want one that says what would work", rate, err)
		}
	}
	long := make([]float32, (voice.MaxSeconds+1)*16000)
	if _, err := voice.Analyse(long, 16000); err == nil || !strings.Contains(err.Error(), "longer than 10 minutes") {
		t.Errorf("too long: error %v", err)
	}
}

// Speed and memory of a take of 60 s, as one usually records it.
func BenchmarkMinute44100(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	notes := singer.Take(rng, singer.Words, steady, singer.RandomHabits(rng), 60)
	samples := singer.Render(notes, steady, 44100, 1)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := voice.Analyse(samples, 44100); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)*float64(len(samples))/44100/b.Elapsed().Seconds(), "x-real-time")
}
