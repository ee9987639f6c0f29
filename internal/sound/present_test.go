//go:build devices && cgo

package sound

import (
	"errors"
	"testing"
	"time"
)

func TestAskGivesUpOnASoundSystemThatHangs(t *testing.T) {
	release := make(chan struct{})
	hanging := func() (List, error) { <-release; return List{}, nil }
	const limit = 50 * time.Millisecond
	for _, call := range []string{"the call that hangs", "the next one"} {
		if _, err := ask(hanging, limit); !errors.Is(err, errNoAnswer) {
			t.Errorf("%s: %v, want %v", call, err, errNoAnswer)
		}
	}
	close(release)
	answering := func() (List, error) { return List{MIDIInputs: []Port{{"Keys"}}}, nil }
	l, err := ask(answering, time.Minute)
	if err != nil || len(l.MIDIInputs) != 1 {
		t.Errorf("once it answers again: %v, %v", l, err)
	}
}

func TestAskKeepsWhatOneLibraryFound(t *testing.T) {
	failure := errors.New("the other one is broken")
	l, err := ask(func() (List, error) { return List{MIDIInputs: []Port{{"Keys"}}}, failure }, time.Minute)
	if !errors.Is(err, failure) || len(l.MIDIInputs) != 1 {
		t.Errorf("got %v, %v", l, err)
	}
}

func TestBoth(t *testing.T) {
	a, b := errors.New("no sound"), errors.New("no MIDI")
	cases := []struct {
		a, b error
		want string
	}{{nil, nil, ""}, {a, nil, "no sound"}, {nil, b, "no MIDI"}, {a, b, "no sound; and no MIDI"}}
	for _, c := range cases {
		got := ""
		if err := both(c.a, c.b); err != nil {
			got = err.Error()
		}
		if got != c.want {
			t.Errorf("both(%v, %v): %q, want %q", c.a, c.b, got, c.want)
		}
	}
}
