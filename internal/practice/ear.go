package practice

import (
	"math"

	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/voice"
)

// Sizes of what an ear works with, s.
const (
	chunkSeconds = 0.01 // sound is taken in steps of this length: one frame of the voice each
	keepSeconds  = round.MaxCutBack + settle + 0.5
	longestHole  = 10.0 // lost sound is replaced by silence up to this length
	renewAfter   = 30.0 // of listening, after which a new analyser is begun in the next silence: it keeps its frames
	renewAnyway  = 300.0
	preroll      = 0.3 // of sound that a new analyser hears first, so that its frames go on without a gap
)

// ear is what is known of one microphone's sound.
type ear struct {
	name     string
	rate     int
	begun    bool
	end      int64     // position after the newest sample
	recent   []float32 // the newest samples, rounded to 16 bits
	keep     int       // samples of recent that are kept at least
	chunk    int       // samples
	analyser *voice.Analyser
	heardAt  int64   // position of the analyser's first sample
	framed   float64 // time of the newest frame, s
	detector voiceDetector
	watch    *levelWatch
	loop     loopback
}

func newEar(name string, rate int) (*ear, error) {
	if _, err := voice.NewAnalyser(rate); err != nil {
		return nil, err
	}
	e := &ear{
		name: name, rate: rate, keep: int(keepSeconds * float64(rate)), chunk: max(1, int(chunkSeconds*float64(rate))),
		framed: math.Inf(-1), detector: newVoiceDetector(), watch: newLevelWatch(rate),
	}
	e.recent = make([]float32, 0, 2*e.keep+e.chunk)
	return e, nil
}

// time is the time of a position, s.
func (e *ear) time(position int64) float64 { return float64(position) / float64(e.rate) }

// position is the sample nearest to a time.
func (e *ear) position(t float64) int64 { return int64(math.Round(t * float64(e.rate))) }

// begin sets where a block of sound lies and returns how many samples are missing before it.
func (e *ear) begin(at float64) (missing int) {
	position := e.position(at)
	switch {
	case !e.begun:
		e.begun, e.end = true, position
	case position > e.end:
		missing = int(min(position-e.end, int64(longestHole*float64(e.rate))))
		e.end = position - int64(missing)
	}
	return missing
}

// add takes at most one chunk of samples and returns how many.
func (e *ear) add(samples []float32) (taken []float32, rest []float32) {
	n := min(len(samples), e.chunk)
	if len(e.recent)+n > cap(e.recent) {
		e.recent = e.recent[:copy(e.recent, e.recent[len(e.recent)-e.keep:])]
	}
	from := len(e.recent)
	for _, x := range samples[:n] {
		e.recent = append(e.recent, rounded(x))
	}
	e.end += int64(n)
	return e.recent[from:], samples[n:]
}

// rounded is a sample as a 16-bit file keeps it.
func rounded(x float32) float32 { return float32(soundfile.Code16(x)) / (1 << 15) }

// since are the samples from a position on, as far as they are kept; from is the position of the first.
func (e *ear) since(position int64) (samples []float32, from int64) {
	first := e.end - int64(len(e.recent))
	from = min(max(position, first), e.end)
	return e.recent[from-first:], from
}

// listen hears the newest chunk with the analyser. ok is false where that makes no new frame.
func (e *ear) listen(chunk []float32) (f voice.Frame, ok bool) {
	seconds := e.time(e.end - e.heardAt)
	if e.analyser == nil || seconds > renewAfter && !e.detector.on || seconds > renewAnyway {
		analyser, err := voice.NewAnalyser(e.rate)
		if err != nil {
			panic("practice: " + err.Error()) // newEar has tried it
		}
		e.analyser = analyser
		chunk, e.heardAt = e.since(e.end - int64(preroll*float64(e.rate)))
	}
	if err := e.analyser.Write(chunk); err != nil {
		panic("practice: " + err.Error()) // it is renewed long before it is full
	}
	f, ok = e.analyser.Live()
	f.Time += e.time(e.heardAt)
	if !ok || f.Time <= e.framed {
		return f, false
	}
	e.framed = f.Time
	return f, true
}

// rest forgets the analyser where nobody listens.
func (e *ear) rest() { e.analyser = nil }
