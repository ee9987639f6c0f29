package practice

import (
	"fmt"
	"math"

	"larkhand/internal/round"
)

const (
	// peakHolds is how long the highest peak stands, s; then it falls like the meter (common practice: one to three seconds).
	peakHolds = 2.0
	// clipShows is how long a clip is shown, s (own choice).
	clipShows = 3.0
)

// Meter tells how well a microphone is set, as a session hears it: its level, its peaks, and what a player can mend. It is called by one goroutine.
type Meter struct {
	ear     *ear
	peak    float64 // of the samples, full scale 1, that is held
	held    float64 // s since it was set
	clipped float64 // s since the last clip
}

// Remark is something about the sound that a player can mend, in a sentence.
type Remark struct {
	Trouble round.Warning
	Text    string
}

// NewMeter makes a meter for a microphone of a rate in Hz.
func NewMeter(rate int) (*Meter, error) {
	ear, err := newEar("", rate)
	if err != nil {
		return nil, fmt.Errorf("microphone: %w", err)
	}
	return &Meter{ear: ear, clipped: math.Inf(1)}, nil
}

// Hear takes a block and gives what there is to say. Sound that was lost counts as silence of which nothing is said.
func (m *Meter) Hear(b Block) (remarks []Remark) {
	if b.Status != Fine {
		m.ear.rest()
	}
	if len(b.Samples) == 0 {
		return nil
	}
	if m.ear.begin(b.Time) > 0 {
		m.ear.end = m.ear.position(b.Time)
		m.ear.rest()
	}
	for samples := b.Samples; len(samples) > 0; {
		var chunk []float32
		chunk, samples = m.ear.add(samples)
		m.peaks(chunk)
		for _, f := range m.ear.watch.next(chunk, m.ear.detector.on) {
			if f.trouble == round.MicrophoneClipped {
				m.clipped = 0
			}
			text := f.text
			if text == "" {
				text = f.trouble.Sentence()
			}
			remarks = append(remarks, Remark{f.trouble, text})
		}
		if f, ok := m.ear.listen(chunk); ok {
			m.ear.detector.next(f, false)
		}
	}
	return remarks
}

// peaks holds the highest peak for a while.
func (m *Meter) peaks(chunk []float32) {
	seconds := float64(len(chunk)) / float64(m.ear.rate)
	m.held += seconds
	m.clipped += seconds
	if m.held > peakHolds {
		m.peak *= math.Pow(10, -meterReleases*seconds/20)
	}
	for _, x := range chunk {
		if a := math.Abs(float64(x)); a >= m.peak {
			m.peak, m.held = a, 0
		}
	}
}

// Level is the level now, dBFS of the mean square, at least -90; it falls by 20 dB a second.
func (m *Meter) Level() float64 { return m.ear.watch.meter }

// Peak is the highest peak of the last seconds, dBFS, at least -90: 0 is full scale.
func (m *Meter) Peak() float64 { return math.Max(backgroundFloor, 20*math.Log10(m.peak+1e-9)) }

// Clipped says whether the sound was clipped in the last seconds.
func (m *Meter) Clipped() bool { return m.clipped < clipShows }

// Voice says whether a voice sounds.
func (m *Meter) Voice() bool { return m.ear.detector.on }
