package singer

import (
	"math"
	"slices"
	"testing"
)

func TestZeroRoomChangesNothing(t *testing.T) {
	x := Tone(func(float64) float64 { return 220 }, 0.1, 16000)
	if !slices.Equal(x, Room{}.Record(x, 16000, 1)) {
		t.Error("the zero room changes the sound")
	}
}

// The decay of the impulse response below 500 Hz between -5 and -25 dB, by Schroeder's backward integration (JASA 37 (1965) 409); 20 %:
// what one response of eight lines is good for.
func TestReverberationTime(t *testing.T) {
	const rate = 16000
	for _, rt60 := range []float64{0.2, 0.5, 0.9} {
		impulse := make([]float32, rate)
		impulse[0] = 0.9
		response := Room{RT60: rt60, WetDB: 0}.Record(impulse, rate, 1)
		x := make([]float64, len(response))
		for i := 1; i < len(x); i++ {
			x[i] = float64(response[i])
		}
		filter(x, lowPass2(500, rate))
		left := make([]float64, len(x)+1)
		for i := len(x) - 1; i >= 0; i-- {
			left[i] = left[i+1] + x[i]*x[i]
		}
		at := func(db float64) float64 {
			i := slices.IndexFunc(left, func(e float64) bool { return e < left[0]*math.Pow(10, db/10) })
			return float64(i) / rate
		}
		if got := 3 * (at(-25) - at(-5)); math.Abs(got/rt60-1) > 0.2 {
			t.Errorf("RT60 %.2f s, want %g", got, rt60)
		}
	}
}

func TestReverberationLevel(t *testing.T) {
	const rate = 16000
	impulse := make([]float32, rate)
	impulse[0] = 0.5
	response := Room{RT60: 0.4, WetDB: -6}.Record(impulse, rate, 1)
	wet := 0.0
	for _, v := range response[1:] {
		wet += float64(v) * float64(v)
	}
	if got := 10 * math.Log10(wet/0.25); math.Abs(got+6) > 0.2 {
		t.Errorf("reverberation at %.2f dB, want -6", got)
	}
}

func TestNoiseHumAndBand(t *testing.T) {
	const rate = 16000
	silence := make([]float32, 4*rate)
	if got := levelOf(Room{NoiseDBFS: -50}.Record(silence, rate, 1)); math.Abs(got+50) > 0.3 {
		t.Errorf("noise at %.2f dBFS, want -50", got)
	}
	// Five harmonics 6 dB apart: 1 + 1/4 + 1/16 + ... = 1.33 times the power of the first.
	if got := levelOf(Room{HumHz: 50, HumDBFS: -50}.Record(silence, rate, 1)); math.Abs(got+48.76) > 0.1 {
		t.Errorf("hum at %.2f dBFS, want -48.76", got)
	}
	for _, c := range []struct {
		room Room
		hz   float64
		want float64
	}{
		{Room{LowHz: 100}, 100, -3}, {Room{LowHz: 100}, 1000, 0}, {Room{LowHz: 100}, 25, -24},
		{Room{HighHz: 4000}, 4000, -3}, {Room{HighHz: 4000}, 400, 0},
		{Room{TrebleDB: 6}, 7000, 6}, {Room{TrebleDB: 6}, 200, 0},
		{Room{GainDB: -12}, 300, -12},
	} {
		x := Tone(func(float64) float64 { return c.hz }, 2, 48000, 0.1)
		got := levelOf(slice(c.room.Record(x, 48000, 1), 1, 2, 48000)) - levelOf(slice(x, 1, 2, 48000))
		if math.Abs(got-c.want) > 0.5 {
			t.Errorf("%+v at %g Hz: %.1f dB, want %g", c.room, c.hz, got, c.want)
		}
	}
}

func TestReflectionAndClipping(t *testing.T) {
	x := make([]float32, 1000)
	x[100] = 0.8
	y := Room{ReflectMs: 10, ReflectDB: -6.0206, ClipDBFS: -6.0206}.Record(x, 16000, 1)
	if math.Abs(float64(y[100])-0.5) > 1e-4 || math.Abs(float64(y[260])-0.4) > 1e-4 {
		t.Errorf("direct %g, reflection %g; want 0.5 (clipped) and 0.4", y[100], y[260])
	}
}
