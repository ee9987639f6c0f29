// Command soak practises the demo round over and over, as fast as the machine goes, and prints whether memory, goroutines, files or
// time grow with the rounds. It ends with an error where they do, or where a round comes out differently from the first.
//
//	go run ./internal/practice/soak -rounds 500
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"runtime"
	"time"

	"larkhand/internal/practice/internal/rounds"
)

func main() {
	count := flag.Int("rounds", 500, "`number` of rounds")
	flag.Parse()
	if err := soak(*count); err != nil {
		fmt.Fprintln(os.Stderr, "soak:", err)
		os.Exit(1)
	}
}

func soak(count int) error {
	folder, err := os.MkdirTemp("", "larkhand-soak-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	watch := &watcher{every: max(1, count/10), began: time.Now()}
	if err := rounds.Run(context.Background(), folder, count, watch.after); err != nil {
		return err
	}
	return watch.judge()
}

// reading is what the process uses.
type reading struct {
	round      int
	heap       float64 // MB in use after a collection
	resident   float64 // MB at most so far
	goroutines int
	files      int
	cpu        float64 // s so far; 0 where the system does not tell, as resident
}

type watcher struct {
	every    int
	began    time.Time
	readings []reading
}

func (w *watcher) after(round int) {
	if round%w.every != 0 && round != 1 {
		return
	}
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	const mega = 1 << 20
	r := reading{round: round, heap: float64(m.HeapInuse) / mega, goroutines: runtime.NumGoroutine(), files: openFiles()}
	r.cpu, r.resident = usage()
	w.readings = append(w.readings, r)
	fmt.Printf("round %4d: heap %5.1f MB, resident at most %6.1f MB, %d goroutines, %d files, %6.1f s of a core, %5.1f s\n",
		r.round, r.heap, r.resident, r.goroutines, r.files, r.cpu, time.Since(w.began).Seconds())
}

// openFiles counts the process's open files; 0 where the system does not tell.
func openFiles() int {
	list, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		return 0
	}
	return len(list)
}

// judge holds the last reading against one that was taken when everything had found its size.
func (w *watcher) judge() error {
	const (
		settled = 2   // readings before that one
		growth  = 1.2 // own choice: heap readings differ by a tenth from round to round
	)
	if len(w.readings) <= settled+1 {
		return nil
	}
	first, last := w.readings[settled], w.readings[len(w.readings)-1]
	fmt.Printf("a round of %.0f s takes %.2f %% of a core\n", rounds.Seconds, 100*(last.cpu-first.cpu)/float64(last.round-first.round)/rounds.Seconds)
	switch {
	case last.heap > growth*first.heap:
		return fmt.Errorf("the heap grew from %.1f to %.1f MB", first.heap, last.heap)
	case last.goroutines > first.goroutines:
		return fmt.Errorf("goroutines grew from %d to %d", first.goroutines, last.goroutines)
	case last.files > first.files:
		return fmt.Errorf("open files grew from %d to %d", first.files, last.files)
	}
	return nil
}
