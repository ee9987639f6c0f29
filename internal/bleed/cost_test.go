package bleed

import (
	"testing"

	"larkhand/internal/bleed/roomsim"
)

// The costliest files: neither the backing's start nor a voice-free stretch is told. The backing is as long as the take.
func BenchmarkCleanUntold27Seconds(b *testing.B) {
	rec, loop := record(b, setupFor(roomsim.Living(), -6), 20.7)
	whole := roomsim.Repeat(loop, 28*roomsim.BackingRate)
	for b.Loop() {
		if _, err := Clean(rec.Take, whole, WorkRate, Options{BackingRate: testOptions().BackingRate, StartUnknown: true}); err != nil {
			b.Fatal(err)
		}
	}
}
