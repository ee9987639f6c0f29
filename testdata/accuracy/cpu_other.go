//go:build !unix

package main

import "time"

var started = time.Now()

// cpuSeconds is the time since the start, which stands for CPU time where the system does not tell it.
func cpuSeconds() float64 { return time.Since(started).Seconds() }
