package phrase_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"larkhand/internal/music"
	"larkhand/internal/phrase"
)

func Example() {
	p, _ := phrase.Read("1 2 b3:2 5", "minor", music.AlteredNumbers)
	key, _ := p.Key("Eb")
	fmt.Println(key, p.In(key, 62))
	// Output: Eb minor [63 65 66 70]
}

func TestRead(t *testing.T) {
	for _, c := range []struct {
		typed string
		want  []phrase.Note
	}{
		{"1 2 3", []phrase.Note{{0, 0, 1}, {2, 1, 1}, {3, 2, 1}}},
		{"5 6 7 1", []phrase.Note{{7, 0, 1}, {8, 1, 1}, {10, 2, 1}, {12, 3, 1}}},
		{"1:1/2 7 1:2", []phrase.Note{{0, 0, 0.5}, {-2, 0.5, 0.5}, {0, 1, 2}}},
		{"-:2 1:1 - ♭2' | 2,:1.5", []phrase.Note{{0, 0, 1}, {13, 2, 1}, {2, 3, 1.5}}},
		{"#3 8", []phrase.Note{{4, 0, 1}, {0, 1, 1}}},
	} {
		p, err := phrase.Read(c.typed, "minor", music.ScaleNumbers)
		if err != nil || !reflect.DeepEqual(p.Notes, c.want) {
			t.Errorf("%q: %v, %v; want %v", c.typed, p.Notes, err, c.want)
		}
	}
	for typed, want := range map[string]string{
		"": "at least one note", "- -": "at least one note", "1 9": `"9" is no note`, "1:x": "no length", "1:1/0": "no length", "1:99": "no length",
		"1''''": "is no note", strings.Repeat("1 ", phrase.MaxNotes+1): "at most 128",
	} {
		if _, err := phrase.Read(typed, "minor", music.ScaleNumbers); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", typed, err, want)
		}
	}
	if _, err := phrase.Read("1", "sideways", music.ScaleNumbers); err == nil || !strings.Contains(err.Error(), "is no scale") {
		t.Errorf("scale: %v", err)
	}
}

// TestWhatIsWrittenIsRead: any phrase can be typed.
func TestWhatIsWrittenIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := phrase.Phrase{Scale: rapid.SampledFrom([]string{"major", "minor", "dorian", "lydian"}).Draw(t, "scale")}
		now := 0.0
		for i := range rapid.IntRange(1, 12).Draw(t, "notes") {
			lengths := []float64{0.25, 1.0 / 3, 0.5, 2.0 / 3, 0.75, 1, 1.5, 2, 4}
			if i > 0 && rapid.Bool().Draw(t, "rest") {
				now += rapid.SampledFrom(lengths).Draw(t, "gap")
			}
			n := phrase.Note{Semitones: rapid.IntRange(-12, 24).Draw(t, "pitch"), Start: now, Length: rapid.SampledFrom(lengths).Draw(t, "length")}
			now += n.Length
			p.Notes = append(p.Notes, n)
		}
		numbering := rapid.SampledFrom([]music.Numbering{music.ScaleNumbers, music.AlteredNumbers}).Draw(t, "numbering")
		typed, err := p.Write(numbering)
		if err != nil {
			t.Fatal(err)
		}
		back, err := phrase.Read(typed, p.Scale, numbering)
		if err != nil || len(back.Notes) != len(p.Notes) {
			t.Fatalf("%q: %v", typed, err)
		}
		for i, n := range back.Notes {
			want := p.Notes[i]
			if n.Semitones != want.Semitones || math.Abs(n.Start-want.Start) > 1e-6 || math.Abs(n.Length-want.Length) > 1e-6 {
				t.Fatalf("%q: note %d is %v, want %v", typed, i, n, want)
			}
		}
	})
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{"1 2 b3:2 -:1 5' 4:1/2", "♭7,", "1:1e9", "::", "-"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		p, err := phrase.Read(typed, "minor", music.AlteredNumbers)
		if err == nil && (len(p.Notes) == 0 || len(p.Notes) > phrase.MaxNotes || !(p.Quarters() > 0)) {
			t.Fatalf("%q gives %v", typed, p)
		}
	})
}

// A phrase from sung notes: slightly uneven eighths at 120 in D minor, an octave below the reference.
func TestOf(t *testing.T) {
	key, _ := music.ParseKey("D minor")
	p, err := phrase.Of(key, []int{50, 52, 53, 57}, []float64{0.3, 0.56, 0.79, 1.07}, []float64{0.54, 0.7, 1.1, 1.6}, 120)
	if err != nil {
		t.Fatal(err)
	}
	typed, err := p.Write(music.ScaleNumbers)
	if want := "1:1/2 2:1/4 - 3:1/2 5:1"; err != nil || typed != want {
		t.Errorf("%q, %v; want %q", typed, err, want)
	}
}

// In keeps the phrase in the octave of the voice.
func TestIn(t *testing.T) {
	p, _ := phrase.Read("1 3 5", "major", music.ScaleNumbers)
	for tonic, want := range map[string][]int{"C": {60, 64, 67}, "A": {57, 61, 64}, "Gb": {66, 70, 73}} {
		key, err := p.Key(tonic)
		if got := p.In(key, 65); err != nil || !slices.Equal(got, want) {
			t.Errorf("%s: %v, %v; want %v", tonic, got, err, want)
		}
	}
}

// TestUsualKey: the names that keys usually have (common practice, no source).
func TestUsualKey(t *testing.T) {
	for _, c := range []struct {
		scale string
		class int
		want  string
	}{{"minor", 6, "F# minor"}, {"minor", 1, "C# minor"}, {"minor", 10, "Bb minor"}, {"major", 1, "Db major"}, {"major", 6, "Gb major"}, {"dorian", 8, "Ab dorian"}, {"minor", 0, "C minor"}} {
		key, err := phrase.Phrase{Scale: c.scale}.UsualKey(c.class)
		if err != nil || key.String() != c.want {
			t.Errorf("%s on %d: %s, %v; want %s", c.scale, c.class, key, err, c.want)
		}
	}
}

// TestTour: the circle of fourths goes C F Bb Eb (common practice, no source); every order visits each key once.
func TestTour(t *testing.T) {
	day := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	cards := map[string]phrase.Card{
		"G":  phrase.Card{}.After(phrase.Knew, day).After(phrase.Knew, day),
		"Eb": phrase.Card{}.After(phrase.Lost, day),
	}
	for order, want := range map[phrase.Order]string{phrase.Fourths: "C F Bb Eb", phrase.Semitones: "C Db D Eb", phrase.Weak: "Eb C F Bb"} {
		tour, err := phrase.Tour(order, 0, cards, nil)
		if err != nil || strings.Join(tour[:4], " ") != want {
			t.Errorf("%s: %v, %v; want %s", order, tour, err, want)
		}
	}
	tour, _ := phrase.Tour(phrase.Weak, 0, cards, nil)
	if tour[11] != "G" {
		t.Errorf("the strongest key is not last: %v", tour)
	}
	for _, order := range phrase.Orders {
		tour, err := phrase.Tour(order, 3, cards, rand.New(rand.NewPCG(1, 2)))
		slices.Sort(tour)
		if err != nil || len(slices.Compact(tour)) != 12 {
			t.Errorf("%s: %v, %v", order, tour, err)
		}
	}
	if _, err := phrase.Tour("sideways", 0, nil, nil); err == nil {
		t.Error("no error for an order that there is not")
	}
}

// TestCard follows SM-2 as published (Wozniak 1990): intervals 1, 6, then the last one times the easiness factor, rounded up;
// EF' = EF + (0.1 - (5-q)(0.08 + (5-q)0.02)), so that grade 5 adds 0.10, 4 nothing, and 3 takes 0.14; below 3 the repetition begins
// anew and the factor stays. With grade 4 throughout and EF 2.5 the intervals are 1, 6, 15, 38, 95 days (worked out in tables of the
// algorithm, where those that do not round give 37.5 and 93.75).
func TestCard(t *testing.T) {
	day := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	var days []int
	c := phrase.Card{}
	for range 5 {
		c = c.After(phrase.Unsure, day)
		days = append(days, c.Days)
		day = c.Due()
	}
	if want := []int{1, 6, 15, 38, 95}; !slices.Equal(days, want) || c.Ease != 2.5 {
		t.Errorf("intervals %v, ease %g; want %v, 2.5", days, c.Ease, want)
	}
	for grade, change := range map[phrase.Grade]float64{5: 0.10, 4: 0, 3: -0.14} {
		if got := (phrase.Card{}).After(grade, day).Ease - 2.5; math.Abs(got-change) > 1e-9 {
			t.Errorf("grade %d changes the factor by %.2f, want %.2f", grade, got, change)
		}
	}
	failed := c.After(phrase.Lost, day)
	if failed.Repetitions != 0 || failed.Days != 1 || failed.Ease != c.Ease || !failed.Due().Equal(day.AddDate(0, 0, 1)) {
		t.Errorf("after a failure: %+v", failed)
	}
	least := phrase.Card{}
	for range 20 {
		least = least.After(phrase.Searched, day)
	}
	if math.Abs(least.Ease-1.3) > 1e-9 {
		t.Errorf("the factor fell to %g, the least is 1.3", least.Ease)
	}
	if !(phrase.Card{}).Due().IsZero() || (phrase.Card{}).Reason() != "never tried in this key" {
		t.Error("a key never tried is due at once")
	}
}
