package synth

import "sync/atomic"

// asideFade is how fast the source goes silent for a sound beside it and comes back, and how fast that sound is broken off, s (own choice: no click, and
// no wait).
const asideFade = 0.03

// aside is a sound that is heard in place of the source. It is never changed.
type aside struct {
	samples []float32
	at      int64 // number of the player's sample at which it begins
}

// asides are what is to be heard in place of the source. All but wanted belongs to the audio callback.
type asides struct {
	wanted atomic.Pointer[aside]
	latest *aside // wanted, as this chunk knows it
	now    *aside // that is heard; the one before fades out first
	next   int    // its next sample
	gain   ramp   // of it
	under  ramp   // of the source
}

func (a *asides) prepare(rate int) {
	a.gain, a.under = newRamp(asideFade, asideFade, rate), newRamp(asideFade, asideFade, rate)
	a.under.now = 1
}

// look takes what is wanted at the start of a chunk.
func (a *asides) look() {
	a.latest = a.wanted.Load()
	if a.gain.now == 0 && a.now != a.latest {
		a.now, a.next = a.latest, 0
	}
}

// sample mixes the player's sample number pos of the source with what is heard in its place.
func (a *asides) sample(source float64, pos int64) float64 {
	sounds := a.now != nil && pos >= a.now.at && a.next < len(a.now.samples)
	a.under.target, a.gain.target = 1, 0
	if sounds {
		a.under.target = 0
		if a.now == a.latest {
			a.gain.target = 1
		}
	}
	out := source * smooth(a.under.next())
	gain := smooth(a.gain.next())
	if sounds {
		out += float64(a.now.samples[a.next]) * gain
		a.next++
	}
	return out
}

// PlayAside lets samples at the player's rate be heard in place of the source, from sample number `at` on or, where that is over, from the next block on: the
// source runs on in silence and comes back when they are over. Full scale is 1, and they are as loud as the volume is set. What was heard so before ends,
// also by no samples. They must not be changed afterwards.
func (p *Player) PlayAside(samples []float32, at int64) { p.asides.wanted.Store(&aside{samples, at}) }
