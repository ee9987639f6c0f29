package synth

import (
	"fmt"
	"math"
	"sync/atomic"
)

// kept holds the last samples that were sent. One goroutine writes, any number read, and none waits for another.
type kept struct {
	samples []atomic.Uint32 // float32 bits; sample n lies at n modulo the length
	begun   atomic.Int64    // everything before this number may have been overwritten up to it, less the length
	done    atomic.Int64    // samples before this number are written
}

// write keeps the samples that follow number n.
func (k *kept) write(n int64, samples []float32) {
	k.begun.Store(n + int64(len(samples)))
	at := n % int64(len(k.samples))
	for _, s := range samples {
		k.samples[at].Store(math.Float32bits(s))
		if at++; at == int64(len(k.samples)) {
			at = 0
		}
	}
	k.done.Store(n + int64(len(samples)))
}

// silence keeps zeros from number n up to but not including number to.
func (k *kept) silence(n, to int64) {
	k.begun.Store(to)
	for at := max(n, to-int64(len(k.samples))); at < to; at++ {
		k.samples[at%int64(len(k.samples))].Store(0)
	}
	k.done.Store(to)
}

// read copies what was sent from number n on.
func (k *kept) read(dst []float32, n int64) error {
	end := n + int64(len(dst))
	switch {
	case n < 0:
		return fmt.Errorf("nothing was sent before sample 0; ask from 0 on instead of %d", n)
	case end > k.done.Load():
		return fmt.Errorf("samples up to %d are not sent yet; ask for those before %d", end, k.done.Load())
	case !k.holds(n):
		return k.gone(n)
	}
	at := n % int64(len(k.samples))
	for i := range dst {
		dst[i] = math.Float32frombits(k.samples[at].Load())
		if at++; at == int64(len(k.samples)) {
			at = 0
		}
	}
	if !k.holds(n) {
		return k.gone(n)
	}
	return nil
}

// holds reports whether sample n has not been overwritten.
func (k *kept) holds(n int64) bool {
	return n >= k.begun.Load()-int64(len(k.samples))
}

func (k *kept) gone(n int64) error {
	return fmt.Errorf("sample %d is no longer kept; ask for those from %d on", n, k.begun.Load()-int64(len(k.samples)))
}
