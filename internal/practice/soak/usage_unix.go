//go:build unix

package main

import (
	"runtime"
	"syscall"
)

// usage is the time that the process has used, s of a core, and the most memory that it has held, MB.
func usage() (cpu, resident float64) {
	var use syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &use); err != nil {
		return 0, 0
	}
	unit := 1024.0 // kB a MB, as Linux counts
	if runtime.GOOS == "darwin" {
		unit = 1 << 20 // bytes
	}
	return seconds(use.Utime) + seconds(use.Stime), float64(use.Maxrss) / unit
}

func seconds(t syscall.Timeval) float64 { return float64(t.Sec) + float64(t.Usec)/1e6 }
