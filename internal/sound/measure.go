package sound

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync/atomic"

	"larkhand/internal/delay"
	"larkhand/internal/practice"
)

const (
	// allowsNothing is a round trip for which a stream gives the speaker its samples no earlier: what is found is the whole delay. (0 would mean what the system claims.)
	allowsNothing = 1e-9 // s
	// chirpsBegin is how long after the first callback a series begins, s: cold sound systems drop their first sound (own choice).
	chirpsBegin = 0.5
	// ChirpLevel is how loud the chirps are at their peaks, dBFS: well below a loop at its usual volume (own choice).
	ChirpLevel = -20.0
	// SeriesStrikes is how many keys are struck for one series (own choice).
	SeriesStrikes = 8
	// strikeWait is how long a player may take to strike the next key, s (own choice).
	strikeWait = 30.0
	// strikeApart is the least time between two strikes that both count, s; so that one has faded before the next (as in package delay).
	strikeApart = 0.4
	// strikeTail is how long recording goes on after the last strike, s.
	strikeTail = 0.3
)

var (
	errMicrophoneWent = errors.New("the microphone or the speaker went away while it was measured; plug it in and measure again")
	errKeyboardWent   = errors.New("the keyboard went away while it was measured; plug it in and measure again")
	errNoStrike       = fmt.Errorf("no key was struck for %g s; check that the keyboard is switched on and is the one that was chosen, and measure again", strikeWait)
)

// MeasureRoundTrip plays series of chirps on a speaker, finds them in a microphone, and goes on until two series in a row agree; each has a stream of its own, as each
// session has. rate is the sampling rate in Hz, and must be that of the sessions: sound systems take time to convert it; 0 is the devices' own. tell, if not nil, is told of every series. The error says in a sentence why there is no delay.
func MeasureRoundTrip(ctx context.Context, microphone, speaker string, rate int, tell func(delay.Series)) (delay.Result, error) {
	if soundSystem == nil {
		return delay.Result{}, ErrNoDevices
	}
	return measureRoundTrip(ctx, StreamConfig{Microphone: microphone, Speaker: speaker, Rate: rate, RoundTrip: allowsNothing}, soundSystem, tell)
}

func measureRoundTrip(ctx context.Context, cfg StreamConfig, sys system, tell func(delay.Series)) (delay.Result, error) {
	var trial delay.Trial
	for over := false; !over; {
		series, err := chirpSeries(ctx, cfg, sys)
		if err != nil {
			return delay.Result{}, err
		}
		over = trial.Add(series)
		if tell != nil {
			tell(series)
		}
	}
	return result(&trial, "clicks")
}

// result is what a trial gave that is over.
func result(trial *delay.Trial, what string) (delay.Result, error) {
	r, ok := trial.Result()
	if !ok {
		return r, errors.New(trial.Why(what))
	}
	return r, nil
}

// chirpSeries plays and records one series.
func chirpSeries(ctx context.Context, cfg StreamConfig, sys system) (series delay.Series, err error) {
	tape := &chirpTape{}
	tape.base.Store(notBegun)
	cfg.Play = tape
	rate, _, err := sys.format(cfg)
	if err != nil {
		return series, err
	}
	begins, length := tape.record(rate)
	s, err := openStream(cfg, sys)
	if err != nil {
		return series, err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	mic, err := s.Microphone("")
	if err != nil {
		return series, err
	}
	var r recording
	for r.samples == nil || tape.base.Load() == notBegun || r.end() < tape.base.Load()+int64(length) {
		b, err := mic.Read(ctx)
		if err != nil {
			return series, err
		}
		if b.Status != practice.Fine {
			return series, errMicrophoneWent
		}
		r.add(b, rate)
	}
	sent := make([]int, len(begins))
	for i, at := range begins {
		sent[i] = int(tape.base.Load() - r.first + int64(at))
	}
	return delay.ListenForChirps(r.samples, rate, sent), nil
}

// notBegun stands for the base of a tape that has not been asked for sound.
const notBegun = math.MinInt64

// chirpTape is a renderer that plays one series of chirps, some time after it is first asked for sound.
type chirpTape struct {
	rate    int
	at      int64
	samples []float32
	base    atomic.Int64 // number of the first chirp's first sample
}

// record puts a series on the tape.
func (p *chirpTape) record(rate int) (begins []int, length int) {
	begins, length = delay.Schedule(rate)
	p.rate, p.samples = rate, make([]float32, length)
	amplitude := float32(math.Pow(10, ChirpLevel/20))
	for _, at := range begins {
		for i, x := range delay.Chirp(rate) {
			p.samples[at+i] = amplitude * x
		}
	}
	return begins, length
}

func (p *chirpTape) Render(dst []float32) {
	if p.base.Load() == notBegun {
		p.base.Store(p.at + int64(chirpsBegin*float64(p.rate)))
	}
	base := p.base.Load()
	for i := range dst {
		dst[i] = 0
		if k := p.at - base; k >= 0 && k < int64(len(p.samples)) {
			dst[i] = p.samples[k]
		}
		p.at++
	}
}

func (p *chirpTape) SkipTo(to int64) { p.at = max(p.at, to) }

func (p *chirpTape) Position() int64 { return p.at }

// recording gathers the sound of a microphone; what was lost is silent.
type recording struct {
	first   int64 // number of the first sample on the audio clock
	samples []float32
}

// end is the number of the sample after the last.
func (r *recording) end() int64 { return r.first + int64(len(r.samples)) }

func (r *recording) add(b practice.Block, rate int) {
	at := int64(math.Round(b.Time * float64(rate)))
	if r.samples == nil {
		r.first = at
	}
	if missing := at - r.end(); missing > 0 {
		r.samples = append(r.samples, make([]float32, missing)...)
	}
	r.samples = append(r.samples, b.Samples...)
}

// Strike tells how far a measurement of a keyboard is.
type Strike struct {
	Number  int           // in its series, from 1 on
	TooSoon bool          // after the one before, so that it does not count
	Series  *delay.Series // nil but after the last strike of a series
}

// MeasureKeyboard listens to keys that are struck, at a microphone and at a MIDI port, until two series in a row agree. tell, if not nil, is told of every
// strike. The error says in a sentence why there is no delay.
func MeasureKeyboard(ctx context.Context, port, microphone string, tell func(Strike)) (delay.Result, error) {
	s, err := OpenStream(StreamConfig{Microphone: microphone, Speaker: NoDevice})
	if err != nil {
		return delay.Result{}, err
	}
	defer s.Close() // what was measured is measured, whether or not the device lets go
	keys, err := OpenMIDI(port, s)
	if err != nil {
		return delay.Result{}, err
	}
	defer keys.Close()
	mic, err := s.Microphone("")
	if err != nil {
		return delay.Result{}, err
	}
	return measureKeyboard(ctx, keys, mic, tell)
}

func measureKeyboard(ctx context.Context, keys practice.MIDIPort, mic practice.Microphone, tell func(Strike)) (delay.Result, error) {
	ctx, cancel := context.WithCancel(ctx)
	messages := make(chan practice.Message, midiRoom)
	failed := make(chan error, 1)
	go func() {
		for {
			m, err := keys.Read(ctx)
			if err != nil {
				failed <- err
				return
			}
			select {
			case messages <- m:
			case <-ctx.Done():
				failed <- ctx.Err()
				return
			}
		}
	}()
	defer func() { // the port is read no more when this returns
		cancel()
		<-failed
	}()
	var trial delay.Trial
	for over := false; !over; {
		series, err := strikeSeries(ctx, messages, mic, tell)
		if err != nil {
			return delay.Result{}, err
		}
		over = trial.Add(series)
		if tell != nil {
			tell(Strike{Number: SeriesStrikes, Series: &series})
		}
	}
	return result(&trial, "strikes")
}

// strikeSeries records one series of strikes.
func strikeSeries(ctx context.Context, messages <-chan practice.Message, mic practice.Microphone, tell func(Strike)) (series delay.Series, err error) {
	var r recording
	var at []float64 // s on the audio clock
	last := math.NaN()
	for {
		b, err := mic.Read(ctx)
		if err != nil {
			return series, err
		}
		if b.Status != practice.Fine {
			return series, errMicrophoneWent
		}
		r.add(b, mic.Rate())
		now := float64(r.end()) / float64(mic.Rate())
		if math.IsNaN(last) {
			last = now
		}
		for len(messages) > 0 && len(at) < SeriesStrikes {
			m := <-messages
			if m.Status == practice.Gone {
				return series, errKeyboardWent
			}
			if !isStrike(m) || m.Time < float64(r.first)/float64(mic.Rate()) {
				continue
			}
			soon := len(at) > 0 && m.Time-last < strikeApart
			last = m.Time
			if !soon {
				at = append(at, m.Time)
			}
			if tell != nil {
				tell(Strike{Number: len(at), TooSoon: soon})
			}
		}
		switch {
		case len(at) == SeriesStrikes && now >= last+strikeTail:
			for i := range at {
				at[i] -= float64(r.first) / float64(mic.Rate())
			}
			return delay.ListenForStrikes(r.samples, mic.Rate(), at), nil
		case now > last+strikeWait:
			return series, errNoStrike
		}
	}
}

// isStrike says whether a message is a key going down.
func isStrike(m practice.Message) bool {
	const noteOn = 0x90
	return m.Size == 3 && m.Bytes[0]&0xF0 == noteOn && m.Bytes[2] > 0
}
