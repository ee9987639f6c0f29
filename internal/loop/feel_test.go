package loop

import (
	"math"
	"strings"
	"testing"
)

const millisecond = 1e-3

// At 120 quarter notes a minute a quarter note lasts 500 ms: 2:1 cuts it into 333.3 and 166.7 ms, 3.5:1 (the largest ratio of Friberg and
// Sundström 2002) into 388.9 and 111.1 ms, by division.
func TestSwungEighths(t *testing.T) {
	const quarterMs = 500
	for _, tc := range []struct{ ratio, longMs, shortMs float64 }{{1, 250, 250}, {2, 333.3, 166.7}, {3.5, 388.9, 111.1}} {
		f, err := Swing(tc.ratio)
		if err != nil {
			t.Fatal(err)
		}
		l := mustLoop(t, "C", 120, 0)
		b, err := Arrange(l, Options{Feel: f})
		if err != nil {
			t.Fatal(err)
		}
		// The Charleston figure of the comping has its second chord on the and of 2; with straight eighths it lies there too.
		var offBeat float64
		for _, e := range b.Events(0.5, 1) {
			if e.Part == Comping {
				offBeat = e.Time
			}
		}
		long := (offBeat - 0.5) / millisecond
		if math.Abs(long-tc.longMs) > 0.05 || math.Abs(quarterMs-long-tc.shortMs) > 0.05 { // the values have one decimal
			t.Errorf("%v: %.2f and %.2f ms, want %v and %v", f, long, quarterMs-long, tc.longMs, tc.shortMs)
		}
	}
}

// Ends of the line as Friberg and Sundström (2002) give them; its middle by hand: 210 lies half way from 120 to 300.
func TestDefaultSwing(t *testing.T) {
	for tempo, want := range map[float64]float64{20: 3.5, 120: 3.5, 210: 2.25, 300: 1, 400: 1} {
		if got := DefaultSwing(tempo).Ratio; math.Abs(got-want) > 1e-12 {
			t.Errorf("at %v: %v, want %v", tempo, got, want)
		}
	}
	for tempo := 120.0; tempo <= 300; tempo++ {
		short := secondsPerMinute / tempo * (1 - DefaultSwing(tempo).OffBeat()) / millisecond
		if short < 87 || short > 112 {
			t.Errorf("at %v the short note lasts %.1f ms; about 100 were measured", tempo, short)
		}
	}
}

func TestParseFeel(t *testing.T) {
	for in, want := range map[string]string{
		"straight": "straight", " Straight ": "straight", "swing 2": "swing 2:1", "swing 2:1": "swing 2:1", "SWING 1.5:1": "swing 1.5:1",
		"swing": "swing 2.25:1", "swing 1": "straight", "swing 3.5": "swing 3.5:1",
	} {
		f, err := ParseFeel(in, 210)
		if err != nil || f.String() != want {
			t.Errorf("%q: %v, %v; want %v", in, f, err, want)
		}
		again, err := ParseFeel(f.String(), 100)
		if err != nil || again != f {
			t.Errorf("%v is read back as %v, %v", f, again, err)
		}
	}
	for _, in := range []string{"", "swung", "swing 0.9", "swing 3.6", "swing x", "swing 2 1", "swing NaN", "swing inf", "straight 2", "2:1"} {
		if f, err := ParseFeel(in, 120); err == nil || !strings.Contains(err.Error(), "3.5") {
			t.Errorf("%q: %v, %v", in, f, err)
		}
	}
}

func TestSwungKeepsQuartersAndOrder(t *testing.T) {
	f := Feel{Ratio: 3}
	for at, want := range map[float64]float64{0: 0, 1: 1, 7: 7, 0.5: 0.75, 2.5: 2.75, 0.25: 0.375, 0.75: 0.875} {
		if got := f.swung(at); math.Abs(got-want) > 1e-12 {
			t.Errorf("%v is moved to %v, want %v", at, got, want)
		}
	}
}
