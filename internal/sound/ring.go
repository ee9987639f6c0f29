package sound

import "sync/atomic"

const (
	slotFrames = 256  // most samples in a slot
	slots      = 2048 // 5.5 s at 48 kHz in blocks of 128 samples, 2 MB (own choice: a session that does not read for longer has lost its round)
)

// slot is a stretch of recorded samples.
type slot struct {
	frame   int64 // number of the first sample on the audio clock
	lost    int   // samples that are missing just before
	resumed bool  // the first one after the device was gone
	n       int   // samples in it, 1 to slotFrames
	samples [slotFrames]float32
}

// ring carries slots from one writer, the audio callback, to one reader. Each side only ever writes its own counter, so neither waits for the
// other. A full ring takes nothing more.
type ring struct {
	slots   []slot
	written atomic.Int64
	read    atomic.Int64
}

func newRing(n int) *ring { return &ring{slots: make([]slot, n)} }

// free is the slot to fill next, for the writer, who has already filled some and not handed them over; nil where the ring is full.
func (r *ring) free(filled int) *slot {
	w := r.written.Load() + int64(filled)
	if w-r.read.Load() >= int64(len(r.slots)) {
		return nil
	}
	return &r.slots[w%int64(len(r.slots))]
}

// filled is one of the slots that the writer has filled and not handed over, by its number from 0 on.
func (r *ring) filled(i int) *slot {
	return &r.slots[(r.written.Load()+int64(i))%int64(len(r.slots))]
}

// push hands filled slots over to the reader.
func (r *ring) push(filled int) { r.written.Add(int64(filled)) }

// first is the oldest filled slot, for the reader; nil where there is none.
func (r *ring) first() *slot {
	n := r.read.Load()
	if n == r.written.Load() {
		return nil
	}
	return &r.slots[n%int64(len(r.slots))]
}

// release gives the slot of first back to the writer.
func (r *ring) release() { r.read.Add(1) }
