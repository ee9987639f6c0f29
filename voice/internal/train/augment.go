package main

import (
	"math"
	"math/rand/v2"

	"larkhand/internal/singer"
)

// label is what a note of an example should be found as.
type label struct {
	onset, offset float64 // s
	pitch         float64 // MIDI number
}

// sound is one take to learn from.
type sound struct {
	samples []float32
	rate    int
	labels  []label
}

// spoil is what stands between a singer and a recording beside the usual: nothing, loud noise, or a reverberant room.
type spoil int

const (
	usual spoil = iota
	loudNoise
	hall
)

// varied gives a changed copy: another speed (and so pitch and tract length),
// softer and louder notes, a room, a tilt of the spectrum, noise. The labels follow.
func varied(s sound, by spoil, rng *rand.Rand) sound {
	out := sound{samples: append([]float32(nil), s.samples...), rate: s.rate, labels: append([]label(nil), s.labels...)}
	soften(&out, rng)
	switch {
	case by == hall:
		reverberate(&out, rng)
	case rng.Float64() < 0.35:
		room(out.samples, out.rate, rng)
	}
	if rng.Float64() < 0.5 {
		tilt(out.samples, rng)
	}
	switch {
	case by == loudNoise:
		addNoise(out.samples, 4, 20, rng)
	case rng.Float64() < 0.6:
		addNoise(out.samples, 12, 40, rng)
	}
	faster(&out, math.Exp2((rng.Float64()*6-3)/12))
	return out
}

// reverberate sets the singer into a room or hall: reverberation time 0.3 to 2.4 s, the reverberation 14 dB under the direct sound to 7 dB above.
func reverberate(s *sound, rng *rand.Rand) {
	r := singer.Room{RT60: 0.3 * math.Pow(8, rng.Float64()), WetDB: -14 + 21*rng.Float64()}
	s.samples = r.Record(s.samples, s.rate, rng.Uint64())
}

// faster plays a sound at another speed by calling its rate another.
func faster(s *sound, ratio float64) {
	rate := int(math.Round(float64(s.rate) * ratio))
	ratio = float64(rate) / float64(s.rate)
	s.rate = rate
	for i := range s.labels {
		s.labels[i].onset /= ratio
		s.labels[i].offset /= ratio
	}
}

// soften changes the level of about a third of the notes, -18 to +4 dB, with
// 30 ms ramps half way in the gaps: real singers swallow notes.
func soften(s *sound, rng *rand.Rand) {
	if rng.Float64() < 0.3 {
		return
	}
	gain := 1.0
	at := 0
	ramp := 0.03 * float64(s.rate)
	for i := range s.labels {
		end := len(s.samples)
		if i+1 < len(s.labels) {
			end = min(int((s.labels[i].offset+s.labels[i+1].onset)/2*float64(s.rate)), end)
		}
		target := 1.0
		if rng.Float64() < 0.35 {
			target = math.Pow(10, (rng.Float64()*22-18)/20)
		}
		for ; at < end; at++ {
			gain += (target - gain) / ramp
			s.samples[at] *= float32(gain)
		}
	}
}

// room adds 80 sparse echoes under an exponential decay, reverberation time 0.1 to 0.5 s.
func room(x []float32, rate int, rng *rand.Rand) {
	rt60 := 0.1 + 0.4*rng.Float64()
	wet := 0.15 + 0.35*rng.Float64()
	dry := append([]float32(nil), x...)
	for range 80 {
		delay := 0.003 + rng.Float64()*rt60*0.7
		g := float32(wet * math.Pow(10, -3*delay/rt60) * (2*float64(rng.IntN(2)) - 1) * 0.5)
		d := int(delay * float64(rate))
		for i := d; i < len(x); i++ {
			x[i] += g * dry[i-d]
		}
	}
}

// tilt passes the sound through a first-order filter, up to about 8 dB an octave either way.
func tilt(x []float32, rng *rand.Rand) {
	a := float32(rng.Float64()*1.2 - 0.6)
	last := float32(0)
	for i, v := range x {
		x[i] = v - a*last
		last = v
	}
}

// addNoise adds white or pink noise, least to most dB under the sound.
func addNoise(x []float32, least, most float64, rng *rand.Rand) {
	power := 0.0
	for _, v := range x {
		power += float64(v) * float64(v)
	}
	rms := math.Sqrt(power / float64(len(x)+1))
	sd := rms * math.Pow(10, -(least+(most-least)*rng.Float64())/20)
	if rng.IntN(2) == 0 {
		for i := range x {
			x[i] += float32(sd * rng.NormFloat64())
		}
		return
	}
	// Pink: the sum of three leaky integrators of white noise (Voss 1978 in spirit), scaled to about the same power.
	var b [3]float64
	for i := range x {
		w := rng.NormFloat64()
		b[0] = 0.99*b[0] + 0.1*w
		b[1] = 0.9*b[1] + 0.25*w
		b[2] = 0.5*b[2] + 0.5*w
		x[i] += float32(sd * (b[0] + b[1] + b[2]))
	}
}
