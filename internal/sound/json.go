package sound

import (
	"encoding/json"
	"io"
	"time"

	"larkhand/internal/delay"
)

// Schema is the name and version of the JSON document.
const Schema = "larkhand.devices/1"

// Document is a List as other programs read it. No list in it is ever null.
type Document struct {
	Schema      string           `json:"schema"` // Schema
	Microphones []DeviceDocument `json:"microphones"`
	Speakers    []DeviceDocument `json:"speakers"`
	MIDIInputs  []PortDocument   `json:"midi_inputs"`
	MIDIOutputs []PortDocument   `json:"midi_outputs"`
	Delays      []DelayDocument  `json:"delays"`  // that are remembered
	Remarks     []string         `json:"remarks"` // sentences for the player
}

// DelayDocument is a remembered delay: of a microphone against a speaker or against a MIDI port.
type DelayDocument struct {
	Microphone string    `json:"microphone"`
	Speaker    string    `json:"speaker,omitempty"` // from it sound takes Seconds back to the microphone
	Port       string    `json:"port,omitempty"`    // its messages come Seconds after the sound of the key
	Seconds    float64   `json:"seconds"`
	Spread     float64   `json:"spread"` // s between the estimates that agree
	Measured   time.Time `json:"measured"`
}

// DeviceDocument is one microphone or speaker.
type DeviceDocument struct {
	Name        string    `json:"name"`
	System      string    `json:"system"`  // the sound system that offers it: "ALSA"
	Default     bool      `json:"default"` // taken where none is named
	Channels    int       `json:"channels"`
	Rates       []float64 `json:"rates"`        // Hz, rising; empty while another program holds the device
	DefaultRate float64   `json:"default_rate"` // Hz
	LatencyLow  float64   `json:"latency_low"`  // suggested for playing live, s
	LatencyHigh float64   `json:"latency_high"` // suggested for safety, s
}

// PortDocument is one MIDI port.
type PortDocument struct {
	Name string `json:"name"`
}

// JSON writes the list as a Document, on one line.
func (l List) JSON(w io.Writer) error { return json.NewEncoder(w).Encode(l.document()) }

func (l List) document() Document {
	return Document{
		Schema:      Schema,
		Microphones: deviceDocuments(l.Microphones),
		Speakers:    deviceDocuments(l.Speakers),
		MIDIInputs:  portDocuments(l.MIDIInputs),
		MIDIOutputs: portDocuments(l.MIDIOutputs),
		Delays:      delayDocuments(l.Delays),
		Remarks:     append([]string{}, l.Remarks...),
	}
}

func deviceDocuments(devices []Device) []DeviceDocument {
	out := []DeviceDocument{}
	for _, d := range devices {
		out = append(out, DeviceDocument{
			Name: d.Name, System: d.System, Default: d.Default, Channels: d.Channels,
			Rates: append([]float64{}, d.Rates...), DefaultRate: d.DefaultRate,
			LatencyLow: d.LatencyLow, LatencyHigh: d.LatencyHigh,
		})
	}
	return out
}

func portDocuments(ports []Port) []PortDocument {
	out := []PortDocument{}
	for _, p := range ports {
		out = append(out, PortDocument(p))
	}
	return out
}

func delayDocuments(s delay.Store) []DelayDocument {
	out := []DelayDocument{}
	for _, r := range s.Round {
		out = append(out, DelayDocument{Microphone: r.Microphone, Speaker: r.Speaker, Seconds: r.Seconds, Spread: r.Spread, Measured: r.Measured})
	}
	for _, k := range s.Keys {
		out = append(out, DelayDocument{Microphone: k.Microphone, Port: k.Port, Seconds: k.Seconds, Spread: k.Spread, Measured: k.Measured})
	}
	return out
}
