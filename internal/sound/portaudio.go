//go:build devices && cgo

package sound

import (
	"fmt"
	"slices"
	"time"

	"github.com/gordonklaus/portaudio"
)

// audioDevices asks PortAudio for the microphones and speakers.
func audioDevices() (microphones, speakers []Device, err error) {
	if err := audioConfigured(); err != nil {
		return nil, nil, err
	}
	if err := portaudio.Initialize(); err != nil {
		return nil, nil, fmt.Errorf("cannot list microphones and speakers: %w", err)
	}
	defer portaudio.Terminate() // nothing is open, so that nothing can be lost by a failure
	found, err := portaudio.Devices()
	if err != nil {
		return nil, nil, fmt.Errorf("cannot list microphones and speakers: %w", err)
	}
	input, _ := portaudio.DefaultInputDevice() // nil where there is none, which no device equals
	output, _ := portaudio.DefaultOutputDevice()
	for _, d := range found {
		if d.MaxInputChannels > 0 {
			microphones = append(microphones, microphone(d, d == input))
		}
		if d.MaxOutputChannels > 0 {
			speakers = append(speakers, speaker(d, d == output))
		}
	}
	defaultFirst(microphones)
	defaultFirst(speakers)
	return microphones, speakers, nil
}

func microphone(d *portaudio.DeviceInfo, isDefault bool) Device {
	p := portaudio.StreamParameters{Input: portaudio.StreamDeviceParameters{Device: d, Channels: 1, Latency: d.DefaultHighInputLatency}}
	return Device{
		Name: d.Name, System: d.HostApi.Name, Default: isDefault,
		Channels: d.MaxInputChannels, Rates: rates(p), DefaultRate: d.DefaultSampleRate,
		LatencyLow: seconds(d.DefaultLowInputLatency), LatencyHigh: seconds(d.DefaultHighInputLatency),
	}
}

func speaker(d *portaudio.DeviceInfo, isDefault bool) Device {
	p := portaudio.StreamParameters{Output: portaudio.StreamDeviceParameters{Device: d, Channels: 1, Latency: d.DefaultHighOutputLatency}}
	return Device{
		Name: d.Name, System: d.HostApi.Name, Default: isDefault,
		Channels: d.MaxOutputChannels, Rates: rates(p), DefaultRate: d.DefaultSampleRate,
		LatencyLow: seconds(d.DefaultLowOutputLatency), LatencyHigh: seconds(d.DefaultHighOutputLatency),
	}
}

// rates finds those of the usual rates that a stream with the parameters p can have.
func rates(p portaudio.StreamParameters) []float64 {
	var can []float64
	for _, rate := range UsualRates() {
		p.SampleRate = rate
		if portaudio.IsFormatSupported(p, func([]float32) {}) == nil {
			can = append(can, rate)
		}
	}
	return can
}

// seconds converts one of PortAudio's latencies; some drivers say -1 for "not known", which becomes 0.
func seconds(d time.Duration) float64 { return max(0, d.Seconds()) }

func defaultFirst(devices []Device) {
	slices.SortStableFunc(devices, func(a, b Device) int {
		switch {
		case a.Default == b.Default:
			return 0
		case a.Default:
			return -1
		}
		return 1
	})
}
