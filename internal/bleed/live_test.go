package bleed

import (
	"math"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/bleed/roomsim"
)

// streamed runs a take through a Live in blocks.
func streamed(t testing.TB, l *Live, mic, backing []float32, block int) []float32 {
	var out []float32
	for n := 0; n+block <= len(mic); n += block {
		out = l.Write(out, mic[n:n+block], backing[n:n+block])
	}
	return out
}

// liveCase is a take, its backing at the take's rate, and the path of its count-in.
func liveCase(t testing.TB, change func(*roomsim.Setup)) (roomsim.Recording, []float32, Path) {
	s := setupFor(roomsim.Living(), -6)
	s.SkewPPM = 20
	change(&s)
	rec, loop := record(t, s, 12)
	r, err := Clean(rec.Take[:rec.Sung.From], loop, WorkRate, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	if r.Path == nil {
		t.Fatal("no path from the count-in")
	}
	sent := ToWorkRate(roomsim.Repeat(loop, (len(rec.Take)/WorkRate+1)*roomsim.BackingRate), roomsim.BackingRate)
	return rec, toSingle(sent)[:len(rec.Take)], *r.Path
}

func TestLiveFromTheCountIn(t *testing.T) {
	rec, sent, path := liveCase(t, func(*roomsim.Setup) {})
	l, err := NewLive(WorkRate, 480, path)
	if err != nil {
		t.Fatal(err)
	}
	out := streamed(t, l, rec.Take, sent, 160)
	if missing := len(rec.Take) - len(out); missing < 0 || missing > LiveBlock+160 {
		t.Errorf("%d samples of %d", len(out), len(rec.Take))
	}
	rec.Sung.To = len(out)
	if db := trueResidualDB(rec, out, -50); db > -22 { // simulations with other loops reach -26 to -32
		t.Errorf("residual %.1f dB, want below -22", db)
	}
	if l.Moved() {
		t.Error("a microphone that stands still is said to move")
	}
}

func TestLiveFollowsAMovingMicrophone(t *testing.T) {
	rec, sent, path := liveCase(t, func(s *roomsim.Setup) { s.MoveMetres = 0.2 })
	l, err := NewLive(WorkRate, 160, path)
	if err != nil {
		t.Fatal(err)
	}
	out := streamed(t, l, rec.Take, sent, 160)
	rec.Sung.To = len(out)
	if db := trueResidualDB(rec, out, -50); db > -16 {
		t.Errorf("residual %.1f dB, want below -16", db)
	}
	if !l.Moved() {
		t.Error("a microphone that moves by 20 cm is said to stand still")
	}
}

// However the stream is cut into blocks, the samples are the same.
func TestLiveInAnyBlocks(t *testing.T) {
	mic, back := toSingle(noise(30000, 1)), toSingle(noise(30000, 2))
	path := Path{Delay: 0.05, Taps: pathOf(1000, 1), Ratio: 0.5}
	var want []float32
	for _, block := range []int{30000, 1, 333, 480} {
		l, err := NewLive(48000, 30000, path)
		if err != nil {
			t.Fatal(err)
		}
		got := streamed(t, l, mic, back, block)
		if want == nil {
			want = got
		}
		if n := min(len(got), len(want)); n < 9000 || !slices.Equal(got[:n], want[:n]) {
			t.Errorf("blocks of %d give other samples than one block", block)
		}
	}
}

// Without a path the filters learn from the beginning.
func TestLiveFromNothing(t *testing.T) {
	x := noise(8*WorkRate, 3)
	for i := range x {
		x[i] *= 0.1
	}
	h := pathOf(1000, 4)
	for k := range h {
		h[k] *= 0.05 // the echo is half as strong as the backing
	}
	y := convolve([][]float64{x}, [][]float64{h})
	l, err := NewLive(WorkRate, 160, Path{})
	if err != nil {
		t.Fatal(err)
	}
	out := streamed(t, l, toSingle(y), toSingle(x), 160)
	left, all := 0.0, 0.0
	for n := 6 * WorkRate; n < len(out); n++ {
		left += float64(out[n]) * float64(out[n])
		all += y[n] * y[n]
	}
	if db := toDB(all / left); db < 20 {
		t.Errorf("reduced by %.1f dB after 6 s, want at least 20", db)
	}
}

func TestLiveAllocatesNothing(t *testing.T) {
	for _, rate := range []int{16000, 44100, 48000} {
		const block = 512
		l, err := NewLive(rate, block, Path{Delay: 0.06, Skew: 20e-6, Taps: pathOf(liveTaps, 1), Ratio: 1})
		if err != nil {
			t.Fatal(err)
		}
		mic, back, dst := toSingle(noise(block, 2)), toSingle(noise(block, 3)), make([]float32, 0, 2*block)
		if n := testing.AllocsPerRun(400, func() { dst = l.Write(dst[:0], mic, back) }); n != 0 {
			t.Errorf("%d Hz: %g allocations a block", rate, n)
		}
	}
}

func TestLiveBadInput(t *testing.T) {
	for _, c := range []struct {
		name        string
		rate, block int
		path        Path
		want        string
	}{
		{"rate", 8000, 480, Path{}, "16000 to 96000 Hz"},
		{"block", 48000, 0, Path{}, "at least 1"},
		{"delay", 48000, 480, Path{Delay: 3}, "within a second"},
		{"delay not a number", 48000, 480, Path{Delay: math.NaN()}, "within a second"},
		{"skew", 48000, 480, Path{Skew: 0.1}, "500 parts in a million"},
	} {
		if _, err := NewLive(c.rate, c.block, c.path); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", c.name, err, c.want)
		}
	}
	l, err := NewLive(48000, 10, Path{})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if recover() == nil {
			t.Error("blocks of different lengths are taken")
		}
	}()
	l.Write(nil, make([]float32, 10), make([]float32, 9))
}

// One second at 48 kHz in blocks of 10 ms.
func BenchmarkLiveSecond(b *testing.B) {
	const block = 480
	l, err := NewLive(48000, block, Path{Delay: 0.06, Taps: pathOf(liveTaps, 1), Ratio: 1})
	if err != nil {
		b.Fatal(err)
	}
	mic, back := toSingle(noise(block, 2)), toSingle(noise(block, 3))
	dst := make([]float32, 0, 2*LiveBlock)
	for b.Loop() {
		for range 100 {
			dst = l.Write(dst[:0], mic, back)
		}
	}
}
