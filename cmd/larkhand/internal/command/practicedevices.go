package command

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"larkhand/internal/delay"
	"larkhand/internal/loop"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/screen"
	"larkhand/internal/sound"
	"larkhand/internal/sound/synth"
	"larkhand/voice"
)

// errBuiltWithout is said by a program without devices that is given no files.
var errBuiltWithout = errors.New("this larkhand was built without microphones, speakers and MIDI ports: `make install` builds one that has them, or give it files in their place, as in " +
	"larkhand practice --mic take1.wav --mic take2.wav --midi answer.mid")

// Words of settings on devices.
const (
	clickOnly    = "click"
	listSeparate = ";" // names of devices hold commas
	usualRate    = 48000
)

// rig is the open devices of a session.
type rig struct {
	stream  *sound.Stream
	ports   []*sound.MIDIInput
	byMIDI  *sound.MIDISpeaker
	config  practice.Config // what they give to it
	volume  float64         // dB below full
	devices chosen
}

// chosen is what the settings name, as the machine calls it.
type chosen struct {
	microphone, speaker sound.Device
	hasSpeaker          bool
	ports               []wantedPort
}

// wantedPort is a MIDI port: as the settings call it, and as the machine does, "" where it is not there or any will do.
type wantedPort struct{ called, name string }

// openDevices opens what the settings name.
func openDevices(s screen.Settings, setup round.Setup) (*rig, error) {
	list, err := sound.Devices()
	if err != nil && list.Empty() {
		return nil, err
	}
	r := &rig{}
	if r.devices, err = choose(list, s, setup); err != nil {
		return nil, err
	}
	if r.volume, err = volumeOf(s); err != nil {
		return nil, err
	}
	delays, err := delay.Load(delay.File())
	if err != nil {
		return nil, err
	}
	if err := r.open(s, setup, delays); err != nil {
		r.close()
		return nil, err
	}
	return r, nil
}

// choose finds the devices.
func choose(list sound.List, s screen.Settings, setup round.Setup) (c chosen, err error) {
	if s.Microphone == sound.NoDevice {
		return c, &screen.SettingError{Name: "microphone", Err: errors.New("practice needs a microphone to hear what you sing: choose one")}
	}
	if c.microphone, err = list.Microphone(s.Microphone); err != nil {
		return c, &screen.SettingError{Name: "microphone", Err: err}
	}
	c.hasSpeaker = s.Speaker != sound.NoDevice && s.MIDIOut == ""
	if c.hasSpeaker {
		c.speaker, err = list.Speaker(s.Speaker)
		switch {
		case err == nil:
		case setup.Timing == round.NoLoop: // it would only let things be heard again
			c.hasSpeaker = false
		default:
			return c, &screen.SettingError{Name: "speaker", Err: fmt.Errorf("%w, or choose %q to hear the loop elsewhere", err, sound.NoDevice)}
		}
	}
	c.ports = wantedPorts(list, s.MIDI)
	return c, nil
}

// wantedPorts reads the names of MIDI ports, one for each player who has an own one. A port that is not there is waited for.
func wantedPorts(list sound.List, text string) (ports []wantedPort) {
	if text == sound.NoDevice {
		return nil
	}
	for called := range strings.SplitSeq(text, listSeparate) {
		p := wantedPort{called: strings.TrimSpace(called)}
		if found, err := list.MIDIInput(p.called); err == nil && p.called != sound.DefaultDevice {
			p.name = found.Name
		}
		ports = append(ports, p)
	}
	return ports
}

// volumeOf reads the volume of the loop, dB below full.
func volumeOf(s screen.Settings) (float64, error) {
	db, err := strconv.ParseFloat(strings.TrimSpace(cmp.Or(s.Volume, decimal(synth.StartVolume))), 64)
	if err != nil || !(db >= synth.MinVolume && db <= synth.MaxVolume) {
		return 0, &screen.SettingError{Name: "volume", Err: fmt.Errorf("%q is no volume: write %.0f (silence) to %.0f dB", s.Volume, synth.MinVolume, synth.MaxVolume)}
	}
	return db, nil
}

// rateOf is the sampling rate of a stream, Hz.
func (c chosen) rateOf() int {
	rate := math.Max(c.microphone.DefaultRate, c.speaker.DefaultRate)
	if rate < voice.MinRate || rate > voice.MaxRate {
		return usualRate
	}
	return int(rate)
}

// channelsOf is the highest channel of the microphone that a player has; 0 where all share the first.
func channelsOf(setup round.Setup) (most int) {
	for _, p := range setup.Players {
		var n int
		if _, err := fmt.Sscanf(p.Microphone, channelName, &n); err == nil {
			most = max(most, n)
		}
	}
	return most
}

// channelName names a channel of the microphone, as settings write it into round.Person.Microphone.
const channelName = "channel %d"

// open opens everything.
func (r *rig) open(s screen.Settings, setup round.Setup, delays delay.Store) error {
	player, err := r.openStream(s, setup, delays)
	if err != nil && r.devices.hasSpeaker && setup.Timing == round.NoLoop { // a microphone that opens alone will do
		r.devices.hasSpeaker, r.devices.speaker = false, sound.Device{}
		player, err = r.openStream(s, setup, delays)
	}
	if err != nil {
		return err
	}
	r.config = practice.Config{Clock: r.stream, Began: r.stream.Began(), Volume: r.volume}
	if err := r.openMicrophones(channelsOf(setup)); err != nil {
		return err
	}
	if err := r.openPorts(delays); err != nil {
		return err
	}
	return r.openSpeaker(s, player)
}

// openStream opens the microphone and, where there is one, the speaker with what plays on it.
func (r *rig) openStream(s screen.Settings, setup round.Setup, delays delay.Store) (player *synth.Player, err error) {
	cfg := sound.StreamConfig{Microphone: r.devices.microphone.Name, Speaker: sound.NoDevice, Rate: r.devices.rateOf(), Channels: max(1, channelsOf(setup))}
	if r.devices.hasSpeaker {
		cfg.Speaker = r.devices.speaker.Name
		if player, err = r.player(s, cfg.Rate); err != nil {
			return nil, err
		}
		cfg.Play = player
		if kept, ok := delays.RoundTrip(cfg.Microphone, cfg.Speaker); ok {
			cfg.RoundTrip = kept.Seconds
		}
	}
	r.stream, err = sound.OpenStream(cfg)
	return player, err
}

// player makes what plays the loop.
func (r *rig) player(s screen.Settings, rate int) (*synth.Player, error) {
	font := s.Sound
	if font == clickOnly {
		font = synth.PlainName
	}
	sounds, _, err := synth.Choose(font, "", rate) // fonts that were found and passed over are no concern of a player who asked for none
	if err != nil {
		return nil, &screen.SettingError{Name: "sound", Err: err}
	}
	player, err := synth.NewPlayer(sounds, rate, synth.DefaultKeep)
	if err != nil {
		return nil, err
	}
	player.SetVolume(r.volume)
	return player, nil
}

// openMicrophones takes the channels: one for each player who has an own one, else the first for all.
func (r *rig) openMicrophones(channels int) error {
	names := []string{r.devices.microphone.Name}
	if channels > 0 {
		names = nil
		for n := range channels {
			names = append(names, fmt.Sprintf(channelName, n+1))
		}
	}
	for i, name := range names {
		mic, err := r.stream.Channel(i+1, name)
		if err != nil {
			return err
		}
		r.config.Microphones = append(r.config.Microphones, mic)
	}
	return nil
}

// calledPort is a MIDI port under the name that the settings give it.
type calledPort struct {
	*sound.MIDIInput
	called string
}

func (p calledPort) Name() string { return p.called }

func (r *rig) openPorts(delays delay.Store) error {
	for _, wanted := range r.devices.ports {
		port, err := sound.WaitForMIDI(cmp.Or(wanted.name, wanted.called), r.stream)
		if err != nil {
			return err
		}
		if kept, ok := delays.MIDI(port.Name(), r.devices.microphone.Name); ok {
			port.SetDelay(kept.Seconds)
		}
		r.ports = append(r.ports, port)
		r.config.MIDIPorts = append(r.config.MIDIPorts, calledPort{port, wanted.called})
	}
	return nil
}

func (r *rig) openSpeaker(s screen.Settings, player *synth.Player) error {
	switch {
	case player != nil:
		speaker, err := r.stream.Speaker(player, loop.Options{})
		if err != nil {
			return err
		}
		r.config.Speaker = speaker
	case s.MIDIOut != "":
		speaker, err := sound.OpenMIDISpeaker(s.MIDIOut, r.stream, loop.Options{})
		if err != nil {
			return &screen.SettingError{Name: "midi_out", Err: err}
		}
		speaker.SetVolume(r.volume)
		r.byMIDI, r.config.Speaker = speaker, speaker
	}
	return nil
}

// close lets the devices go.
func (r *rig) close() error {
	for _, port := range r.ports {
		port.Close()
	}
	if r.byMIDI != nil {
		r.byMIDI.Close()
	}
	if r.stream == nil {
		return nil
	}
	return r.stream.Close()
}

// deviceSession is a session that lets its devices go when it ends.
type deviceSession struct {
	*practice.Session
	end func() error
}

// Run practises and then lets the devices go. Its error is that of practising, or that a device hangs.
func (s deviceSession) Run(ctx context.Context) error {
	err := s.Session.Run(ctx)
	return errors.Join(err, s.end())
}

// lookout lists devices for the set-up, one look at a time, until it is closed.
type lookout struct{ free chan struct{} } // holds a value while nobody looks

func newLookout() lookout {
	l := lookout{make(chan struct{}, 1)}
	l.free <- struct{}{}
	return l
}

// look lists the devices; none once it is closed.
func (l lookout) look() screen.Devices {
	if _, open := <-l.free; !open {
		return screen.Devices{}
	}
	defer func() { l.free <- struct{}{} }()
	return deviceNames()
}

// longestLook is how long a look that goes on is waited for at the end: far longer than it takes where no sound server hangs.
const longestLook = 5 * time.Second

// end waits for a look that goes on, whose libraries would else write on the terminal that is given back, and allows no further one.
func (l lookout) end() {
	select {
	case <-l.free:
		close(l.free)
	case <-time.After(longestLook):
	}
}

// deviceNames lists the devices for the set-up.
func deviceNames() screen.Devices {
	var d screen.Devices
	list, _ := sound.Devices() // what fails here is told when a session begins
	for _, m := range list.Microphones {
		d.Microphones = append(d.Microphones, m.Name)
	}
	for _, s := range list.Speakers {
		d.Speakers = append(d.Speakers, s.Name)
	}
	for _, p := range list.MIDIInputs {
		d.MIDIInputs = append(d.MIDIInputs, p.Name)
	}
	for _, p := range list.MIDIOutputs {
		d.MIDIOutputs = append(d.MIDIOutputs, p.Name)
	}
	return d
}
