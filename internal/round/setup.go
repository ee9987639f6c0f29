package round

import (
	"errors"
	"fmt"

	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/midiin"
)

// Timing says what ends the parts of a live round.
type Timing int

// The timings.
const (
	OnForm Timing = iota // each part has its bars of the loop
	Free                 // the loop runs; a take ends by silence, thinking by the first played note
	NoLoop               // as Free, in silence: no loop, no count-in, no bars
)

var timingNames = [...]string{OnForm: "form", Free: "free", NoLoop: "no loop"}

// String is the word that ParseTiming reads.
func (t Timing) String() string {
	if t < 0 || int(t) >= len(timingNames) {
		return fmt.Sprintf("Timing(%d)", int(t))
	}
	return timingNames[t]
}

// ParseTiming reads "form", "free" or "no loop".
func ParseTiming(s string) (Timing, error) {
	for i, name := range timingNames {
		if s == name {
			return Timing(i), nil
		}
	}
	return 0, fmt.Errorf("%q is no timing: write form (each part has its bars), free (the loop waits for you) or no loop", s)
}

// FreeThinking as Setup.ThinkingBars lets the thinking room last until the first played note.
const FreeThinking = -1

// Bounds of a Setup (own choices: beyond them a typing mistake is likelier than music).
const (
	MaxTakeBars     = 64
	MaxThinkingBars = 64
	MaxCountInBars  = 8
	MaxVerdictBars  = 64
	MaxPlayers      = 12
	MaxSwing        = 4.0 // the longer eighth may be this many times the shorter one
)

// Person is one player of the round.
type Person struct {
	Name string // may be empty
	// Microphone and Keyboard name the devices that belong to this player, as in Event.Device; empty takes any.
	Microphone, Keyboard string
}

// Setup is everything that a live round is told beforehand. Check says whether it can be played.
type Setup struct {
	Key        *music.Key // of the phrase; nil lets it be guessed
	Numbering  music.Numbering
	Instrument midiin.Instrument

	Chart music.Chart // of the loop; empty with NoLoop
	Tempo float64     // quarter notes a minute, loop.MinTempo to loop.MaxTempo; unused with NoLoop
	// Swing is how many times longer the first eighth of a beat is than the second: 1 (or 0) straight, 2 triplets. The
	// machine hands it on to whoever renders the loop.
	Swing float64
	Muted Backing // parts of the loop that are silent at first

	Timing       Timing
	TakeBars     int  // bars of a take and of the answer; unused unless OnForm
	ThinkingBars int  // bars of thinking room: 0 for none, or FreeThinking; unused unless OnForm
	CountInBars  int  // bars counted before take 1; unused with NoLoop
	LeadIn       bool // the loop plays once through alone before the first round, and again when loop, volume or a device changed
	FromTop      bool // take 1 begins where the chart begins; unused unless OnForm
	Steps        bool // numbers and letters are written down between take 2 and the answer, as long as that takes; then the thinking room has no end
	VerdictBars  int  // bars (of 4 s with NoLoop) that the verdict stands before the next round comes by itself; 0: it stands until "go on"

	Players []Person // one, or a circle: in round k player k sings and player k+1 plays. Empty is one without a name

	GoOnKey   int  // MIDI key that means "go on" and is never a note of an answer; 0 for none (no keyboard has key 0)
	GoOnPedal bool // the sustain pedal means "go on", but for the answer, where it belongs to the music
}

// Check says in one sentence what keeps the setup from being played, and what would work.
func (s Setup) Check() error {
	switch {
	case s.Timing < OnForm || s.Timing > NoLoop:
		return errors.New("the timing is unknown: choose form, free or no loop")
	case len(s.Players) > MaxPlayers:
		return fmt.Errorf("a circle of %d is too large: at most %d players take turns", len(s.Players), MaxPlayers)
	case s.VerdictBars < 0 || s.VerdictBars > MaxVerdictBars:
		return fmt.Errorf("a verdict cannot stand for %d bars: choose 1 to %d, or 0 to go on by hand", s.VerdictBars, MaxVerdictBars)
	case s.GoOnKey < 0 || s.GoOnKey > 127:
		return fmt.Errorf("MIDI key %d does not exist: choose one from 1 to 127 for going on, or 0 for none", s.GoOnKey)
	case s.Timing == NoLoop:
		return nil
	}
	if _, err := loop.New(s.Chart, s.Tempo, 0); err != nil {
		return err
	}
	switch {
	case s.CountInBars < 0 || s.CountInBars > MaxCountInBars:
		return fmt.Errorf("a count-in of %d bars does not work: choose 0 to %d", s.CountInBars, MaxCountInBars)
	case !(s.Swing == 0 || s.Swing >= 1 && s.Swing <= MaxSwing):
		return fmt.Errorf("a swing of %g does not work: choose 1 (straight) to %g, 2 for triplets", s.Swing, MaxSwing)
	case s.Timing == Free:
		return nil
	case s.TakeBars < 1 || s.TakeBars > MaxTakeBars:
		return fmt.Errorf("a take of %d bars does not work: choose 1 to %d", s.TakeBars, MaxTakeBars)
	case float64(s.TakeBars)*s.barLength() > longestTake:
		return fmt.Errorf("a take of %d bars lasts longer than %.0f s at this tempo: choose fewer bars or a faster tempo", s.TakeBars, longestTake)
	case s.ThinkingBars < FreeThinking || s.ThinkingBars > MaxThinkingBars:
		return fmt.Errorf("a thinking room of %d bars does not work: choose 0 to %d, or free", s.ThinkingBars, MaxThinkingBars)
	}
	return nil
}

// barLength is the length of a bar of the loop in s.
func (s Setup) barLength() float64 {
	return s.Chart.Meter.Quarters() * secondsPerMinute / s.Tempo
}

const secondsPerMinute = 60

// people is Players with at least one.
func (s Setup) people() []Person {
	if len(s.Players) == 0 {
		return []Person{{}}
	}
	return s.Players
}
