package practice

import (
	"fmt"
	"math"

	"larkhand/internal/round"
)

// Bounds of what is wrong with a microphone's sound; own choices, but for those that name another.
const (
	silentLevel   = -75.0 // dBFS: below lies no open microphone, however quiet the room
	silentTime    = 2.0   // s
	softVoice     = -50.0 // dBFS of the voice; as package round says after the take
	voiceTime     = 0.5   // s of voice that is judged at least
	clipLevel     = 0.999 // full scale; clipLevel and clipRun as in package soundfile
	clipRun       = 3     // samples
	humShare      = 0.7   // of the power that lies at the mains frequency and two multiples
	humLevel      = -60.0 // dBFS, from which hum disturbs soft notes
	humWindow     = 1.0   // s, that tells 50 Hz from the G1 of a bass (49.0 Hz)
	humWindows    = 2     // in a row
	bleedOverdB   = -20.0 // dB: the loop against the voice, from which pitches suffer (measured on simulated rooms)
	usualVoice    = -25.0 // dBFS: a voice before it was heard
	meterReleases = 20.0  // dB/s
)

// mains are the frequencies of the world's power supplies, Hz.
var mains = [2]float64{50, 60}

const harmonics = 3 // of them that are looked at

// found is something that is wrong with the sound.
type found struct {
	trouble round.Warning
	text    string // "" for the usual sentence
}

// levelWatch listens for what a player can mend. It allocates only to say something.
type levelWatch struct {
	rate    int
	quiet   float64 // s for which the sound has been silent
	run     int     // neighbouring samples at full scale
	before  float32
	clips   int
	others  bool    // what sounds may be the loop: it says nothing about how loud the voice is
	voice   float64 // s of voice since it began
	power   float64 // of the voice, summed over its blocks
	loud    float64 // dBFS of the latest voice that was long enough; usualVoice before
	meter   float64 // dBFS with a slow fall, for a display
	hum     [2][harmonics]resonator
	all     float64 // power in the window, summed
	n       int     // samples in the window
	humming int     // windows in a row
	out     []found
}

// resonator is Goertzel's filter (Goertzel 1958): the power of one frequency.
type resonator struct{ c, s1, s2 float64 }

func newLevelWatch(rate int) *levelWatch {
	w := &levelWatch{rate: rate, loud: usualVoice, meter: backgroundFloor}
	for i, f := range mains {
		for h := range w.hum[i] {
			w.hum[i][h].c = 2 * math.Cos(2*math.Pi*f*float64(h+1)/float64(rate))
		}
	}
	return w
}

// next takes a block of sound. voiced is true while the voice sounds. What it returns is valid until the next call.
func (w *levelWatch) next(samples []float32, voiced bool) []found {
	w.out = w.out[:0]
	if len(samples) == 0 {
		return nil
	}
	sum := 0.0
	for _, x := range samples {
		sum += float64(x) * float64(x)
		w.clip(x)
	}
	seconds := float64(len(samples)) / float64(w.rate)
	level := math.Max(backgroundFloor, 10*math.Log10(sum/float64(len(samples))+1e-12))
	w.meter = math.Max(level, w.meter-meterReleases*seconds)
	w.silence(level, seconds)
	w.listen(sum/float64(len(samples)), seconds, voiced)
	if voiced {
		w.restartHum()
	} else {
		w.hear(samples, sum)
	}
	if w.clips > 0 {
		w.say(round.MicrophoneClipped, "")
		w.clips = 0
	}
	return w.out
}

func (w *levelWatch) say(trouble round.Warning, text string) {
	w.out = append(w.out, found{trouble, text})
}

func (w *levelWatch) clip(x float32) {
	if x < clipLevel && x > -clipLevel {
		w.run = 0
		return
	}
	if x != w.before {
		w.run = 0
	}
	w.before = x
	if w.run++; w.run == clipRun {
		w.clips++
	}
}

func (w *levelWatch) silence(level, seconds float64) {
	if level > silentLevel {
		w.quiet = 0
		return
	}
	if w.quiet += seconds; w.quiet >= silentTime {
		w.quiet = 0
		w.say(round.MicrophoneSilent, "")
	}
}

// listen gathers the level of the voice and judges it when the voice ends.
func (w *levelWatch) listen(power, seconds float64, voiced bool) {
	if voiced && !w.others {
		w.voice += seconds
		w.power += power * seconds
		return
	}
	if w.voice >= voiceTime {
		w.loud = 10 * math.Log10(w.power/w.voice+1e-12)
		if w.loud < softVoice {
			w.say(round.MicrophoneLow, fmt.Sprintf("The voice comes in very softly (%.0f dBFS): turn the microphone up or come closer.", w.loud))
		}
	}
	w.voice, w.power = 0, 0
}

// hear gathers the powers of the mains' frequencies and judges them when a window is full.
func (w *levelWatch) hear(samples []float32, sum float64) {
	for i := range w.hum {
		for h := range w.hum[i] {
			r := &w.hum[i][h]
			c, s1, s2 := r.c, r.s1, r.s2
			for _, x := range samples {
				s1, s2 = float64(x)+c*s1-s2, s1
			}
			r.s1, r.s2 = s1, s2
		}
	}
	w.all += sum
	if w.n += len(samples); float64(w.n) < humWindow*float64(w.rate) {
		return
	}
	share := 0.0
	for i := range w.hum {
		power := 0.0
		for _, r := range w.hum[i] {
			power += r.s1*r.s1 + r.s2*r.s2 - r.c*r.s1*r.s2
		}
		share = math.Max(share, 2*power/float64(w.n)/math.Max(w.all, 1e-12)) // a sine of N samples has N/2 times its summed power there
	}
	loud := 10*math.Log10(w.all/float64(w.n)+1e-12) >= humLevel
	humming := w.humming + 1
	w.restartHum()
	if !loud || share < humShare {
		return
	}
	if w.humming = humming; w.humming == humWindows {
		w.humming = 0
		w.say(round.MicrophoneHum, "")
	}
}

// restartHum begins a new window.
func (w *levelWatch) restartHum() {
	for i := range w.hum {
		for h := range w.hum[i] {
			w.hum[i][h].s1, w.hum[i][h].s2 = 0, 0
		}
	}
	w.all, w.n, w.humming = 0, 0, 0
}
