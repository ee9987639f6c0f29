package singer

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

const testRate = 32000

// The pitch of steady vowels over all voice types, 65 to 1047 Hz, at each quarter of the range. 5 cents: what a plain
// autocorrelation can be trusted to on 0.3 s.
func TestPitchOfSteadyVowels(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	for _, v := range types {
		for quarter := 0.0; quarter <= 4; quarter++ {
			pitch := v.Low + (v.High-v.Low)*quarter/4
			for _, syllable := range []Syllable{"a", "i", "u", "m"} {
				notes := []Note{{Onset: 0.2, Offset: 0.7, Pitch: pitch, DetuneCents: 13, Syllable: syllable}}
				x := Render(notes, v, testRate, 1)
				got := plainPitch(slice(x, 0.4, 0.55, testRate), testRate)
				if off := centsOff(got, hertz(notes[0].Sounding())); math.Abs(off) > 5 {
					t.Errorf("kind %d, %q at %.2f: %.2f Hz, %+.1f cents off", v.Kind, syllable, pitch, got, off)
				}
			}
		}
	}
}

// Jitter and flutter must not move the mean pitch: 0.8 s, so that 4 cents of flutter average out to under 2.
func TestUnsteadyVoiceKeepsItsPitch(t *testing.T) {
	v := Tenor
	v.JitterRatio, v.ShimmerDB, v.Flutter, v.BreathDB = 0.005, 0.3, 4, -26
	sum := 0.0
	const takes = 8
	for seed := range uint64(takes) {
		x := Render([]Note{{Onset: 0.1, Offset: 1.1, Pitch: 55, Syllable: "a"}}, v, 16000, seed)
		for from := 0.2; from < 0.99; from += 0.1 {
			sum += centsOff(plainPitch(slice(x, from, from+0.1, 16000), 16000), hertz(55)) / (takes * 8)
		}
	}
	if math.Abs(sum) > 5 {
		t.Errorf("mean pitch %+.1f cents off", sum)
	}
}

func TestVowelLevel(t *testing.T) {
	for _, v := range types {
		v.LevelDBFS = -23
		for _, level := range []float64{0, -6, -18} {
			for _, syllable := range []Syllable{"a", "i", "u", "ba", "sol", "m"} {
				pitch := (v.Low + v.High) / 2
				x := Render([]Note{{Onset: 0.2, Offset: 0.8, Pitch: pitch, LevelDB: level, Syllable: syllable}}, v, 16000, 1)
				got := levelOf(slice(x, 0.4, 0.6, 16000))
				// 1 dB: breath noise adds up to 0.3 dB, a window that does not fit the period 0.5 dB.
				if math.Abs(got-(-23+level)) > 1 {
					t.Errorf("kind %d %q LevelDB %g: %.2f dBFS, want %.2f", v.Kind, syllable, level, got, -23+level)
				}
			}
		}
	}
}

func TestDecay(t *testing.T) {
	x := Render([]Note{{Onset: 0.2, Offset: 1.2, Pitch: 57, Syllable: "a", DecayDB: -12}}, Tenor, 16000, 1)
	early, late := levelOf(slice(x, 0.25, 0.32, 16000)), levelOf(slice(x, 1.08, 1.15, 16000))
	if d := late - early; d > -10 || d < -13 {
		t.Errorf("the level moves by %.1f dB over the note, want about -12", d)
	}
}

// The vowel starts where the truth says: the level passes 8 dB under the vowel's within 20 ms of it: half the window of 10 ms, and
// the first formant of a child rises for about 15 ms into the vowel.
func TestOnsetAndOffsetAreWhereTheTruthSays(t *testing.T) {
	for _, syllable := range []Syllable{"a", "ba", "da", "ga", "pa", "ta", "ka", "ha", "fa", "sa", "sha", "'a"} {
		for _, v := range []Voice{Baritone, Mezzo, Treble} {
			notes := []Note{{Onset: 0.4, Offset: 0.9, Pitch: v.Low + 8, Syllable: syllable}}
			x := Render(notes, v, 16000, 3)
			truth := Truths(notes)[0]
			edge := levelOf(slice(x, 0.6, 0.7, 16000)) - 8
			if got := rises(x, 0.3, edge, 16000); math.Abs(got-truth.Onset) > 0.020 {
				t.Errorf("kind %d %q: level rises at %.3f s, truth %.3f", v.Kind, syllable, got, truth.Onset)
			}
			if got := falls(x, 0.7, edge, 16000); math.Abs(got-truth.Offset) > 0.015 {
				t.Errorf("kind %d %q: level falls at %.3f s, truth %.3f", v.Kind, syllable, got, truth.Offset)
			}
		}
	}
}

// In mid-consonant the level has dropped by what was asked for.
func TestDropInVoicedConsonants(t *testing.T) {
	for _, syllable := range []Syllable{"ma", "na", "la", "ra", "wa", "-a"} {
		for _, drop := range []float64{4, 9} {
			notes := []Note{
				{Onset: 0.2, Offset: 0.7, Pitch: 55, Syllable: "a"},
				{Onset: 0.7, Offset: 1.1, Pitch: 55, Syllable: syllable, ConsonantSeconds: 0.14, DropDB: drop},
			}
			x := Render(notes, Tenor, 16000, 1)
			vowel, lowest := levelOf(slice(x, 0.3, 0.45, 16000)), 0.0
			for from := 0.56; from < 0.70; from += 0.005 {
				lowest = math.Min(lowest, levelOf(slice(x, from, from+0.02, 16000)))
			}
			// 2 dB: while the formants move, they pass between harmonics.
			if got := vowel - lowest; math.Abs(got-drop) > 2 {
				t.Errorf("%q: level drops by %.1f dB, want %g", syllable, got, drop)
			}
		}
	}
}

// A plosive closes the mouth: 25 dB under the vowel for p t k, and the vowel before ends at the truth's offset.
func TestPlosivesPartRepeatedNotes(t *testing.T) {
	for _, syllable := range []Syllable{"pa", "ta", "ka"} {
		notes := []Note{
			{Onset: 0.2, Offset: 0.7, Pitch: 55, Syllable: "a"},
			{Onset: 0.7, Offset: 1.1, Pitch: 55, Syllable: syllable},
		}
		x := Render(notes, Tenor, 16000, 1)
		vowel := levelOf(slice(x, 0.3, 0.45, 16000))
		end := Truths(notes)[0].Offset
		if closure := levelOf(slice(x, end+0.02, end+0.04, 16000)); closure > vowel-25 {
			t.Errorf("%q: closure only %.1f dB under the vowel", syllable, vowel-closure)
		}
		if got := falls(x, 0.4, vowel-8, 16000); math.Abs(got-end) > 0.015 {
			t.Errorf("%q: the vowel before ends at %.3f s, truth %.3f", syllable, got, end)
		}
	}
}

func TestVibrato(t *testing.T) {
	for _, extent := range []float64{30, 100, 150} {
		notes := []Note{{Onset: 0.1, Offset: 2.4, Pitch: 64, Syllable: "a", VibratoHz: 6, VibratoCents: extent}}
		x := Render(notes, Mezzo, testRate, 5)
		var cents []float64
		for from := 0.6; from < 2.2; from += 0.005 {
			cents = append(cents, centsOff(plainPitch(slice(x, from, from+0.035, testRate), testRate), hertz(64)))
		}
		// A window of 35 ms averages a sixth of the cycle: it sees sin(pi*0.1)/(pi*0.1) = 0.98 or a little less of the extent.
		if got := (slices.Max(cents) - slices.Min(cents)) / 2; got < 0.88*extent || got > 1.04*extent {
			t.Errorf("extent %.1f cents, want %g", got, extent)
		}
		crossings := 0
		for i := 1; i < len(cents); i++ {
			if cents[i-1] < 0 && cents[i] >= 0 {
				crossings++
			}
		}
		if rate := float64(crossings) / 1.6; math.Abs(rate-6) > 0.9 {
			t.Errorf("vibrato of %.1f Hz, want 6", rate)
		}
	}
}

func TestScoopFallAndGlide(t *testing.T) {
	pitchAt := func(notes []Note, at float64) float64 {
		x := Render(notes, Baritone, testRate, 1)
		return centsOff(plainPitch(slice(x, at-0.03, at+0.03, testRate), testRate), hertz(55))
	}
	scoop := []Note{{Onset: 0.2, Offset: 0.9, Pitch: 55, Syllable: "la", ScoopCents: 200, ScoopSeconds: 0.15}}
	fall := []Note{{Onset: 0.2, Offset: 0.9, Pitch: 55, Syllable: "la", FallCents: 300, FallSeconds: 0.3, ReleaseSeconds: 0.02}}
	slope := []Note{{Onset: 0.2, Offset: 1.2, Pitch: 55, Syllable: "la", SlopeCents: 80}}
	glide := []Note{{Onset: 0.2, Offset: 0.5, Pitch: 55, Syllable: "a"}, {Onset: 0.5, Offset: 0.9, Pitch: 59, Syllable: "a", GlideSeconds: 0.12}}
	for _, c := range []struct {
		name     string
		notes    []Note
		at       float64
		low, top float64
	}{
		{"scoop starts below", scoop, 0.16, -210, -120},
		{"scoop arrives", scoop, 0.45, -5, 5},
		{"fall has not begun", fall, 0.5, -5, 5},
		{"fall is under way", fall, 0.75, -190, -110},
		{"slope starts half below", slope, 0.32, -41, -30},
		{"slope passes the centre", slope, 0.73, -8, 8},
		{"slope ends half above", slope, 1.13, 30, 41},
		{"glide before", glide, 0.38, -5, 5},
		{"glide half way at the onset", glide, 0.5, 160, 240},
		{"glide after", glide, 0.65, 395, 405},
	} {
		if got := pitchAt(c.notes, c.at); got < c.low || got > c.top {
			t.Errorf("%s: %+.0f cents at %.2f s, want %g to %g", c.name, got, c.at, c.low, c.top)
		}
	}
}

func TestSilenceAroundNotes(t *testing.T) {
	notes := []Note{{Onset: 0.5, Offset: 0.9, Pitch: 55, Syllable: "ma"}}
	x := Render(notes, Baritone, 16000, 1)
	if got := levelOf(slice(x, 0, 0.35, 16000)); got > -100 {
		t.Errorf("%.0f dBFS before the note", got)
	}
	if got := levelOf(slice(x, 1.1, 1.2, 16000)); got > -90 {
		t.Errorf("%.0f dBFS after the note", got)
	}
	if len(x) < int(1.2*16000) || len(x) > int(1.4*16000) {
		t.Errorf("%d samples", len(x))
	}
	notes[0].BreathSeconds = 0.3
	breathing := levelOf(slice(Render(notes, Baritone, 16000, 1), 0.15, 0.33, 16000))
	if breathing < -55 || breathing > -30 {
		t.Errorf("a breath sounds at %.0f dBFS, want it audible and well under the voice (-20)", breathing)
	}
}

// The same performance at different rates is the same sound: equal levels and pitch.
func TestRatesAgree(t *testing.T) {
	notes := []Note{{Onset: 0.2, Offset: 0.8, Pitch: 60, Syllable: "da"}}
	for _, rate := range []int{16000, 22050, 32000, 44100, 48000, 88200, 96000, 192000} {
		x := Render(notes, Alto, rate, 1)
		if got := levelOf(slice(x, 0.35, 0.7, rate)); math.Abs(got+20) > 0.6 {
			t.Errorf("rate %d: %.2f dBFS", rate, got)
		}
		if off := centsOff(plainPitch(slice(x, 0.4, 0.6, rate), rate), hertz(60)); math.Abs(off) > 5 {
			t.Errorf("rate %d: %+.1f cents off", rate, off)
		}
		if got := rises(x, 0.1, -28, rate); math.Abs(got-0.2) > 0.015 {
			t.Errorf("rate %d: onset at %.3f s", rate, got)
		}
	}
}

func TestEmptyTakeIsShortSilence(t *testing.T) {
	x := Render(nil, Tenor, 16000, 1)
	if len(x) != int(tailSeconds*16000) || levelOf(x) > -130 {
		t.Errorf("%d samples at %.0f dBFS", len(x), levelOf(x))
	}
}

func TestRenderProperties(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		style := Style(rapid.IntRange(0, int(StyleCount)-1).Draw(t, "style"))
		rate := rapid.SampledFrom([]int{16000, 16000, 22050, 44100}).Draw(t, "rate")
		rng := rand.New(rand.NewPCG(seed, 1))
		v := RandomVoice(rng)
		v.LevelDBFS = rapid.Float64Range(-40, 6).Draw(t, "level")
		notes := Take(rng, style, v, RandomHabits(rng), 2)
		if err := Check(notes); err != nil {
			t.Fatal(err)
		}
		x := Render(notes, v, rate, seed)
		y := RandomRoom(rng).Record(x, rate, seed)
		for i := range x {
			if !(math.Abs(float64(x[i])) <= ceiling+1e-6) || !(math.Abs(float64(y[i])) <= 1) {
				t.Fatalf("sample %d is %g dry, %g in the room", i, x[i], y[i])
			}
		}
		if !slices.Equal(x, Render(notes, v, rate, seed)) {
			t.Fatal("equal input, different output")
		}
		checkTruths(t, notes, float64(len(x))/float64(rate))
	})
}

func checkTruths(t *rapid.T, notes []Note, length float64) {
	for i, truth := range Truths(notes) {
		if truth.Offset < truth.Onset+shortestVowel-1e-9 || truth.Offset > length || truth.Onset != notes[i].Onset {
			t.Fatalf("note %d: truth %+v of %+v in %.2f s", i, truth, notes[i], length)
		}
		if i+1 < len(notes) && truth.Offset > notes[i+1].Onset {
			t.Fatalf("note %d ends at %.3f s, after the next one starts", i, truth.Offset)
		}
	}
}

func TestSeedsDiffer(t *testing.T) {
	notes := []Note{{Onset: 0.2, Offset: 0.6, Pitch: 60, Syllable: "sa"}}
	if slices.Equal(Render(notes, Alto, 16000, 1), Render(notes, Alto, 16000, 2)) {
		t.Error("two seeds give the same noise")
	}
}

func TestCheckSaysWhatWouldWork(t *testing.T) {
	good := Note{Onset: 1, Offset: 1.5, Pitch: 60, Syllable: "la"}
	with := func(change func(*Note)) []Note {
		n := good
		change(&n)
		return []Note{n}
	}
	late := good
	late.Onset = 1.02
	for _, c := range []struct {
		name  string
		notes []Note
	}{
		{"NaN", with(func(n *Note) { n.ScoopCents = math.NaN() })},
		{"endless", with(func(n *Note) { n.Offset = math.Inf(1) })},
		{"before zero", with(func(n *Note) { n.Onset = -0.1 })},
		{"no length", with(func(n *Note) { n.Offset = n.Onset })},
		{"too high", with(func(n *Note) { n.Pitch = 100 })},
		{"too low", with(func(n *Note) { n.Pitch = 20 })},
		{"no vowel", with(func(n *Note) { n.Syllable = "st" })},
		{"no such letter", with(func(n *Note) { n.Syllable = "qa" })},
		{"too close", []Note{good, late}},
		{"out of order", []Note{good, {Onset: 0.2, Offset: 0.5, Pitch: 60}}},
	} {
		if Check(c.notes) == nil {
			t.Errorf("%s: no error", c.name)
		}
	}
	if err := Check([]Note{good}); err != nil {
		t.Error(err)
	}
}

func BenchmarkRender16k(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	notes := Take(rng, Words, Tenor, RandomHabits(rng), 10)
	v := RandomVoice(rng)
	seconds := 0.0
	for b.Loop() {
		seconds += float64(len(Render(notes, v, 16000, 1))) / 16000
	}
	b.ReportMetric(seconds/b.Elapsed().Seconds(), "x_real_time")
}
