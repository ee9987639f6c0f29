package screen

import (
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
)

// binding is a key of the round view, or two that mean the same.
type binding struct {
	keys   []string // as tea.KeyMsg names them
	shown  string   // in the help
	short  string   // on the help line; "" is left out there
	long   string   // behind ?; "" is told by the next one
	action round.Action
	amount int
	acts   bool // action counts
}

// bindings are the keys of the round view, in the order of the help.
var bindings = []binding{
	{keys: []string{" ", "enter"}, shown: "space", short: "on", long: "space or enter: start, or on to the next part (on the form at the next bar line)", action: round.GoOn, acts: true},
	{keys: []string{"r"}, shown: "r", short: "again", long: "r: throw this round away and sing it again", action: round.Repeat, acts: true},
	{keys: []string{"n"}, shown: "n", short: "skip", long: "n: leave this round and go on to the next", action: round.Skip, acts: true},
	{keys: []string{"k"}, shown: "k", short: "key", long: "k: the next round a fourth higher", action: round.AnotherKey, acts: true},
	{keys: []string{"-"}, shown: "-", action: round.Slower, acts: true},
	{keys: []string{"+", "="}, shown: "-/+", short: "tempo", long: "-, +: slower, faster by 4 quarters a minute", action: round.Faster, acts: true},
	{keys: []string{"1"}, shown: "1", action: round.Mute, amount: int(round.Bass), acts: true},
	{keys: []string{"2"}, shown: "2", action: round.Mute, amount: int(round.Comping), acts: true},
	{keys: []string{"3"}, shown: "3", action: round.Mute, amount: int(round.HiHat), acts: true},
	{keys: []string{"4"}, shown: "1-4", short: "mute", long: "1 bass, 2 comping, 3 hi-hat, 4 click: silent, or back", action: round.Mute, amount: int(round.Click), acts: true},
	{keys: []string{keySofter}, shown: ","},
	{keys: []string{keyLouder}, shown: keySofter + keyLouder, short: "vol", long: ", softer, . louder by 3 dB; it never gets louder by itself"},
	{keys: []string{"g"}, shown: "g", short: "learn", long: "g: then the MIDI key or pedal that is to go on, once", action: round.Learn, acts: true},
	{keys: []string{"x"}, shown: "x", short: "stop", long: "x: stop the loop; space starts again", action: round.Stop, acts: true},
	{keys: []string{keyBack}, shown: "esc", short: "set-up", long: "esc: end this session and go back to the set-up"},
	{keys: []string{keyQuit, keyBreak}, shown: "q", short: "quit", long: "q or Ctrl-C: end; what is recorded is not lost by it"},
	{keys: []string{keyHelp}, shown: "?", short: "help", long: "?: this page, and back"},
}

// Keys that are no action of a round.
const (
	keyBack  = "esc"
	keyQuit  = "q"
	keyBreak = "ctrl+c"
	keyHelp  = "?"
	keyUp    = "up"
	keyDown  = "down"
	keyLeft  = "left"
	keyRight = "right"

	keySofter = ","
	keyLouder = "."
)

// volumeStep is what a key changes the volume by, dB (own choice: heard, and no fright).
const volumeStep = 3

// volumeWay is 1 for the key that makes the loop louder, -1 for the one that makes it softer, else 0.
func volumeWay(key string) float64 {
	switch key {
	case keyLouder:
		return 1
	case keySofter:
		return -1
	}
	return 0
}

// Keys of the offer.
const (
	keyKeep  = "k"
	keyDrop  = "t"
	keyLater = "l"
)

// helpLine names the keys on one line of at most width columns: with words for all where they fit, else for some or none.
func helpLine(width int) string {
	var words, some, bare []string
	for _, b := range bindings {
		if b.short == "" {
			continue
		}
		words, bare = append(words, b.shown+" "+b.short), append(bare, b.shown)
		if b.acts || b.shown == keySofter+keyLouder {
			some = append(some, b.shown+" "+b.short)
		} else {
			some = append(some, b.shown) // esc, q and ? are what they are in other programs
		}
	}
	for _, line := range []string{strings.Join(words, "  "), strings.Join(words, " "), strings.Join(some, " "), "keys: " + strings.Join(bare, "  ") + "  (? explains)"} {
		if len(line) <= width {
			return line
		}
	}
	return draw.Clip("keys: "+strings.Join(bare, " ")+" (? explains)", width)
}

// bound is the binding of a key.
func bound(key string) (binding, bool) {
	for _, b := range bindings {
		for _, k := range b.keys {
			if k == key {
				return b, true
			}
		}
	}
	return binding{}, false
}

// single takes apart keys that arrived in one read, which come as one message with several runes.
func single(msg tea.KeyMsg) []string {
	if msg.Type != tea.KeyRunes || msg.Paste || len(msg.Runes) < 2 {
		return []string{msg.String()}
	}
	keys := make([]string, len(msg.Runes))
	for i, r := range msg.Runes {
		keys[i] = string(r)
	}
	return keys
}
