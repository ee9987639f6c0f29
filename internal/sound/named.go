package sound

import (
	"fmt"
	"strconv"
	"strings"
)

// Microphone finds a microphone of the list by what a player calls it: DefaultDevice is the default one, a number counts as the list is printed, and a name may be given
// in part where only one device has it.
func (l List) Microphone(called string) (Device, error) {
	return named(l.Microphones, "microphone", called, func(d Device) string { return d.Name })
}

// Speaker finds a speaker, as Microphone does.
func (l List) Speaker(called string) (Device, error) {
	return named(l.Speakers, "speaker", called, func(d Device) string { return d.Name })
}

// MIDIInput finds a MIDI input, as Microphone does; DefaultDevice is the first one.
func (l List) MIDIInput(called string) (Port, error) {
	return named(l.MIDIInputs, "MIDI input", called, func(p Port) string { return p.Name })
}

// named finds one of a list.
func named[T any](list []T, kind, called string, name func(T) string) (found T, err error) {
	if len(list) == 0 {
		return found, fmt.Errorf("there is no %s; plug one in and try again", kind)
	}
	if called == DefaultDevice {
		return list[0], nil
	}
	for _, d := range list {
		if name(d) == called {
			return d, nil
		}
	}
	if n, err := strconv.Atoi(called); err == nil {
		if n < 1 || n > len(list) {
			return found, fmt.Errorf("there is no %s number %d; `larkhand devices` lists them", kind, n)
		}
		return list[n-1], nil
	}
	count := 0
	for _, d := range list {
		if strings.Contains(strings.ToLower(name(d)), strings.ToLower(called)) {
			found = d
			count++
		}
	}
	switch count {
	case 0:
		return found, fmt.Errorf("there is no %s %q; name one of those that `larkhand devices` lists", kind, called)
	case 1:
		return found, nil
	}
	return found, fmt.Errorf("%d devices have %q in their names; write more of the name, or the number that `larkhand devices` gives it", count, called)
}
