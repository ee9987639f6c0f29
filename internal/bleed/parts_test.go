package bleed

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func noise(n int, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	return x
}

func TestResamplerKeepsTonesInPlace(t *testing.T) {
	for _, rate := range []int{16000, 22050, 44100, 48000, 96000} {
		for _, hz := range []float64{100, 1000, 6000} {
			x := make([]float32, rate/2)
			for i := range x {
				x[i] = float32(0.5 * math.Sin(2*math.Pi*hz*float64(i)/float64(rate)))
			}
			y := ToWorkRate(x, rate)
			if len(y) != len(x)*WorkRate/rate {
				t.Fatalf("%d Hz: %d samples, want %d", rate, len(y), len(x)*WorkRate/rate)
			}
			for i := 400; i < len(y)-400; i++ {
				if d := math.Abs(y[i] - 0.5*math.Sin(2*math.Pi*hz*float64(i)/WorkRate)); d > 5e-4 { // -60 dB of the tone
					t.Errorf("%d Hz, tone of %g Hz: off by %.2g at sample %d", rate, hz, d, i)
					break
				}
			}
		}
	}
}

func TestResamplerInAnyBlocks(t *testing.T) {
	x := toSingle(noise(6000, 8))
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]int{16000, 22050, 44100, 48000}).Draw(t, "rate")
		whole := newRateConverter(rate, len(x)).Write(nil, x)
		c, rest := newRateConverter(rate, 700), x
		var parts []float64
		for len(rest) > 0 {
			n := min(len(rest), rapid.IntRange(1, 700).Draw(t, "block"))
			parts, rest = c.Write(parts, rest[:n]), rest[n:]
		}
		if len(parts) != len(whole) {
			t.Fatalf("%d samples in blocks, %d at once", len(parts), len(whole))
		}
		for i := range whole {
			if parts[i] != whole[i] {
				t.Fatalf("sample %d: %g in blocks, %g at once", i, parts[i], whole[i])
			}
		}
	})
}

// A warped tone is the tone of another frequency and phase.
func TestWarp(t *testing.T) {
	const hz, skew, delay = 5000.0, 50e-6, 123.4
	x := make([]float64, 3*WorkRate)
	tone := func(place float64) float64 { return math.Sin(2 * math.Pi * hz * place / WorkRate) }
	for i := range x {
		x[i] = tone(float64(i))
	}
	for i, v := range warp(x, skew, delay, 2*WorkRate) {
		want := tone((1+skew)*float64(i) - delay)
		if i > 200 && math.Abs(v-want) > 1e-3 {
			t.Fatalf("sample %d: %g, want %g", i, v, want)
		}
	}
}

// A delayed and even inverted copy in noise is found to the sample.
func TestDelayOfACopy(t *testing.T) {
	x := noise(3*WorkRate, 1)
	hiss := noise(3*WorkRate, 2)
	for _, delay := range []int{0, 1, 777, 7999} {
		for _, sign := range []float64{1, -1} {
			y := make([]float64, len(x))
			for n := range y {
				y[n] = hiss[n]
				if n >= delay {
					y[n] += 0.5 * sign * x[n-delay]
				}
			}
			if c := findDelay(y, x, 0, WorkRate/2); c.lag != delay || c.sharp < sharpPresence {
				t.Errorf("delay %d, sign %g: found %d, sharpness %.1f", delay, sign, c.lag, c.sharp)
			}
		}
	}
	if c := findDelay(hiss, x, 0, WorkRate/2); c.sharp > sharpPresence {
		t.Errorf("sharpness %.1f without any copy, want below %g", c.sharp, sharpPresence)
	}
}

// pathOf is a decaying random path.
func pathOf(taps int, seed uint64) []float64 {
	h := noise(taps, seed)
	for k := range h {
		h[k] *= math.Exp(-6 * float64(k) / float64(taps))
	}
	return h
}

// Least squares find a path inside their taps, with white and with coloured references, past stretches without weight that are full of something else.
func TestLeastSquaresFindThePath(t *testing.T) {
	const taps = 256
	h := pathOf(taps, 3)
	for _, pole := range []float64{0, 0.9} {
		x, w := noise(WorkRate, 4), make([]float64, WorkRate)
		for n := 1; n < len(x); n++ {
			x[n] += pole * x[n-1]
		}
		y := convolve([][]float64{x}, [][]float64{h})
		for n := range y {
			w[n] = 1
			if n/2000%3 == 1 {
				w[n], y[n] = 0, 100*math.Sin(float64(n))
			}
		}
		got := fitPath([][]float64{x}, y, w, nil, taps, 60)[0]
		wrong, all := 0.0, 0.0
		for k := range h {
			wrong += (got[k] - h[k]) * (got[k] - h[k])
			all += h[k] * h[k]
		}
		// The ridge of 0.001 makes white paths 0.001 too small (-60 dB), coloured ones more where the reference is weak.
		if db := toDB(wrong / all); db > -40 {
			t.Errorf("pole %g: path off by %.1f dB, want below -40", pole, db)
		}
	}
}

// The convolution by transforms agrees with the sum itself.
func TestConvolve(t *testing.T) {
	x, h := noise(1000, 1), noise(37, 2)
	for n, v := range convolve([][]float64{x, x}, [][]float64{h, h}) {
		want := 0.0
		for k := 0; k < len(h) && k <= n; k++ {
			want += 2 * h[k] * x[n-k]
		}
		if math.Abs(v-want) > 1e-10 {
			t.Fatalf("sample %d: %g, want %g", n, v, want)
		}
	}
}

// The definition: an echo of rms 0.10 of which 0.01 is left was reduced by 20.0 dB.
func TestEchoReduction(t *testing.T) {
	if got := toDB(0.10 * 0.10 / (0.01 * 0.01)); math.Abs(got-20) > 1e-9 {
		t.Errorf("reduction %g dB, want 20", got)
	}
}

// A pure delay and a decaying path, both inside 512 taps, white reference, no noise: the textbook normalised LMS filter with a step of 0.5
// needs 0.39 s at 16 kHz for 40 dB (standard theory: a factor of e in power per taps/(step (2-step)) samples). The Kalman
// filter must be there within 2 s too, although it is made not to hurry.
func TestFilterLearnsFromNothing(t *testing.T) {
	delayed := make([]float64, 512)
	delayed[300] = 0.5
	for name, h := range map[string][]float64{"pure delay": delayed, "decaying path": pathOf(512, 9)} {
		x := noise(3*WorkRate, 5)
		y := convolve([][]float64{x}, [][]float64{h})
		k := newKalman(256, 512, tracking{memory: fast.memory, doubt: 1})
		k.setDoubt(1, energy(y)/energy(x))
		left := filterTake(k, x, y)
		tail := 2 * WorkRate
		if db := toDB(energy(y[tail:]) / energy(left[tail:])); db < 40 {
			t.Errorf("%s: %.1f dB after 2 s, want at least 40", name, db)
		}
	}
}

// A filter that starts from the true path leaves nothing of the echo and, with a voice on top, next to nothing is taken from the voice.
func TestFilterFromTheTruePath(t *testing.T) {
	h, x, sung := pathOf(2048, 6), noise(6*WorkRate, 7), sungTones(6, 8)
	echo := convolve([][]float64{x}, [][]float64{h})
	scale := 0.1 * math.Sqrt(energy(sung)/energy(echo))
	y := make([]float64, len(x))
	for n := range y {
		x[n] *= scale
		y[n] = scale*echo[n] + sung[n]
	}
	k := newKalman(trackBlock, 2048, slow)
	k.setPath(h)
	k.setDoubt(slow.doubt, scale*scale*energy(echo)/energy(x))
	left := filterTake(k, x, y)
	if db := toDB(energy(subtract(left, sung)) / energy(sung)); db > -35 {
		t.Errorf("voice changed by %.1f dB, want below -35", db)
	}
}

// Turning a filter twice gives the path again.
func TestTurn(t *testing.T) {
	k := newKalman(64, 256, fast)
	h := pathOf(256, 1)
	k.setPath(h)
	k.turn()
	k.turn()
	for i, v := range k.path() {
		if math.Abs(v-h[i]) > 1e-12 {
			t.Fatalf("tap %d: %g, want %g", i, v, h[i])
		}
	}
}

// The robust line ignores single windows that have locked onto something else.
func TestRobustLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		slope := rapid.Float64Range(-100e-6, 100e-6).Draw(t, "slope")
		offset := rapid.Float64Range(-5, 5).Draw(t, "offset")
		bad := rapid.IntRange(0, 11).Draw(t, "bad window")
		var lags []windowLag
		for i := range 12 {
			at := float64(i * WorkRate)
			lags = append(lags, windowLag{at, offset + slope*at, 1})
		}
		lags[bad].lag += 30
		o, s, centre, ok := robustLine(lags)
		if !ok || math.Abs(s-slope) > 1e-9 || math.Abs(o-s*centre-offset) > 1e-3 {
			t.Fatalf("line %g + %g n, want %g + %g n", o-s*centre, s, offset, slope)
		}
	})
	if _, _, _, ok := robustLine(nil); ok {
		t.Error("a line through nothing")
	}
}

// Leak and noise are told apart by how the residual follows the bleed.
func TestLeakAndNoise(t *testing.T) {
	var bleed, left []float64
	var free []bool
	for i := range 200 {
		b := math.Exp(-float64(i%20) / 4)
		bleed, free = append(bleed, b), append(free, true)
		left = append(left, 0.01*b+0.002)
	}
	leak, noise := leakAndNoise(bleed, left, free)
	if math.Abs(leak-0.01) > 1e-6 || math.Abs(noise-0.002) > 1e-6 {
		t.Errorf("leak %g, noise %g; want 0.01 and 0.002", leak, noise)
	}
}

func TestVerdictBands(t *testing.T) {
	for _, c := range []struct {
		residual float64
		want     Verdict
	}{{-100, Usual}, {-25.1, Usual}, {-24.9, SomeBleed}, {-19.9, Marked}, {-14.9, NoVerdict}, {-9.9, Unusable}, {10, Unusable}, {math.NaN(), Usual}} {
		if got := verdictOf(c.residual); got != c.want {
			t.Errorf("residual %g dB: %v, want %v", c.residual, got, c.want)
		}
	}
	if got := Unusable.String(); got != "unusable" {
		t.Errorf("name %q", got)
	}
}

// A take is found in a long backing, wherever it was recorded, also when it begins before the backing.
func TestSearchOverChunks(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	x := noise(150*WorkRate, 3)
	for _, lag := range []int{-140 * WorkRate, -61*WorkRate - 7, -1, 0, 2*WorkRate + 3} {
		y := make([]float64, 6*WorkRate)
		for n := range y {
			if at := n - lag; at >= 0 && n > WorkRate {
				y[n] = x[at]
			}
		}
		if c := searchDelay(y, x, -149*WorkRate, 5*WorkRate); c.lag != lag || c.sharp < sharpPresence {
			t.Errorf("lag %d: found %d, sharpness %.1f", lag, c.lag, c.sharp)
		}
	}
}
