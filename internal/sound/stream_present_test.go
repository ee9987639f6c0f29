//go:build devices && cgo

package sound

import (
	"reflect"
	"testing"
	"time"

	"github.com/gordonklaus/portaudio"
)

// PortAudio's binding calls the callback by reflection, so that way counts too.
func TestCallbackOfPortAudioAllocatesNothing(t *testing.T) {
	const frames, channels = 128, 2
	l := newLine(testRate, true, &tape{}, channels, 0)
	device := &portaudio.DeviceInfo{}
	back := callback(ends{device, device}, 1, channels, l.call, time.Now())
	in, out := make([]float32, frames), make([]float32, frames*channels)
	arguments := []reflect.Value{reflect.ValueOf(in), reflect.ValueOf(out), reflect.ValueOf(portaudio.StreamCallbackTimeInfo{}), reflect.ValueOf(portaudio.InputOverflow)}
	function := reflect.ValueOf(back)
	if n := testing.AllocsPerRun(2*slots, func() { function.Call(arguments) }); n != 0 {
		t.Errorf("%g allocations a callback", n)
	}
	if l.overruns.Load() == 0 || l.frame == 0 {
		t.Error("the callback did nothing")
	}
}

func TestParametersOfASystem(t *testing.T) {
	const claimed = 9 * time.Millisecond
	device := func(kind portaudio.HostApiType) *portaudio.DeviceInfo {
		return &portaudio.DeviceInfo{HostApi: &portaudio.HostApiInfo{Type: kind}, MaxInputChannels: 8, MaxOutputChannels: 8, DefaultSampleRate: 44100, DefaultLowInputLatency: claimed, DefaultLowOutputLatency: claimed}
	}
	for _, c := range []struct {
		kind    portaudio.HostApiType
		asked   float64
		latency time.Duration
		buffer  int
	}{{portaudio.ALSA, 0, latencyALSA, 0}, {portaudio.JACK, 0, claimed, bufferJACK}, {portaudio.CoreAudio, 0, claimed, 0}, {portaudio.ALSA, 0.1, 100 * time.Millisecond, 0}} {
		d := device(c.kind)
		p := ends{d, d}.parameters(StreamConfig{Latency: c.asked}, 0, mostChannels)
		if p.Input.Latency != c.latency || p.Output.Latency != c.latency || p.FramesPerBuffer != c.buffer || p.Input.Channels != 1 || p.Output.Channels != mostChannels || p.SampleRate != d.DefaultSampleRate {
			t.Errorf("%v: %+v", c.kind, p)
		}
	}
}
