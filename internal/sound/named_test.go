package sound

import (
	"strings"
	"testing"
)

func TestDevicesByWhatTheyAreCalled(t *testing.T) {
	l := List{
		Microphones: []Device{{Name: "Desk Microphone", Default: true}, {Name: "Booth Microphone"}, {Name: "7"}},
		MIDIInputs:  []Port{{"Upper Keys 20:0"}, {"Lower Keys 24:0"}},
	}
	for called, want := range map[string]string{
		"": "Desk Microphone", "1": "Desk Microphone", "2": "Booth Microphone", "3": "7", "7": "7", "booth": "Booth Microphone", "Desk Microphone": "Desk Microphone",
	} {
		if d, err := l.Microphone(called); err != nil || d.Name != want {
			t.Errorf("%q: %q, %v, want %q", called, d.Name, err, want)
		}
	}
	for called, want := range map[string]string{"0": "no microphone number 0", "4": "no microphone number 4", "Shelf": `no microphone "Shelf"`, "microphone": "2 devices have"} {
		if d, err := l.Microphone(called); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %q, %v, want %s", called, d.Name, err, want)
		}
	}
	if p, err := l.MIDIInput("lower"); err != nil || p.Name != "Lower Keys 24:0" {
		t.Errorf("%q, %v", p.Name, err)
	}
	if _, err := l.Speaker(DefaultDevice); err == nil || !strings.Contains(err.Error(), "there is no speaker; plug one in") {
		t.Errorf("without speakers: %v", err)
	}
}
