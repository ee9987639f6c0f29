package rounds

import (
	"os"
	"runtime"
	"testing"
	"time"
)

// heap is what is in use after a collection, MB.
func heap() float64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc) / (1 << 20)
}

// Some rounds, each like the first, leave nothing behind: no memory, no goroutine, no file. The command soak does the same with 500.
func TestRoundsLeaveNothingBehind(t *testing.T) {
	const rounds, settled = 12, 4
	folder := t.TempDir()
	var early, late float64
	goroutines := runtime.NumGoroutine()
	err := Run(t.Context(), folder, rounds, func(round int) {
		switch round {
		case settled:
			early = heap()
		case rounds:
			late = heap()
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("heap of %.1f MB after round %d, %.1f MB after round %d", early, settled, late, rounds)
	const slack = 8 // MB: what a round holds at its end, that may or may not have been let go of
	if late > early+slack {
		t.Errorf("the heap grows from %.1f to %.1f MB", early, late)
	}
	n := runtime.NumGoroutine()
	for wait := 0; n > goroutines && wait < 200; wait++ { // one that has said its last word may still be on its way out
		time.Sleep(10 * time.Millisecond)
		n = runtime.NumGoroutine()
	}
	if n > goroutines {
		t.Errorf("%d goroutines, %d before", n, goroutines)
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) > 0 {
		t.Errorf("left over: %v, %v", left, err)
	}
}

// One round of Seconds of sound and of its playing, as fast as it goes: below Seconds*0.15 a core is used less than 15 % in real time.
func BenchmarkRound(b *testing.B) {
	if err := Run(b.Context(), b.TempDir(), b.N, func(int) {}); err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(100*b.Elapsed().Seconds()/float64(b.N)/Seconds, "%core")
}
