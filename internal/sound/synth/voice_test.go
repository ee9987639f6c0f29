package synth

import (
	"math"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/loop"
	"larkhand/internal/music"

	"pgregory.net/rapid"
)

func mustPlain(t testing.TB, rate int) Synth {
	t.Helper()
	s, err := Plain(rate)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// bothSynths gives the plain sounds and a font.
func bothSynths(t testing.TB) map[string]Synth {
	return map[string]Synth{"plain": mustPlain(t, testRate), "font": openTiny(t, testRate)}
}

// A voice gives the same samples for a note whatever it played before and whatever the sizes of the blocks.
func TestVoiceDependsOnTheNoteOnly(t *testing.T) {
	for name, s := range bothSynths(t) {
		t.Run(name, func(t *testing.T) {
			used := s.NewVoice()
			rapid.Check(t, func(t *rapid.T) {
				e := rapid.SampledFrom(allNotes).Draw(t, "note")
				e.Key += rapid.IntRange(-2, 2).Draw(t, "key")
				e.Duration = rapid.Float64Range(0.001, 0.5).Draw(t, "duration")
				fresh := s.NewVoice()
				fresh.Start(e)
				want := make([]float32, 40000)
				fresh.Add(want)
				used.Start(e)
				got := make([]float32, len(want))
				for left := got; len(left) > 0; {
					n := min(rapid.IntRange(1, 9000).Draw(t, "block"), len(left))
					used.Add(left[:n])
					left = left[n:]
				}
				if !slices.Equal(got, want) {
					t.Fatalf("%+v sounds different", e)
				}
			})
		})
	}
}

// Every note ends, in silence: the last samples before its end are tiny, so that nothing clicks.
func TestNotesEndSmoothly(t *testing.T) {
	for name, s := range bothSynths(t) {
		for _, e := range allNotes {
			out := sound(t, s.NewVoice(), e, 1)
			if last := peak(out[len(out)-10:]); last > 2e-4 { // -74 dBFS
				t.Errorf("%s: %v ends at %v", name, e.Part, last)
			}
			if seconds := float64(len(out)) / testRate; seconds > e.Duration+1.1 {
				t.Errorf("%s: %v lasts %.2f s, %.2f s longer than the note", name, e.Part, seconds, seconds-e.Duration)
			}
			if peak(out) < 0.005 {
				t.Errorf("%s: %v peaks at %v", name, e.Part, peak(out))
			}
		}
	}
}

// The plain bass and comping sound at their pitch: the Fourier sum at the note's frequency is far above that a quarter tone beside it. (Below E2 a
// window of one second cannot tell quarter tones apart.)
func TestPlainIsInTune(t *testing.T) {
	v := mustPlain(t, testRate).NewVoice()
	for _, e := range []loop.Event{bassNote, pianoNote} {
		e.Duration = 1
		for _, key := range []int{40, 45, 52, 60, 77} {
			e.Key = key
			out := sound(t, v, e, 512)[:testRate]
			on := partial(out, music.MIDIToHz(float64(key)))
			for _, beside := range []float64{-0.5, 0.5} {
				if off := partial(out, music.MIDIToHz(float64(key)+beside)); off > on/4 {
					t.Errorf("%v, key %d: %.5f on the note, %.5f %+.1f semitones beside it", e.Part, key, on, off, beside)
				}
			}
		}
	}
}

// partial is the amplitude of a sine of a frequency in a Hann-windowed signal.
func partial(samples []float32, hz float64) float64 {
	var re, im float64
	for i, s := range samples {
		window := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(len(samples)))
		turn := 2 * math.Pi * hz * float64(i) / testRate
		re += window * float64(s) * math.Cos(turn)
		im += window * float64(s) * math.Sin(turn)
	}
	return math.Hypot(re, im) * 4 / float64(len(samples))
}

// A small speaker gives nothing below about 150 Hz; the plain bass must be heard by its overtones even on its lowest note, E1 at 41.2 Hz.
func TestPlainBassHasOvertones(t *testing.T) {
	e := bassNote
	e.Key, e.Duration = 28, 0.5
	out := sound(t, mustPlain(t, testRate).NewVoice(), e, 512)[:testRate/4]
	base := music.MIDIToHz(28)
	var above float64
	for n := 4.0; n <= 12; n++ { // 165 Hz and more
		above = math.Hypot(above, partial(out, n*base))
	}
	if whole := partial(out, base); above < whole/30 {
		t.Errorf("above 150 Hz there is %.5f beside a fundamental of %.5f", above, whole)
	}
}

func TestPlainRefuses(t *testing.T) {
	for _, rate := range []int{-1, 0, 15999, 192001} {
		if _, err := Plain(rate); err == nil || !strings.Contains(err.Error(), "16000") {
			t.Errorf("%d Hz: %v", rate, err)
		}
	}
}

func TestPlainPlaysAnyKey(t *testing.T) {
	for _, rate := range []int{MinRate, 44100, MaxRate} {
		v := mustPlain(t, rate).NewVoice()
		for key := range 128 {
			for _, e := range allNotes {
				e.Key, e.Duration = key, 0.01
				v.Start(e)
				out := make([]float32, rate/20)
				v.Add(out)
				if p := peak(out); !(p > 0 && p < 0.5) {
					t.Fatalf("%v, key %d at %d Hz peaks at %v", e.Part, key, rate, p)
				}
			}
		}
	}
}
