package roomsim_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"larkhand/internal/bleed/roomsim"
)

// The direct sound arrives after the distance over the speed of sound, with 1/distance, and the reverberation falls as asked:
// the slope of the backward-integrated energy from -5 to -25 dB (Schroeder 1965), within a fifth, as boxes with equal walls keep to Eyring's
// formula only roughly.
func TestResponse(t *testing.T) {
	for _, room := range []roomsim.Room{roomsim.Small(), roomsim.Living(), roomsim.Large()} {
		h := room.Response(room.Mic)
		square := 0.0
		for i := range 3 {
			square += (room.Speaker[i] - room.Mic[i]) * (room.Speaker[i] - room.Mic[i])
		}
		distance := math.Sqrt(square)
		first := slices.IndexFunc(h, func(v float64) bool { return v > 0.4/distance })
		if want := distance / 343 * roomsim.Rate; math.Abs(float64(first)-want) > 1 {
			t.Errorf("%s room: sound arrives at sample %d, want %.1f", room.Name, first, want)
		}
		if rt := reverberation(h); math.Abs(rt/room.RT60-1) > 0.2 {
			t.Errorf("%s room: reverberation %.2f s, want %.2f", room.Name, rt, room.RT60)
		}
	}
}

func reverberation(h []float64) float64 {
	after := make([]float64, len(h)+1)
	for n := len(h) - 1; n >= 0; n-- {
		after[n] = after[n+1] + h[n]*h[n]
	}
	at := func(db float64) int {
		return slices.IndexFunc(after, func(v float64) bool { return v < after[0]*math.Pow(10, db/10) })
	}
	return 3 * float64(at(-25)-at(-5)) / roomsim.Rate
}

func tone(seconds float64) []float64 {
	x := make([]float64, int(seconds*roomsim.Rate))
	for i := range x {
		x[i] = 0.1 * math.Sin(2*math.Pi*220*float64(i)/roomsim.Rate)
	}
	return x
}

// The parts add up to the take, the bleed has the level asked for, and the same seed gives the same take.
func TestRecording(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	loop, err := roomsim.Backing("C | F | G7 | C", 144, 1)
	if err != nil {
		t.Fatal(err)
	}
	s := roomsim.Setup{Room: roomsim.Small(), DelayMs: 20, SkewPPM: 50, BleedDB: -6, CountIn: 1, Seed: 4}
	r := s.Record(tone(4), roomsim.Repeat(loop, 6*roomsim.BackingRate))
	voice, bleed := 0.0, 0.0
	for n := range r.Take {
		if d := math.Abs(float64(r.Take[n]) - r.Voice[n] - r.Bleed[n]); d > 1e-6 {
			t.Fatalf("sample %d: take is off its parts by %g", n, d)
		}
		if n >= r.Sung.From {
			voice += r.Voice[n] * r.Voice[n]
			bleed += r.Bleed[n] * r.Bleed[n]
		}
	}
	if db := 10 * math.Log10(bleed/voice); math.Abs(db+6) > 0.1 {
		t.Errorf("bleed %.2f dB, want -6", db)
	}
	if again := s.Record(tone(4), roomsim.Repeat(loop, 6*roomsim.BackingRate)); !slices.Equal(again.Take, r.Take) {
		t.Error("the same setup gives another take")
	}
}

// A dropout makes everything after it earlier by what was lost.
func TestDropout(t *testing.T) {
	s := roomsim.Setup{Room: roomsim.Small(), BleedDB: math.Inf(-1)}
	whole := s.Record(tone(2), nil)
	s.DropoutAt, s.DropoutMs = 1, 10
	cut := s.Record(tone(2), nil)
	const lost = roomsim.Rate / 100
	if !slices.Equal(cut.Take[:roomsim.Rate], whole.Take[:roomsim.Rate]) ||
		!slices.Equal(cut.Take[roomsim.Rate:2*roomsim.Rate-lost], whole.Take[roomsim.Rate+lost:]) {
		t.Error("a dropout does not just leave samples out")
	}
}

func TestUnreadableChart(t *testing.T) {
	if _, err := roomsim.Backing("H9 |", 120, 1); err == nil {
		t.Error("a chart with a chord H9 is played")
	}
}

func Example() {
	loop, err := roomsim.Backing("C | F | G7 | C", 120, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	s := roomsim.Setup{Room: roomsim.Living(), DelayMs: 60, BleedDB: -6, NoiseDBFS: -50, CountIn: 8}
	r := s.Record(make([]float64, 2*roomsim.Rate), roomsim.Repeat(loop, 10*roomsim.BackingRate))
	fmt.Printf("loop of %.0f s, take of %d s, voice from second %d on\n",
		float64(len(loop))/roomsim.BackingRate, len(r.Take)/roomsim.Rate, r.Sung.From/roomsim.Rate)
	// Output: loop of 8 s, take of 10 s, voice from second 8 on
}
