package main

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/data/solos"
	"larkhand/internal/metrics"
	"larkhand/internal/singer"
	"larkhand/match"
)

func TestGoals(t *testing.T) {
	var g goals
	g.most("errors", 0.031, 0.03, rateFormat)
	g.most("blame", 0.5, 0.5, percentFormat)
	g.least("hits", 0.95, 0.94, rateFormat)
	g.least("absent", tally{}.percent(), 90, percentFormat)
	var out strings.Builder
	g.table("x").write(&out, false)
	const want = `Targets (x)
measure   value            target
------------------------------------------
errors    0.031     at most 0.030   missed
blame    0.50 %    at most 0.50 %      met
hits      0.950    at least 0.940      met
absent        -  at least 90.00 %  skipped
1 of 4 targets missed.

`
	if got := out.String(); got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
}

// staircase is a pitch track of notes of 0.3 s, with a gap of 0.1 s before the last, and its sound's level.
func staircase(keys ...float64) (metrics.Contour, []float32) {
	const rate = 16000
	var c metrics.Contour
	samples := make([]float32, int((0.3*float64(len(keys))+0.1)*rate))
	for i, key := range keys {
		from := 0.3 * float64(i)
		if i+1 == len(keys) {
			from += 0.1
		}
		for k := range 30 {
			c.Times = append(c.Times, from+0.01*float64(k))
			c.F0 = append(c.F0, 440*math.Exp2((key-69)/12))
		}
		for k := int(from * rate); k < min(len(samples), int((from+0.3)*rate)); k++ {
			samples[k] = float32(0.1 * math.Sin(0.3*float64(k)))
		}
	}
	return c, samples
}

func TestFit(t *testing.T) {
	c, samples := staircase(60, 62, 57)
	got := fit(c, samples, 16000)
	want := []metrics.Note{{Onset: 0, Offset: 0.3, Pitch: 60}, {Onset: 0.3, Offset: 0.6, Pitch: 62}, {Onset: 0.7, Offset: 1, Pitch: 57}}
	if len(got) != len(want) {
		t.Fatalf("%v, want %v", got, want)
	}
	for i := range want {
		if math.Abs(got[i].Onset-want[i].Onset) > 0.021 || math.Abs(got[i].Offset-want[i].Offset) > 0.021 || math.Abs(got[i].Pitch-want[i].Pitch) > 1e-6 {
			t.Errorf("note %d: %v, want %v", i, got[i], want[i])
		}
	}
}

func TestFitSplitsAtDips(t *testing.T) {
	c, samples := staircase(60, 60, 60)
	for k := 4200; k < 5480; k++ { // 80 ms, 20 dB down
		samples[k] /= 10
	}
	if got := fit(c, samples, 16000); len(got) != 3 || math.Abs(got[1].Onset-0.325) > 0.04 {
		t.Errorf("%v, want a note from about 0.33 s on and three in all", got)
	}
}

func TestReadPitch(t *testing.T) {
	c, err := readPitch("0.01\t220.5\n0.02\t0\n", '\t')
	if err != nil || !slices.Equal(c.Times, []float64{0.01, 0.02}) || !slices.Equal(c.F0, []float64{220.5, 0}) {
		t.Errorf("%v, %v", c, err)
	}
	if _, err := readPitch("0.01\tx\n", '\t'); err == nil {
		t.Error("a frequency that is no number gives no error")
	}
}

// TestPeersHearATone: every listener that is installed hears two plain tones as two notes.
func TestPeersHearATone(t *testing.T) {
	tone := func(key float64) []float32 {
		return singer.Tone(func(float64) float64 { return 440 * math.Exp2((key-69)/12) }, 0.6, 44100)
	}
	silence := make([]float32, 22050)
	r := recording{samples: slices.Concat(silence, tone(57), silence, tone(61), silence), rate: 44100}
	for _, l := range listeners() {
		if l.missing != "" {
			t.Logf("%s: skipped: %s", l.name, l.missing)
			continue
		}
		notes, cpu, err := l.hear([]recording{r})
		if err != nil {
			t.Fatalf("%s: %v", l.name, err)
		}
		if len(notes[0]) != 2 || math.Abs(notes[0][0].Pitch-57) > 0.1 || math.Abs(notes[0][1].Pitch-61) > 0.1 || math.Abs(notes[0][1].Onset-1.6) > 0.05 {
			t.Errorf("%s: %v", l.name, notes[0])
		}
		if cpu <= 0 {
			t.Errorf("%s: %v CPU seconds", l.name, cpu)
		}
	}
}

func rms(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}

// sine of half a second at 200 Hz between two silences.
func sine(rate int) []float64 {
	x := make([]float64, 2*rate)
	for i := rate / 2; i < rate; i++ {
		x[i] = 0.2 * math.Sin(2*math.Pi*200*float64(i)/float64(rate))
	}
	return x
}

func TestDegradations(t *testing.T) {
	const rate = 16000
	x := sine(rate)
	if got, want := voiceLevel(x, rate), 0.2/math.Sqrt2; math.Abs(got-want) > 1e-3 {
		t.Errorf("level of the voice %v, want %v", got, want)
	}
	for _, d := range degradations {
		y := d.apply(slices.Clone(x), rate, rand.New(rand.NewPCG(1, 1)))
		if len(y) != len(x) {
			t.Fatalf("%s: %d samples, want %d", d.name, len(y), len(x))
		}
		before, after := rms(y[:rate/2-100]), rms(y[rate+rate/4:rate+rate/2])
		switch noisy := strings.Contains(d.name, "noise") || strings.Contains(d.name, "hum"); {
		case noisy && math.Abs(20*math.Log10(before/(0.2/math.Sqrt2))+10) > 1.5:
			t.Errorf("%s: noise of %v", d.name, before)
		case !noisy && before > 2e-3:
			t.Errorf("%s: sound before the voice", d.name)
		case strings.HasPrefix(d.name, "hall") && after < 0.02:
			t.Errorf("%s: no reverberation", d.name)
		}
	}
}

// TestReverberationDecays by 60 dB in its time: the level falls by 30 dB in half of it.
func TestReverberationDecays(t *testing.T) {
	const rate = 16000
	x := make([]float64, 3*rate)
	x[0] = 1
	y := reverberated(x, rate, rand.New(rand.NewPCG(1, 1)), 2, 0, 0.02)
	early, late := rms(y[rate/10:rate/5]), rms(y[rate+rate/10:rate+rate/5])
	if fall := 20 * math.Log10(early/late); math.Abs(fall-30) > 1.5 {
		t.Errorf("fell by %.1f dB in 1 s, want 30", fall)
	}
	if direct, rest := y[0], y[1:]; math.Abs(rms(rest)*math.Sqrt(float64(len(rest)))/direct-1) > 0.05 {
		t.Errorf("reverberation is not as strong as the direct sound")
	}
}

func TestRetuned(t *testing.T) {
	const rate = 16000
	x := make([]float64, rate)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * 200 * float64(i) / rate)
	}
	up := retuned(x, 30)
	if want := float64(rate) / math.Exp2(30.0/1200); math.Abs(float64(len(up))-want) > 1 {
		t.Errorf("%d samples, want %.0f", len(up), want)
	}
	for i := range up[:rate/2] {
		if want := math.Sin(2 * math.Pi * 200 * math.Exp2(30.0/1200) * float64(i) / rate); math.Abs(up[i]-want) > 1e-3 {
			t.Fatalf("sample %d is %v, want %v", i, up[i], want)
		}
	}
}

// TestErrorClasses: runs of extra notes of made-up performances of one melody, 0.25 s a note.
func TestErrorClasses(t *testing.T) {
	keys := []int{60, 62, 64, 65, 67, 65, 64, 62}
	var median []match.Sung
	for i, k := range keys {
		median = append(median, sureNote(0.25*float64(i), 0.25*float64(i+1), k))
	}
	// played puts extra notes (s after the right note before, key, velocity) before note at and delays the rest.
	type extra struct {
		after    float64
		key      float64
		velocity int
	}
	played := func(at int, delay float64, extras ...extra) []match.Played {
		var out []match.Played
		for i, k := range keys {
			onset := 0.25 * float64(i)
			if i >= at {
				onset += delay
			}
			if i == at {
				for _, e := range extras {
					o := 0.25*float64(at-1) + e.after
					out = append(out, match.Played{Onset: o, Offset: o + 0.1, Pitch: e.key, Velocity: e.velocity})
				}
			}
			out = append(out, match.Played{Onset: onset, Offset: onset + 0.2, Pitch: float64(k), Velocity: 70})
		}
		return out
	}
	for _, c := range []struct {
		want  errorClass
		notes []match.Played
	}{
		{restarted, played(0, 2, extra{0.3, 60, 70}, extra{0.55, 62, 70}, extra{0.8, 64, 70}, extra{1.05, 65, 70})},
		{replayed, played(4, 0.6, extra{0.25, 64, 70}, extra{0.5, 65, 70})},
		{wrongRight, played(4, 0.3, extra{0.25, 68, 70})},
		{flowLost, played(4, 0.2, extra{0.2, 65, 70})},
		{flowKept, played(4, 0, extra{0.1, 65, 70})},
		{brushed, played(4, 0, extra{0.22, 66, 30})},
		{laidFinger, played(4, 0.3, extra{0.25, 72, 10})},
	} {
		pairs := match.Align(median, c.notes).Pairs
		groups := errorGroups(pairs, c.notes, median)
		if len(groups) != 1 || groups[0].class != c.want {
			t.Errorf("groups %v, want one of %q", groups, c.want)
			continue
		}
		rng := rand.New(rand.NewPCG(1, 1))
		for range 50 {
			first, last := around(rng, groups[0], pairs)
			sung := 0
			for _, p := range pairs[first : last+1] {
				if p.Sung != match.None {
					sung++
				}
			}
			if sung < shortest || sung > longest || first > groups[0].from || last < groups[0].to-1 {
				t.Errorf("%s: pairs %d to %d with %d notes around %+v", c.want, first, last, sung, groups[0])
			}
		}
	}
}

func TestRenderablePhrasesAreKeptApart(t *testing.T) {
	long := func(key int) solos.Solo {
		var s solos.Solo
		for i := range 6 {
			s.Notes = append(s.Notes, solos.Note{Key: key, Onset: 0.2 * float64(i), Duration: 0.2})
		}
		return s
	}
	all := []solos.Solo{long(60), long(61), long(62)}
	for set, want := range map[string][]int{"tune": {60, 62}, "kept": {61}, "all": {60, 61, 62}} {
		var got []int
		for _, p := range renderablePhrases(all, set) {
			got = append(got, p[0].Key)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: solos %v, want %v", set, got, want)
		}
	}
}

// A phrase counts as played through where it stands whole and unbroken and something follows.
func TestPlayedThrough(t *testing.T) {
	keys := func(list ...int) (sung []match.Sung, played []match.Played) {
		for i, k := range list {
			sung = append(sung, sureNote(float64(i), float64(i)+0.9, k))
			played = append(played, match.Played{Onset: float64(i), Offset: float64(i) + 0.9, Pitch: float64(k), Velocity: 70})
		}
		return sung, played
	}
	sung, _ := keys(60, 62, 64)
	for _, c := range []struct {
		played []int
		want   bool
	}{
		{[]int{60, 62, 64}, false}, {[]int{60, 62, 64, 62, 64}, true}, {[]int{60, 62, 60, 62, 64}, false}, {[]int{59, 60, 62, 64, 60}, true},
		{[]int{60, 62, 63, 64, 65}, false}, {[]int{60, 62}, false},
	} {
		if _, played := keys(c.played...); playedThrough(sung, played) != c.want {
			t.Errorf("%v: want %v", c.played, c.want)
		}
	}
}
