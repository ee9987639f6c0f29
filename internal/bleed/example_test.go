package bleed_test

import (
	"fmt"
	"math"

	"larkhand/internal/bleed"
	"larkhand/internal/bleed/roomsim"
)

// A loop plays from a small speaker into a living room; after one pass somebody sings a long A.
func Example() {
	loop, err := roomsim.Backing("Dm7 | G7 | Cmaj7 | A7", 144, 5)
	if err != nil {
		fmt.Println(err)
		return
	}
	sung := make([]float64, 8*roomsim.Rate)
	for i := range sung {
		t := float64(i) / roomsim.Rate
		sung[i] = 0.1 * math.Sin(2*math.Pi*220*t+0.5*math.Sin(2*math.Pi*5.5*t))
	}
	room := roomsim.Setup{Room: roomsim.Living(), DelayMs: 60, SkewPPM: 20, BleedDB: -6, NoiseDBFS: -50, Drive: 0.5, CountIn: 6.7}
	take := room.Record(sung, roomsim.Repeat(loop, 16*roomsim.BackingRate)).Take

	r, err := bleed.Clean(take, loop, roomsim.Rate, bleed.Options{
		BackingRate: roomsim.BackingRate,
		Loops:       true,
		VoiceFree:   []bleed.Span{{From: 0, To: 6.6}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("bleed %.0f dB, clocks %.0f ppm apart, path %s\n", r.BleedDB, r.SkewPPM, r.Method)
	fmt.Printf("residual below -25 dB: %v, verdict %v\n", r.ResidualDB < -25, r.Verdict)
	fmt.Println(len(r.Remarks), "remark for the player")
	// Output:
	// bleed -6 dB, clocks 20 ppm apart, path fixed
	// residual below -25 dB: true, verdict usual
	// 1 remark for the player
}
