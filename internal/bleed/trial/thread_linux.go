package trial

import (
	"runtime"
	"syscall"
)

// processorTime is the processor time that work takes on its own thread, s, however busy the machine is.
func processorTime(work func()) float64 {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	start := threadSeconds()
	work()
	return threadSeconds() - start
}

func threadSeconds() float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_THREAD, &u); err != nil {
		return 0
	}
	return float64(u.Utime.Sec+u.Stime.Sec) + float64(u.Utime.Usec+u.Stime.Usec)/1e6
}
