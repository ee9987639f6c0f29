package reportpage

import (
	"bytes"
	"math"

	"larkhand/internal/loop"
	"larkhand/internal/sound/synth"
	"larkhand/internal/soundfile"
	"larkhand/midiin"
)

// leastRate is the sampling rate, Hz, that a sound in a page has at least: it keeps what a voice has up to 9 kHz, sibilants included, at a
// third of the size of 48 kHz (own choice).
const leastRate = 16000

// Compact makes a FLAC file of a sound, mono and of full scale 1, at a lower rate where its own is at least twice leastRate.
func Compact(samples []float32, rate int) (Sound, error) {
	factor := max(1, rate/leastRate)
	for rate%factor != 0 {
		factor--
	}
	var out bytes.Buffer
	if err := soundfile.EncodeFLAC(&out, thinned(samples, factor), rate/factor); err != nil {
		return Sound{}, err
	}
	return Sound{Data: out.Bytes()}, nil
}

// The low pass before the rate is lowered: a sinc under a Blackman window, as in textbooks; half length and edge are chosen so that it is down by
// 74 dB where sound would fold back to below 0.46 of the new rate.
const (
	sideTaps = 32   // samples of the new rate on either side
	edge     = 0.45 // -6 dB, as a part of the new rate
)

// thinned keeps every factor-th sample after a low pass.
func thinned(samples []float32, factor int) []float32 {
	if factor == 1 {
		return samples
	}
	taps := lowPass(factor)
	side := sideTaps * factor
	out := make([]float32, (len(samples)+factor-1)/factor)
	for i := range out {
		sum := 0.0
		first := i*factor - side
		for k := max(0, -first); k < len(taps) && first+k < len(samples); k++ {
			sum += taps[k] * float64(samples[first+k])
		}
		out[i] = float32(sum)
	}
	return out
}

func lowPass(factor int) []float64 {
	side := sideTaps * factor
	taps := make([]float64, 2*side+1)
	total := 0.0
	for i := range taps {
		turn := 2 * math.Pi * float64(i) / float64(2*side)
		x := 2 * edge * float64(i-side) / float64(factor)
		taps[i] = 0.42 - 0.5*math.Cos(turn) + 0.08*math.Cos(2*turn)
		if x != 0 {
			taps[i] *= math.Sin(math.Pi*x) / (math.Pi * x)
		}
		total += taps[i]
	}
	for i := range taps {
		taps[i] /= total
	}
	return taps
}

// The sound of an answer.
const (
	answerRate = 22050 // Hz
	answerTail = 0.5   // s after the last key goes up
	answerPeak = 0.5   // of full scale: about as loud as a take
	// mostAnswer bounds the memory, s: longer answers are no answers.
	mostAnswer = 300.0
)

// AnswerSound plays the keys of an answer, its zero at the start, with the program's own soft piano. A pitch bend is rounded to the nearest key.
func AnswerSound(notes []midiin.Note) (Sound, error) {
	sounds, err := synth.Plain(answerRate)
	if err != nil {
		return Sound{}, err
	}
	end := 0.0
	for _, n := range notes {
		end = math.Max(end, math.Min(n.Offset, mostAnswer))
	}
	samples := make([]float32, int((end+answerTail)*answerRate))
	voice := sounds.NewVoice()
	for _, n := range notes {
		if n.Onset < 0 || n.Onset >= end {
			continue
		}
		voice.Start(loop.Event{
			Duration: math.Max(n.Offset-n.Onset, 0.05), Key: min(max(int(math.Round(n.Pitch)), 0), 127), Velocity: n.Velocity,
			Part: loop.Comping, Channel: loop.CompingChannel, Program: loop.CompingProgram,
		})
		voice.Add(samples[int(n.Onset*answerRate):])
	}
	peak := float32(0)
	for _, x := range samples {
		peak = max(peak, max(x, -x))
	}
	if peak > 0 {
		for i := range samples {
			samples[i] *= answerPeak / peak
		}
	}
	return Compact(samples, answerRate)
}
