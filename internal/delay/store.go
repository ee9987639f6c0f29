package delay

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"time"

	"github.com/adrg/xdg"
	"github.com/pelletier/go-toml/v2"

	"larkhand/internal/safefile"
)

// Kept is a delay that is remembered.
type Kept struct {
	Seconds  float64   `toml:"seconds"`
	Spread   float64   `toml:"spread"` // s
	Measured time.Time `toml:"measured"`
}

// Store holds what is remembered: for a pair of devices one delay. The zero Store is empty.
type Store struct {
	Round []RoundTrip `toml:"round_trip"`
	Keys  []Keyboard  `toml:"midi"`
}

// RoundTrip is the delay from a speaker to a microphone, by the devices' names.
type RoundTrip struct {
	Microphone string `toml:"microphone"`
	Speaker    string `toml:"speaker"`
	Kept
}

// Keyboard is the delay of a MIDI port against a microphone, by their names.
type Keyboard struct {
	Port       string `toml:"port"`
	Microphone string `toml:"microphone"`
	Kept
}

// File is where delays are remembered: delays.toml in the user's folder for settings. Neither has to be there.
func File() string { return filepath.Join(xdg.ConfigHome, "larkhand", "delays.toml") }

// Load reads remembered delays; there are none where there is no file.
func Load(path string) (Store, error) {
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return Store{}, nil
	}
	if err != nil {
		return Store{}, fmt.Errorf("cannot read the delays: %w", err)
	}
	s, err := Parse(text)
	if err != nil {
		return Store{}, fmt.Errorf("the delays in %s cannot be read (%w): delete that file and measure again", path, err)
	}
	return s, nil
}

// Parse reads the text of a file.
func Parse(text []byte) (Store, error) {
	var s Store
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&s); err != nil {
		return Store{}, err
	}
	for _, r := range s.Round {
		if !(r.Seconds >= 0 && r.Seconds <= MostDelay) {
			return Store{}, fmt.Errorf("a delay of %g s cannot be", r.Seconds)
		}
	}
	for _, k := range s.Keys {
		if !(k.Seconds >= -strikeReach && k.Seconds <= strikeReach) {
			return Store{}, fmt.Errorf("a delay of %g s cannot be", k.Seconds)
		}
	}
	return s, nil
}

// Save writes the whole file or nothing, in a folder that is made where needed.
func (s Store) Save(path string) error {
	const onlyOwner = 0o700
	text, err := toml.Marshal(s)
	if err == nil {
		err = os.MkdirAll(filepath.Dir(path), onlyOwner)
	}
	if err == nil {
		err = safefile.WriteBytes(path, ownerOnly, text)
	}
	if err != nil {
		return fmt.Errorf("cannot remember the delays: %w", err)
	}
	return nil
}

// ownerOnly is the mode of the file.
const ownerOnly = 0o600

// numbers are the client and port numbers that ALSA puts behind a port's name; they are others each time that the port comes.
var numbers = regexp.MustCompile(` \d+:\d+$`)

// portName is a port's name without them.
func portName(name string) string { return numbers.ReplaceAllString(name, "") }

// RoundTrip is what is remembered of a pair of devices.
func (s Store) RoundTrip(microphone, speaker string) (Kept, bool) {
	for _, r := range s.Round {
		if r.Microphone == microphone && r.Speaker == speaker {
			return r.Kept, true
		}
	}
	return Kept{}, false
}

// MIDI is what is remembered of a port and a microphone. The numbers that ALSA puts behind a port's name do not matter.
func (s Store) MIDI(port, microphone string) (Kept, bool) {
	for _, k := range s.Keys {
		if k.Port == portName(port) && k.Microphone == microphone {
			return k.Kept, true
		}
	}
	return Kept{}, false
}

// KeepRoundTrip puts a delay in the place of an older one.
func (s *Store) KeepRoundTrip(microphone, speaker string, k Kept) {
	s.Round = slices.DeleteFunc(s.Round, func(r RoundTrip) bool { return r.Microphone == microphone && r.Speaker == speaker })
	s.Round = append(s.Round, RoundTrip{microphone, speaker, k})
}

// KeepMIDI puts a delay in the place of an older one.
func (s *Store) KeepMIDI(port, microphone string, k Kept) {
	port = portName(port)
	s.Keys = slices.DeleteFunc(s.Keys, func(k Keyboard) bool { return k.Port == port && k.Microphone == microphone })
	s.Keys = append(s.Keys, Keyboard{port, microphone, k})
}

// Empty says whether nothing is remembered.
func (s Store) Empty() bool { return len(s.Round)+len(s.Keys) == 0 }
