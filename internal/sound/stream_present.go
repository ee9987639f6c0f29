//go:build devices && cgo

package sound

import (
	"cmp"
	"fmt"
	"time"

	"github.com/gordonklaus/portaudio"
)

var soundSystem system = portAudio{}

// What PortAudio is asked for, by sound system (measured with virtual devices: below 35 ms PulseAudio's plugin for ALSA garbles the sound and reports nothing,
// with 60 ms it was exact; over JACK 128 samples were exact, and an unspecified number was not always).
const (
	latencyALSA = 60 * time.Millisecond
	bufferJACK  = 128 // samples
)

// portAudio opens streams by PortAudio.
type portAudio struct{}

// ends are the devices of a stream; nil where there is none.
type ends struct{ in, out *portaudio.DeviceInfo }

func (portAudio) format(cfg StreamConfig) (rate, channels int, err error) {
	_, err = exclusively(func() (shut, error) {
		e, err := initialized(cfg)
		if err != nil {
			return nil, err
		}
		defer portaudio.Terminate() // nothing is open, so that nothing can be lost by a failure
		p := e.parameters(cfg, cfg.Rate, mostChannels)
		rate, channels = int(p.SampleRate), p.Output.Channels
		return nil, nil
	})
	return rate, channels, err
}

// mostChannels is what a speaker is given at most: the same sound on the left and on the right.
const mostChannels = 2

func (portAudio) open(cfg StreamConfig, rate, channels int, back func(call), born time.Time) (shut, error) {
	return exclusively(func() (shut, error) {
		e, err := initialized(cfg)
		if err != nil {
			return nil, err
		}
		stream, err := portaudio.OpenStream(e.parameters(cfg, rate, channels), callback(e, max(1, cfg.Channels), channels, back, born))
		if err == nil {
			if err = stream.Start(); err != nil {
				stream.Close()
			}
		}
		if err != nil {
			portaudio.Terminate()
			return nil, fmt.Errorf("cannot open the microphone or the speaker (%w); end the program that holds it, or choose two devices of one sound system and a rate that they offer", err)
		}
		return func() error { return letGo(stream) }, nil
	})
}

// letGo ends a stream. It may hang, and keeps the libraries from everybody until it returns.
func letGo(stream *portaudio.Stream) error {
	busy <- struct{}{}
	defer func() { <-busy }()
	err := cmp.Or(stream.Abort(), stream.Close())
	return cmp.Or(err, portaudio.Terminate())
}

// exclusively calls f, which opens a stream or fails, while no other asks the libraries. After patience it gives up; what f then still opens is closed.
func exclusively(f func() (shut, error)) (shut, error) {
	type result struct {
		shut shut
		err  error
	}
	late := time.NewTimer(patience)
	defer late.Stop()
	select {
	case busy <- struct{}{}:
	case <-late.C:
		return nil, errNoAnswer
	}
	results, abandoned := make(chan result), make(chan struct{})
	go func() {
		s, err := f()
		<-busy
		select {
		case results <- result{s, err}:
		case <-abandoned:
			if s != nil {
				s()
			}
		}
	}()
	select {
	case r := <-results:
		return r.shut, r.err
	case <-late.C:
		close(abandoned)
		return nil, errNoAnswer
	}
}

// initialized starts PortAudio, which the caller has to terminate, and finds the devices. After an error there is nothing to terminate.
func initialized(cfg StreamConfig) (e ends, err error) {
	if err := audioConfigured(); err != nil {
		return e, err
	}
	if err := portaudio.Initialize(); err != nil {
		return e, fmt.Errorf("the sound system does not start: %w; restart it and try again", err)
	}
	defer func() {
		if err != nil {
			portaudio.Terminate()
		}
	}()
	if cfg.Microphone != NoDevice {
		if e.in, err = find(cfg.Microphone, "microphone", portaudio.DefaultInputDevice, func(d *portaudio.DeviceInfo) int { return d.MaxInputChannels }); err != nil {
			return ends{}, err
		}
		if cfg.Channels > e.in.MaxInputChannels {
			return ends{}, fmt.Errorf("the microphone %s has %d channels, and channel %d was asked for; choose another microphone or fewer channels", e.in.Name, e.in.MaxInputChannels, cfg.Channels)
		}
	}
	if cfg.Speaker != NoDevice {
		if e.out, err = find(cfg.Speaker, "speaker", portaudio.DefaultOutputDevice, func(d *portaudio.DeviceInfo) int { return d.MaxOutputChannels }); err != nil {
			return ends{}, err
		}
	}
	return e, nil
}

// find looks a device up by its name.
func find(name, kind string, standard func() (*portaudio.DeviceInfo, error), channels func(*portaudio.DeviceInfo) int) (*portaudio.DeviceInfo, error) {
	if name == DefaultDevice {
		d, err := standard()
		if err != nil {
			return nil, fmt.Errorf("there is no %s; plug one in, or name one of those that `larkhand devices` lists", kind)
		}
		return d, nil
	}
	all, err := portaudio.Devices()
	for _, d := range all {
		if d.Name == name && channels(d) > 0 {
			return d, err
		}
	}
	return nil, fmt.Errorf("there is no %s %q that is free; plug it in, end the program that holds it, or name one of those that `larkhand devices` lists", kind, name)
}

// parameters are what PortAudio is asked for. A rate of 0 is that of the devices.
func (e ends) parameters(cfg StreamConfig, rate, channels int) portaudio.StreamParameters {
	p := portaudio.LowLatencyParameters(e.in, e.out)
	if rate > 0 {
		p.SampleRate = float64(rate)
	}
	p.Output.Channels = min(p.Output.Channels, channels)
	if e.in != nil {
		p.Input.Channels = max(1, cfg.Channels)
	}
	device := cmp.Or(e.in, e.out)
	switch device.HostApi.Type {
	case portaudio.ALSA:
		p.Input.Latency, p.Output.Latency = latencyALSA, latencyALSA
	case portaudio.JACK:
		p.FramesPerBuffer = bufferJACK
	}
	if cfg.Latency > 0 {
		asked := time.Duration(cfg.Latency * float64(time.Second))
		p.Input.Latency, p.Output.Latency = asked, asked
	}
	return p
}

// callback is what PortAudio calls.
func callback(e ends, inputs, channels int, back func(call), born time.Time) func(in, out []float32, t portaudio.StreamCallbackTimeInfo, flags portaudio.StreamCallbackFlags) {
	return func(in, out []float32, t portaudio.StreamCallbackTimeInfo, flags portaudio.StreamCallbackFlags) {
		c := call{mono: time.Since(born).Seconds(), in: in, out: out, overrun: flags&(portaudio.InputOverflow|portaudio.OutputUnderflow) != 0}
		if e.in != nil {
			c.inDelay, c.frames = (t.CurrentTime - t.InputBufferAdcTime).Seconds(), len(in)/inputs
		}
		if e.out != nil {
			c.outDelay, c.frames = (t.OutputBufferDacTime - t.CurrentTime).Seconds(), len(out)/channels
		}
		back(c)
	}
}
