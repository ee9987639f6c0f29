package past

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync/atomic"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/journal"
	"larkhand/internal/loop"
	"larkhand/internal/sound/synth"
	"larkhand/internal/soundfile"
	"larkhand/midiin"
)

// Sound is what a speaker is to play.
type Sound struct {
	Samples []float32 // one channel, full scale 1, never above synth.Ceiling
	Rate    int       // Hz
	// Gain is the factor, 0 to 1, by which they are softened; it may change while they sound.
	Gain func() float64
}

// Speaker plays sounds.
type Speaker interface {
	// Play plays a sound to its end, or until ctx ends; the error is then that of ctx.
	Play(ctx context.Context, s Sound) error
}

// Volumes in dB below full: it begins as soft as the loop of a live round does, and a key moves it by volumeStep.
const (
	startVolume = synth.StartVolume
	volumeStep  = 3.0
)

// playing is what sounds.
type playing struct {
	what  string // "take 1"; "" where nothing sounds
	next  []part
	stop  context.CancelFunc
	ctx   context.Context
	gain  *atomic.Uint64 // float64 bits
	round int            // number of this playing; what belongs to an earlier one is over
}

// part is a take or the answer, as something to play.
type part struct {
	name string
	file journal.StoredFile
}

// end stops what sounds.
func (p *playing) end() {
	if p.stop != nil {
		p.stop()
	}
	*p = playing{round: p.round + 1}
}

func (p *playing) text(volume float64) string {
	return fmt.Sprintf("Playing %s at %+.0f dB; x stops, - and + change the volume.", p.what, volume)
}

// soundMsg brings a sound that is ready to be played.
type soundMsg struct {
	of    int
	sound Sound
	err   error
}

// playedMsg tells that a sound is over.
type playedMsg struct {
	of  int
	err error
}

// pressSound takes the keys that have to do with sound.
func (m *model) pressSound(key string) tea.Cmd {
	switch key {
	case "x":
		m.playing.end()
		return nil
	case "-", "+", "=":
		m.changeVolume(key)
		return nil
	}
	if !m.open.opened {
		return nil
	}
	parts, err := m.parts(key)
	if err == nil && m.cfg.Speaker == nil {
		err = errors.New(m.cfg.Silent)
	}
	if err != nil {
		m.tell("", err)
		return nil
	}
	m.playing.end()
	m.playing.ctx, m.playing.stop = context.WithCancel(m.ctx)
	m.playing.gain = new(atomic.Uint64)
	m.playing.next = parts
	m.setGain()
	return m.playNext()
}

// parts are what a key plays.
func (m *model) parts(key string) ([]part, error) {
	s := &m.open.stored
	if len(s.Takes) == 0 {
		return nil, fmt.Errorf("no takes and no answer are kept of round %d; there is nothing to play", s.ID)
	}
	var all []part
	for i, f := range s.Takes {
		all = append(all, part{name: fmt.Sprintf("take %d", i+1), file: f})
	}
	all = append(all, part{name: "the answer", file: s.Answer})
	chosen := all
	switch key {
	case "1":
		chosen = all[:1]
	case "2":
		if len(s.Takes) < 2 {
			return nil, fmt.Errorf("round %d has one take; 1 plays it", s.ID)
		}
		chosen = all[1:2]
	case "a":
		chosen = all[len(all)-1:]
	}
	for _, p := range chosen {
		if p.file.State != journal.Good {
			return nil, fmt.Errorf("%s cannot be played: %s", p.name, p.file.Remark)
		}
	}
	return chosen, nil
}

func (m *model) changeVolume(key string) {
	if key == "-" {
		m.volume = max(synth.MinVolume, m.volume-volumeStep)
	} else {
		m.volume = min(synth.MaxVolume, m.volume+volumeStep)
	}
	m.setGain()
	if m.playing.what == "" {
		m.tell(fmt.Sprintf("Volume %+.0f dB.", m.volume), nil)
	}
}

func (m *model) setGain() {
	const halfOfPower = 20 // dB for a factor of ten in amplitude
	if m.playing.gain != nil {
		m.playing.gain.Store(math.Float64bits(math.Pow(10, m.volume/halfOfPower)))
	}
}

// playNext reads the next part; the sound follows.
func (m *model) playNext() tea.Cmd {
	p := &m.playing
	if len(p.next) == 0 {
		p.end()
		return nil
	}
	next := p.next[0]
	p.next, p.what = p.next[1:], next.name
	of, gain, instrument := p.round, p.gain, m.open.stored.Instrument
	return m.do(func(context.Context) tea.Msg {
		s, err := soundOf(next, instrument)
		s.Gain = func() float64 { return math.Float64frombits(gain.Load()) }
		return soundMsg{of, s, err}
	})
}

func (m *model) takeSound(msg soundMsg) tea.Cmd {
	p := &m.playing
	switch {
	case msg.of != p.round:
		return nil
	case msg.err != nil:
		p.end()
		m.tell("", msg.err)
		return nil
	}
	ctx := p.ctx
	return m.do(func(context.Context) tea.Msg { return playedMsg{msg.of, m.cfg.Speaker.Play(ctx, msg.sound)} })
}

func (m *model) takePlayed(msg playedMsg) tea.Cmd {
	switch {
	case msg.of != m.playing.round:
		return nil
	case msg.err != nil:
		m.playing.end()
		m.tell("", msg.err)
		return nil
	}
	return m.playNext()
}

// soundOf makes the sound of a part: as it was recorded, or by the program's own sounds where it was written or played.
func soundOf(p part, instrument midiin.Instrument) (Sound, error) {
	s, err := soundfile.Read(p.file.Path)
	switch {
	case err == nil:
		return Sound{Samples: levelled(s.Samples), Rate: s.Rate}, nil
	case !errors.Is(err, soundfile.ErrMIDI):
		return Sound{}, err
	}
	file, err := midiin.ReadFile(p.file.Path)
	if err != nil {
		return Sound{}, err
	}
	notes, _ := midiin.Notes(file, midiin.Options{Instrument: instrument})
	return played(notes)
}

// What the program's own sounds are made with.
const (
	playedRate = 44100 // Hz
	tailTime   = 1.0   // s in which the last note may fade
	leadTime   = 0.2   // s before the first note
	mostPlayed = 600.0 // s; a longer file is cut there
)

// played makes the sound of notes; it begins just before the first of them.
func played(notes []midiin.Note) (Sound, error) {
	if len(notes) == 0 {
		return Sound{}, errors.New("there are no notes in the answer; there is nothing to play")
	}
	s, err := synth.Plain(playedRate)
	if err != nil {
		return Sound{}, err
	}
	begin, end := notes[0].Onset, notes[0].Offset
	for _, n := range notes {
		begin, end = min(begin, n.Onset), max(end, n.Offset)
	}
	begin -= leadTime
	length := min(end-begin+tailTime, mostPlayed)
	samples := make([]float32, int(length*playedRate))
	for _, n := range notes {
		at := int((n.Onset - begin) * playedRate)
		if at >= len(samples) {
			continue
		}
		voice := s.NewVoice()
		voice.Start(loop.Event{Time: n.Onset, Duration: n.Offset - n.Onset, Key: n.Key, Velocity: n.Velocity, Part: loop.Comping})
		voice.Add(samples[at:])
	}
	return Sound{Samples: levelled(samples), Rate: playedRate}, nil
}

// levelled brings the highest peak to synth.Ceiling, as the loop's is at full volume, so that one volume suits all.
func levelled(samples []float32) []float32 {
	peak := float32(0)
	for _, x := range samples {
		peak = max(peak, x, -x)
	}
	if peak == 0 {
		return samples
	}
	out := make([]float32, len(samples))
	for i, x := range samples {
		out[i] = x * (synth.Ceiling / peak)
	}
	return out
}
