//go:build !linux

package trial

import "time"

// processorTime is the time that work takes, s, which stands for processor time where the system does not tell that of a thread.
func processorTime(work func()) float64 {
	start := time.Now()
	work()
	return time.Since(start).Seconds()
}
