package singer

import (
	"math"
	"testing"
)

func TestToneIsTheFormula(t *testing.T) {
	x := Tone(func(float64) float64 { return 441 }, 1, 44100, 0.5, 0.25)
	for i, got := range x {
		w := 2 * math.Pi * float64(i) / 100
		if want := 0.5*math.Sin(w) + 0.25*math.Sin(2*w); math.Abs(float64(got)-want) > 1e-6 {
			t.Fatalf("sample %d: %g, want %g", i, got, want)
		}
	}
}

// A linear glide has the phase f0 t + k t^2 / 2.
func TestToneGlides(t *testing.T) {
	x := Tone(func(s float64) float64 { return 100 + 400*s }, 1, 16000, 0.5)
	for i, got := range x {
		s := float64(i) / 16000
		if want := 0.5 * math.Sin(2*math.Pi*(100*s+200*s*s)); math.Abs(float64(got)-want) > 1e-6 {
			t.Fatalf("sample %d: %g, want %g", i, got, want)
		}
	}
}

func TestToneStaysBelowHalfTheRate(t *testing.T) {
	x := Tone(func(float64) float64 { return 4000 }, 0.5, 16000, 0.5, 0.25)
	y := Tone(func(float64) float64 { return 4000 }, 0.5, 16000, 0.5)
	for i := range x {
		if x[i] != y[i] {
			t.Fatal("a harmonic at half the rate sounds")
		}
	}
}
