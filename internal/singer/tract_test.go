package singer

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The spectrum of each vowel has its first three peaks at the formants of the table; a formant moves by less than half its bandwidth
// under the others, so 60 Hz.
func TestFormantsLieWhereTheTableSays(t *testing.T) {
	for kind, v := range []Voice{Bass, Alto, Treble} {
		v = v.withUsual()
		tract := newTract(v, 16000, nil)
		for i := range vowels {
			w := &vowels[i]
			if w.hummed {
				continue
			}
			s := v.vowelShape(w, 60)
			tract.setShape(&s)
			for f := range 3 {
				want := w.formant[kind][f]
				best := want - 150
				for hz := want - 150; hz < want+150; hz += 5 {
					if tract.power(hz) > tract.power(best) {
						best = hz
					}
				}
				if math.Abs(best-want) > 60 {
					t.Errorf("kind %d vowel %q: F%d at %.0f Hz, want %.0f", kind, w.name, f+1, best, want)
				}
			}
		}
	}
}

// A murmur has an antiresonance: at that frequency the mouth hides the sound.
func TestMurmurHasAnAntiresonance(t *testing.T) {
	v := Bass.withUsual()
	tract := newTract(v, 16000, nil)
	for _, c := range []struct {
		row  [3]float64
		anti float64
	}{{rowM[Man], antiresonanceM}, {rowN[Man], antiresonanceN}} {
		s := v.murmur(c.row, c.anti, 100)
		tract.setShape(&s)
		if at, below := tract.power(c.anti), tract.power(c.anti-300); at > below/10 {
			t.Errorf("antiresonance at %g Hz only %.1f dB deep", c.anti, 10*math.Log10(below/at))
		}
	}
}

// The computed gain is the gain that a sine meets.
func TestTractPowerIsMeasuredPower(t *testing.T) {
	v := Alto.withUsual()
	for _, hz := range []float64{150, 440, 1234, 2800, 5100} {
		tract := newTract(v, 22050, rand.NewPCG(0, 0))
		s := v.murmur(rowN[Woman], antiresonanceN, hz)
		tract.setShape(&s)
		var peak float64
		for i := range 22050 {
			y := tract.step(math.Sin(2 * math.Pi * hz * float64(i) / 22050))
			if i > 11025 {
				peak = math.Max(peak, math.Abs(y))
			}
		}
		if want := math.Sqrt(tract.power(hz)); math.Abs(peak/want-1) > 0.01 {
			t.Errorf("%g Hz: gain %g, computed %g", hz, peak, want)
		}
	}
}

// Friction has the RMS that was asked for and lies round its centre.
func TestFrictionLevel(t *testing.T) {
	tract := newTract(Tenor.withUsual(), 16000, rand.NewPCG(3, 4))
	s := tractShape()
	tract.setShape(&s)
	e := effort{friction: 0.1, centreHz: 6200, bandHz: 2500}
	x := make([]float64, 32000)
	for from := 0; from < len(x); from += 32 {
		tract.run(x[from:from+32], e, e)
	}
	low, all := 0.0, 0.0
	filtered := append([]float64(nil), x...)
	filter(filtered, lowPass2(2500, 16000))
	for i := range x {
		all += x[i] * x[i]
		low += filtered[i] * filtered[i]
	}
	if rms := math.Sqrt(all / float64(len(x))); math.Abs(rms/0.1-1) > 0.05 {
		t.Errorf("RMS %.4f, want 0.1", rms)
	}
	if low > all/10 {
		t.Errorf("%.0f %% of the power lies below 2.5 kHz", 100*low/all)
	}
}

func tractShape() shape { return Tenor.withUsual().open(rowV[Man], 100) }

func TestHighVoicesRaiseTheFirstFormant(t *testing.T) {
	s := Soprano.withUsual().open(rowU[Woman], 900)
	if s.formant[0] != 900 || s.formant[1] < 1100 || s.formant[2] <= s.formant[1] {
		t.Errorf("formants %v at 900 Hz", s.formant)
	}
}
