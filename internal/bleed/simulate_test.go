package bleed

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"larkhand/internal/bleed/roomsim"
)

// sungTones is a voice of harmonics with vibrato: notes of 0.4 s with rests of 0.1 s, at WorkRate.
func sungTones(seconds float64, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 7))
	x := make([]float64, int(seconds*WorkRate))
	const noteLength, noteRest = WorkRate * 2 / 5, WorkRate / 10
	for start := 0; start+noteLength < len(x); start += noteLength + noteRest {
		hz, phase := 220*math.Pow(2, float64(rng.IntN(13))/12), 0.0
		for i := range noteLength {
			t := float64(i) / WorkRate
			phase += 2 * math.Pi * hz * (1 + 0.01*math.Sin(2*math.Pi*5.5*t)) / WorkRate
			for k := 1; k <= 8; k++ {
				x[start+i] += 0.1 / float64(k) * math.Sin(float64(k)*phase) * math.Min(1, 50*math.Min(t, 0.4-t))
			}
		}
	}
	return x
}

const (
	testTempo   = 144
	testCountIn = 6.6 // s, just under one pass of four bars
)

// synthesize makes the loop of the tests once.
var synthesize = sync.OnceValues(func() ([]float32, error) { return roomsim.Backing("Dm7 | G7 | Cmaj7 | A7", testTempo, 5) })

func testLoop(t testing.TB) []float32 {
	loop, err := synthesize()
	if err != nil {
		t.Fatal(err)
	}
	return loop
}

func setupFor(room roomsim.Room, bleedDB float64) roomsim.Setup {
	return roomsim.Setup{Room: room, DelayMs: 60, BleedDB: bleedDB, NoiseDBFS: -50, Drive: 0.5, CountIn: testCountIn + 0.1, Seed: 3}
}

func record(t testing.TB, s roomsim.Setup, seconds float64) (roomsim.Recording, []float32) {
	loop := testLoop(t)
	return s.Record(sungTones(seconds, 2), roomsim.Repeat(loop, int((s.CountIn+seconds+1)*roomsim.BackingRate))), loop
}

func testOptions() Options {
	return Options{BackingRate: roomsim.BackingRate, Loops: true, VoiceFree: []Span{{0, testCountIn}}}
}

// trueResidualDB is what is left of the bleed over the voice, without the room's noise.
func trueResidualDB(rec roomsim.Recording, samples []float32, noiseDBFS float64) float64 {
	left, sung := 0.0, 0.0
	for n := rec.Sung.From; n < rec.Sung.To; n++ {
		d := float64(samples[n]) - rec.Voice[n]
		left += d * d
		sung += rec.Voice[n] * rec.Voice[n]
	}
	left -= fromDB(noiseDBFS) * float64(rec.Sung.To-rec.Sung.From)
	return toDB(math.Max(left, 0) / sung)
}
