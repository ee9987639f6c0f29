package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/dsp/fourier"

	"larkhand/internal/data/sightsing"
	"larkhand/internal/soundfile"
)

// How clips are degraded; own, after what phones, laptops and rooms do.
const (
	noiseDB        = 10.0  // of the voice above the noise
	humDB          = -10.0 // of the hum's fundamental against the voice; harmonics 2 to 8 lie 6 dB lower each
	humHz          = 50.0
	humHarmonics   = 8
	clipDB         = 12.0  // dB that the peaks lie above the limit
	laptopLow      = 300.0 // Hz
	laptopHigh     = 5000.0
	smallRoomRT60  = 0.35 // s
	smallRoomRatio = 6.0  // dB of the direct sound above the reverberation
	smallRoomDelay = 0.004
	hallRT60       = 2.0
	hallRatio      = -6.0 // dB: the microphone stands beyond the distance at which both are equally loud
	hallDelay      = 0.020
	activeDB       = 25.0 // below the loudest 0.1 s: what is softer is no voice
	activeWindow   = 0.1  // s

	degradedTarget = 0.03 // NSERtol above clean
	hallTarget     = 0.25 // NSERtol
)

// degradation is one way to spoil a recording. Onsets keep their place.
type degradation struct {
	name  string
	apply func(x []float64, rate int, rng *rand.Rand) []float64
}

// degradations in the order of the table; the first leaves everything as it is, the last is the hall.
var degradations = []degradation{
	{"clean", func(x []float64, _ int, _ *rand.Rand) []float64 { return x }},
	{"white noise, 10 dB below the voice", func(x []float64, rate int, rng *rand.Rand) []float64 {
		return mixed(x, white(rng, len(x)), voiceLevel(x, rate)*fromDB(-noiseDB))
	}},
	{"pink noise, 10 dB below the voice", func(x []float64, rate int, rng *rand.Rand) []float64 {
		return mixed(x, pink(rng, len(x), rate), voiceLevel(x, rate)*fromDB(-noiseDB))
	}},
	{"mains hum, 10 dB below the voice", func(x []float64, rate int, _ *rand.Rand) []float64 {
		return mixed(x, hum(len(x), rate), voiceLevel(x, rate)*fromDB(humDB))
	}},
	{"clipped by 12 dB", func(x []float64, _ int, _ *rand.Rand) []float64 { return clipped(x) }},
	{"laptop microphone, 300 Hz to 5 kHz", func(x []float64, rate int, _ *rand.Rand) []float64 { return shaped(x, rate, laptop) }},
	{"small room, 0.35 s", func(x []float64, rate int, rng *rand.Rand) []float64 {
		return reverberated(x, rate, rng, smallRoomRT60, smallRoomRatio, smallRoomDelay)
	}},
	{"hall, 2 s", func(x []float64, rate int, rng *rand.Rand) []float64 {
		return reverberated(x, rate, rng, hallRT60, hallRatio, hallDelay)
	}},
}

// degraded lets every listener hear every clip in every degradation: counts by degradation and listener.
func degraded(clips []sightsing.Clip, seed uint64) ([][]noteCount, error) {
	parts, err := inParallel(clips, func(clip sightsing.Clip) ([][]noteCount, error) {
		sound, err := soundfile.Read(clip.Sound)
		if err != nil {
			return nil, err
		}
		counts := degradedCounts()
		for k, d := range degradations {
			spoilt := d.apply(doubles(sound.Samples), sound.Rate, generator(seed, "degraded "+clip.ID, k, faultless))
			r := recording{singles(spoilt), sound.Rate, soundingNotes(clip)}
			for m, l := range listeners() {
				if l.missing != "" {
					continue
				}
				notes, _, err := l.hear([]recording{r})
				if err != nil {
					return nil, fmt.Errorf("clip %s, %s: %w", clip.ID, d.name, err)
				}
				counts[k][m].addNotes(r.ref, notes[0])
			}
		}
		return counts, nil
	})
	all := degradedCounts()
	for _, part := range parts {
		for k := range part {
			for m := range part[k] {
				all[k][m].add(part[k][m])
			}
		}
	}
	return all, err
}

// degradedCounts is an empty count of each degradation and listener.
func degradedCounts() [][]noteCount {
	counts := make([][]noteCount, len(degradations))
	for k := range counts {
		counts[k] = make([]noteCount, len(listeners()))
	}
	return counts
}

// degradedTables lays out the outcome.
func degradedTables(counts [][]noteCount, which string, g *goals) []table {
	t := table{title: "Degraded copies of the sight-singing clips (" + which + ")", head: []string{"copy", "heard", "COn", "COnP", "NSERtol", "above clean"}}
	t.head = append(t.head, peerHeads()...)
	clean := counts[0][0].noteErrorRate()
	for k, d := range degradations {
		c := counts[k][0]
		above := c.noteErrorRate() - clean
		row := []string{d.name, fmt.Sprint(c.est), c.f(c.on), c.f(c.pitch), fmt.Sprintf("%.3f", c.noteErrorRate()), fmt.Sprintf("%+.3f", above)}
		t.add(append(row, peerRates(counts[k])...)...)
		switch k {
		case 0:
		case len(degradations) - 1:
			g.most(d.name+": NSERtol", c.noteErrorRate(), hallTarget, rateFormat)
		default:
			g.most(d.name+": NSERtol above clean", above, degradedTarget, rateFormat)
		}
	}
	t.notes = []string{"Rooms are decaying noise (Moorer, Computer Music Journal 3(2) (1979) 13) after the direct sound: direct sound 6 dB above it in the small room, 6 dB below it in the hall."}
	return []table{t}
}

func doubles(x []float32) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = float64(v)
	}
	return out
}

func singles(x []float64) []float32 {
	out := make([]float32, len(x))
	for i, v := range x {
		out[i] = float32(math.Max(-1, math.Min(1, v)))
	}
	return out
}

func fromDB(db float64) float64 { return math.Pow(10, db/20) }

// voiceLevel is the RMS of the parts of a recording that are not far below its loudest.
func voiceLevel(x []float64, rate int) float64 {
	window := int(activeWindow * float64(rate))
	var squares []float64
	top := 0.0
	for i := 0; i+window <= len(x); i += window {
		sum := 0.0
		for _, v := range x[i : i+window] {
			sum += v * v
		}
		squares = append(squares, sum/float64(window))
		top = math.Max(top, sum/float64(window))
	}
	sum, n := 0.0, 0
	for _, s := range squares {
		if s > top*fromDB(-2*activeDB) {
			sum += s
			n++
		}
	}
	return math.Sqrt(sum / float64(max(n, 1)))
}

// mixed adds noise of the given RMS level, and turns the sum down where it would clip.
func mixed(x, noise []float64, level float64) []float64 {
	sum := 0.0
	for _, v := range noise {
		sum += v * v
	}
	scale := level / math.Sqrt(sum/float64(len(noise))+1e-30)
	out := make([]float64, len(x))
	for i := range x {
		out[i] = x[i] + scale*noise[i]
	}
	return quieter(out)
}

// quieter turns down what would pass full scale.
func quieter(x []float64) []float64 {
	peak := 1.0
	for _, v := range x {
		peak = math.Max(peak, math.Abs(v))
	}
	for i := range x {
		x[i] /= peak
	}
	return x
}

func white(rng *rand.Rand, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = rng.NormFloat64()
	}
	return out
}

// pink noise has a power that falls by 3 dB an octave from 20 Hz on.
func pink(rng *rand.Rand, n, rate int) []float64 {
	return shaped(white(rng, n), rate, func(hz float64) float64 { return 1 / math.Sqrt(math.Max(20, hz)) })
}

func hum(n, rate int) []float64 {
	out := make([]float64, n)
	for k := 1; k <= humHarmonics; k++ {
		level := math.Pow(0.5, float64(k-1))
		for i := range out {
			out[i] += level * math.Sin(2*math.Pi*humHz*float64(k)*float64(i)/float64(rate))
		}
	}
	return out
}

// clipped limits a recording clipDB below its peak.
func clipped(x []float64) []float64 {
	peak := 0.0
	for _, v := range x {
		peak = math.Max(peak, math.Abs(v))
	}
	limit := peak * fromDB(-clipDB)
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = math.Max(-limit, math.Min(limit, v))
	}
	return out
}

// laptop is the response of a small microphone: Butterworth of the second order at both ends, magnitude only.
func laptop(hz float64) float64 {
	return 1 / math.Sqrt(1+math.Pow(laptopLow/math.Max(hz, 1e-3), 4)) / math.Sqrt(1+math.Pow(hz/laptopHigh, 4))
}

// shaped multiplies the spectrum by a gain; no phase is changed, so onsets stay.
func shaped(x []float64, rate int, gain func(hz float64) float64) []float64 {
	n := powerOfTwo(len(x))
	padded := make([]float64, n)
	copy(padded, x)
	transform := fourier.NewFFT(n)
	spectrum := transform.Coefficients(nil, padded)
	for k := range spectrum {
		spectrum[k] *= complex(gain(float64(k)*float64(rate)/float64(n))/float64(n), 0)
	}
	return transform.Sequence(nil, spectrum)[:len(x)]
}

// reverberated adds decaying noise after the direct sound.
func reverberated(x []float64, rate int, rng *rand.Rand, rt60, ratioDB, delay float64) []float64 {
	response := make([]float64, int((delay+rt60)*float64(rate)))
	energy := 0.0
	for i := int(delay * float64(rate)); i < len(response); i++ {
		t := float64(i)/float64(rate) - delay
		response[i] = rng.NormFloat64() * math.Pow(10, -3*t/rt60)
		energy += response[i] * response[i]
	}
	for i := range response {
		response[i] *= fromDB(-ratioDB) / math.Sqrt(energy)
	}
	response[0] = 1
	return quieter(convolved(x, response)[:len(x)])
}

// convolved is the convolution of two signals by their spectra.
func convolved(a, b []float64) []float64 {
	n := powerOfTwo(len(a) + len(b))
	transform := fourier.NewFFT(n)
	spectrum := func(x []float64) []complex128 {
		padded := make([]float64, n)
		copy(padded, x)
		return transform.Coefficients(nil, padded)
	}
	sa, sb := spectrum(a), spectrum(b)
	for k := range sa {
		sa[k] *= sb[k] / complex(float64(n), 0)
	}
	return transform.Sequence(nil, sa)
}

// powerOfTwo is the least power of two that is not below n.
func powerOfTwo(n int) int {
	p := 1
	for p < n {
		p *= 2
	}
	return p
}
