package synth

import (
	"fmt"
	"math"

	"larkhand/internal/loop"
	"larkhand/internal/music"
)

// Plain gives the program's own synthesizer: bass and comping by frequency modulation (Chowning, "The synthesis of complex audio spectra by
// means of frequency modulation", Journal of the Audio Engineering Society 21 (1973) 526), hi-hat of filtered noise, click of two decaying tones.
// Rate is in Hz, MinRate to MaxRate.
func Plain(rate int) (Synth, error) {
	if rate < MinRate || rate > MaxRate {
		return nil, fmt.Errorf("a sampling rate of %d Hz does not work; give %d to %d", rate, MinRate, MaxRate)
	}
	return plain{rate}, nil
}

type plain struct{ rate int }

func (p plain) Name() string    { return "own plain sounds" }
func (p plain) NewVoice() Voice { return &plainVoice{rate: p.rate} }

// patch is the sound of a part. The numbers are own, chosen by the levels and partials that they give.
type patch struct {
	level     float64 // peak amplitude at velocity 127, before the mix
	attack    float64 // s, from silence to full
	decay     float64 // s, after which a held note has fallen to 1/e
	release   float64 // s, from the end of the note to silence
	operators [2]operator
}

// operator is a sine whose phase is moved by another sine.
type operator struct {
	level     float64 // part of the patch's level
	ratio     float64 // of the modulating frequency to the note's
	index     float64 // radians by which the phase is moved at the start, at velocity 127
	lastIndex float64 // radians to which that falls
	decay     float64 // s, after which the difference has fallen to 1/e
}

// pluckedBass has a bright start that falls to a round tone with enough second and third harmonic to be heard from a small speaker.
var pluckedBass = patch{
	level: 0.19, attack: 0.004, decay: 0.9, release: 0.06,
	operators: [2]operator{{level: 1, ratio: 1, index: 2.4, lastIndex: 0.7, decay: 0.12}},
}

// softPiano is a soft electric piano: a round tone and a short high tine.
var softPiano = patch{
	level: 0.075, attack: 0.005, decay: 1.1, release: 0.12,
	operators: [2]operator{
		{level: 0.8, ratio: 1, index: 1.1, lastIndex: 0.25, decay: 0.35},
		{level: 0.2, ratio: 14, index: 0.5, lastIndex: 0, decay: 0.07},
	},
}

// drumPatch is the sound of a percussion key.
type drumPatch struct {
	level   float64 // peak amplitude at velocity 127, before the mix
	hz      float64 // of the tone; 0 for noise
	partial float64 // second tone's frequency over the first
	decay   float64 // s, to 1/e
	oneShot float64 // s, from start to silence
	lowCut  float64 // Hz, of the noise
}

// drumPatches holds the sounds of the percussion keys that the backing uses, by General MIDI number; any other key sounds like unknownDrum.
var drumPatches = map[int]drumPatch{
	42: {level: 0.14, decay: 0.022, oneShot: 0.16, lowCut: 7000},           // closed hi-hat
	44: {level: 0.15, decay: 0.035, oneShot: 0.22, lowCut: 5000},           // hi-hat closed by the foot
	76: {level: 0.17, hz: 1250, partial: 2.4, decay: 0.014, oneShot: 0.12}, // high wood block
	77: {level: 0.17, hz: 900, partial: 2.4, decay: 0.014, oneShot: 0.12},  // low wood block
}

var unknownDrum = drumPatch{level: 0.14, hz: 500, partial: 1.6, decay: 0.03, oneShot: 0.2}

const (
	shotAttack = 0.0005 // s; drums begin at once, but not with a step
	mostIndex  = 0.45   // of the sampling rate: a modulating frequency above it would fold back, so it is left out
	fullTurn   = 2 * math.Pi
	topKey     = 127.0 // highest velocity
)

// plainVoice plays one note.
type plainVoice struct {
	rate int
	n    int // samples played
	held int // samples until the release begins
	ends int // samples until the note is over

	attack    int
	amplitude float64 // now, without attack and release
	fall      float64 // factor of amplitude per sample

	tones [2]tone
	noise noise
	drum  bool
}

// tone is an operator that plays.
type tone struct {
	level            float64
	phase, step      float64 // turns, 0 up to 1; and per sample
	modPhase, mod    float64
	index, last, low float64 // radians now and at the end; factor of the difference per sample
}

// noise is white noise through two high-pass filters of first order.
type noise struct {
	state        uint32
	on           bool
	pole         float64
	in, mid, out float64
}

// Start implements Voice.
func (v *plainVoice) Start(e loop.Event) {
	*v = plainVoice{rate: v.rate}
	if e.Channel == loop.PercussionChannel {
		v.startDrum(e)
		return
	}
	p := &softPiano
	if e.Part == loop.Bass {
		p = &pluckedBass
	}
	loudness := float64(e.Velocity) / topKey
	hz := music.MIDIToHz(float64(e.Key))
	v.attack = samplesOf(p.attack, v.rate)
	v.held = max(samplesOf(e.Duration, v.rate), v.attack)
	v.ends = v.held + samplesOf(p.release, v.rate)
	v.amplitude, v.fall = p.level*loudness*loudness, v.factor(p.decay)
	for i, o := range p.operators {
		v.tones[i] = v.tone(o, hz, loudness)
	}
}

// tone sets an operator up.
func (v *plainVoice) tone(o operator, hz, loudness float64) tone {
	t := tone{level: o.level, step: hz / float64(v.rate), mod: hz * o.ratio / float64(v.rate)}
	if o.level == 0 {
		return tone{}
	}
	if t.mod < mostIndex {
		t.index, t.last, t.low = o.index*loudness, o.lastIndex*loudness, v.factor(o.decay)
	}
	return t
}

// startDrum begins a percussion sound.
func (v *plainVoice) startDrum(e loop.Event) {
	p, ok := drumPatches[e.Key]
	if !ok {
		p = unknownDrum
	}
	loudness := float64(e.Velocity) / topKey
	v.drum = true
	v.attack = samplesOf(shotAttack, v.rate)
	v.ends = samplesOf(p.oneShot, v.rate)
	v.held = v.ends - v.ends/4 // the last quarter fades what is left
	v.amplitude, v.fall = p.level*loudness*loudness, v.factor(p.decay)
	if p.hz == 0 {
		const seed = 0x9E3779B9 // any number but 0 will do; every note has the same noise
		v.noise = noise{on: true, state: seed, pole: math.Exp(-fullTurn * p.lowCut / float64(v.rate))}
		return
	}
	const second = 0.4 // level of the second tone; both together make 1
	v.tones[0] = tone{level: 1 - second, step: p.hz / float64(v.rate)}
	v.tones[1] = tone{level: second, step: p.hz * p.partial / float64(v.rate)}
}

// factor is what a fall to 1/e within a time in s multiplies by each sample.
func (v *plainVoice) factor(seconds float64) float64 {
	return math.Exp(-1 / (seconds * float64(v.rate)))
}

// Add implements Voice.
func (v *plainVoice) Add(dst []float32) bool {
	for i := range dst {
		if v.n >= v.ends {
			return false
		}
		dst[i] += float32(v.next())
	}
	return v.n < v.ends
}

// next is the next sample.
func (v *plainVoice) next() float64 {
	gain := v.amplitude
	if v.n < v.attack {
		gain *= smooth(float64(v.n) / float64(v.attack))
	}
	if v.n > v.held {
		gain *= smooth(float64(v.ends-v.n) / float64(v.ends-v.held))
	}
	v.n++
	v.amplitude *= v.fall
	if v.noise.on {
		return gain * v.noise.next()
	}
	return gain * (v.tones[0].next() + v.tones[1].next())
}

// next is the next sample of an operator.
func (t *tone) next() float64 {
	if t.level == 0 {
		return 0
	}
	turn := t.phase
	if t.index > 0 {
		turn += t.index / fullTurn * math.Sin(fullTurn*t.modPhase)
		t.modPhase = wrap(t.modPhase + t.mod)
		t.index = t.last + (t.index-t.last)*t.low
	}
	t.phase = wrap(t.phase + t.step)
	return t.level * math.Sin(fullTurn*turn)
}

func wrap(turns float64) float64 {
	if turns >= 1 {
		return turns - 1
	}
	return turns
}

// next is the next sample of the noise, about -1 to 1. The generator is Marsaglia's xorshift with shifts 13, 17, 5 (Journal of Statistical Software 8 (2003) 14).
func (n *noise) next() float64 {
	n.state ^= n.state << 13
	n.state ^= n.state >> 17
	n.state ^= n.state << 5
	white := float64(int32(n.state)) / -math.MinInt32
	mid := n.pole * (n.mid + white - n.in)
	out := n.pole * (n.out + mid - n.mid)
	n.in, n.mid, n.out = white, mid, out
	return out
}

// smooth is a curve from 0 to 1 that starts and ends level (3x^2 - 2x^3).
func smooth(x float64) float64 {
	return x * x * (3 - 2*x)
}
