package midiin

import (
	"fmt"
	"strings"
)

// Instrument is what kind of instrument sends the messages.
type Instrument int

// The instruments.
const (
	Keys   Instrument = iota // a keyboard: every message is believed
	Guitar                   // a guitar or another instrument behind a pitch-to-MIDI converter, which also sends ghost notes
)

// String is the name that ParseInstrument takes.
func (i Instrument) String() string {
	switch i {
	case Keys:
		return "keys"
	case Guitar:
		return "guitar"
	}
	return fmt.Sprintf("Instrument(%d)", int(i))
}

// ParseInstrument reads "keys" or "guitar", in upper or lower case.
func ParseInstrument(name string) (Instrument, error) {
	for _, i := range []Instrument{Keys, Guitar} {
		if strings.EqualFold(strings.TrimSpace(name), i.String()) {
			return i, nil
		}
	}
	return Keys, fmt.Errorf("instrument %q is unknown: use keys or guitar", name)
}
