package screen

import (
	"cmp"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/practice"
	"larkhand/internal/round"
)

// group is what keys have in common on the help page.
type group int

// The groups, in the order of the help page.
const (
	ofRound group = iota
	ofNext
	ofLoop
	ofHearing
	ofWriting
	ofScreen
)

var groupNames = [...]string{
	ofRound: "This round", ofNext: "The next round", ofLoop: "The loop", ofHearing: "Between take 2 and the answer, and at the verdict",
	ofWriting: "While numbers and letters are written", ofScreen: "The screen",
}

// binding is a key of the round view, or two that mean the same.
type binding struct {
	keys    []string // as tea.KeyMsg names them; none: only explained
	shown   string   // in the help
	short   string   // on the help line; "" is left out there
	word    string   // in place of short, where keys are lines
	long    string   // behind ?; "" is told by another one
	group   group
	action  round.Action
	amount  int
	acts    bool // action counts
	writing bool // acts while numbers or letters are written: no entry contains it
}

// bindings are the keys of the round view; on the help line those that act now come in this order.
var bindings = []binding{
	{keys: []string{" ", "enter"}, shown: "space", short: "on", long: "space or enter: start, or on to the next part (on the form at the next bar line); ends a take that is heard again", group: ofRound, action: round.GoOn, acts: true},
	{shown: "enter", short: "hand in", long: "enter: hand in what is written; an empty line leaves the step out", group: ofWriting},
	{keys: []string{"t"}, shown: "t", short: "take", long: "t: hear the latest take, T take 1; again: silence", group: ofHearing, action: round.HearTake, acts: true, writing: true},
	{keys: []string{"T"}, shown: "T", word: "take 1", group: ofHearing, action: round.HearTake, amount: 1, acts: true, writing: true},
	{keys: []string{"u"}, shown: "u", short: "notes", long: "u: hear what was understood of it, as plain tones beside the voice; U: of take 1", group: ofHearing, action: round.HearNotes, acts: true, writing: true},
	{keys: []string{"U"}, shown: "U", word: "notes 1", group: ofHearing, action: round.HearNotes, amount: 1, acts: true, writing: true},
	{keys: []string{"o"}, shown: "o", short: "key note", long: "o: hear the key note", group: ofHearing, action: round.HearKey, acts: true, writing: true},
	{keys: []string{"h"}, shown: "h", short: "chord", long: "h: hear the chord at which the loop is", group: ofHearing, action: round.HearChord, acts: true, writing: true},
	{keys: []string{"l"}, shown: "l", short: "sing again", long: "l: throw take 2 away and sing it again", group: ofHearing, action: round.SingAgain, acts: true, writing: true},
	{keys: []string{"p"}, shown: "p", short: "pieces", long: "p: play in pieces, a few notes, then a few more: pauses between them do not count, and space ends it", group: ofHearing, action: round.Pieces, acts: true, writing: true},
	{keys: []string{"m"}, shown: "m", short: "misheard", long: "m: the program misheard you: this round does not count, and is kept for improving the program; again: it counts", group: ofHearing, action: round.Misheard, acts: true, writing: true},
	{keys: []string{"r"}, shown: "r", short: "again", long: "r: throw this round away and sing it again", group: ofRound, action: round.Repeat, acts: true},
	{keys: []string{"n"}, shown: "n", short: "skip", long: "n: leave this round and go on to the next", group: ofRound, action: round.Skip, acts: true},
	{keys: []string{"k"}, shown: "k", short: "key", long: "k: a fourth higher", group: ofNext, action: round.AnotherKey, acts: true},
	{keys: []string{keyKeys}, shown: keyKeys, short: "scale", long: "s: the keys at hand, or away: letters, the scales of the chords, the keyboard", group: ofScreen, writing: true},
	{keys: []string{"w"}, shown: "w", short: "steps", long: "w: numbers and letters are written down before the answer, or no more", group: ofNext, action: round.Steps, acts: true},
	{keys: []string{"-"}, shown: "-", word: "slower", group: ofNext, action: round.Slower, acts: true},
	{keys: []string{"+", "="}, shown: "-/+", word: "faster", short: "tempo", long: "-, +: slower, faster by 4 quarters a minute", group: ofNext, action: round.Faster, acts: true},
	{keys: []string{keySmaller}, shown: "[", word: "smaller", group: ofNext},
	{keys: []string{keyLarger}, shown: "[]", word: "larger", short: "size", long: "[, ]: a smaller, a larger phrase than the program proposes", group: ofNext},
	{keys: []string{"1"}, shown: "1", word: "bass", group: ofLoop, action: round.Mute, amount: int(round.Bass), acts: true},
	{keys: []string{"2"}, shown: "2", word: "comping", group: ofLoop, action: round.Mute, amount: int(round.Comping), acts: true},
	{keys: []string{"3"}, shown: "3", word: "hi-hat", group: ofLoop, action: round.Mute, amount: int(round.HiHat), acts: true},
	{keys: []string{"4"}, shown: "1-4", word: "click", short: "mute", long: "1 bass, 2 comping, 3 hi-hat, 4 click: silent, or back", group: ofLoop, action: round.Mute, amount: int(round.Click), acts: true},
	{keys: []string{keySofter}, shown: ",", word: "softer", group: ofLoop},
	{keys: []string{keyLouder}, shown: keySofter + keyLouder, word: "louder", short: "vol", long: ", softer, . louder by 3 dB; it never gets louder by itself", group: ofLoop},
	{keys: []string{"x"}, shown: "x", short: "stop", long: "x: stop the loop; space starts again", group: ofLoop, action: round.Stop, acts: true},
	{keys: []string{"g"}, shown: "g", short: "learn", long: "g: then the MIDI key or pedal that is to go on, once", group: ofRound, action: round.Learn, acts: true},
	{long: "left, right, home, end, backspace, delete, Ctrl-U: mend it", group: ofWriting},
	{long: "up, down: the loop louder, softer by 3 dB", group: ofWriting},
	{long: "t T u U o h l p m s i: as everywhere; digits, letters, # and ? (a note not heard) are written", group: ofWriting},
	{shown: "up, down", long: "up, down: move a long verdict", group: ofScreen},
	{keys: []string{keyHelp, keyInfo}, shown: keyHelp, word: "help", long: "? or i: this page, and back", group: ofScreen},
	{keys: []string{keyBack}, shown: "esc", long: "esc: end this session and go back to the set-up", group: ofScreen},
	{keys: []string{keyQuit, keyBreak}, shown: "q", word: "quit", long: "q or Ctrl-C: end; what is recorded is not lost by it", group: ofScreen},
}

// Keys that are no action of a round.
const (
	keyBack  = "esc"
	keyQuit  = "q"
	keyBreak = "ctrl+c"
	keyHelp  = "?"
	keyInfo  = "i" // as keyHelp, also where a question mark is written
	keyKeys  = "s" // the keys at hand
	keyUp    = "up"
	keyDown  = "down"
	keyLeft  = "left"
	keyRight = "right"

	keySofter  = ","
	keyLouder  = "."
	keySmaller = "["
	keyLarger  = "]"
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

// sizeWay is 1 for the key that asks for a larger phrase, -1 for the one that asks for a smaller one, else 0.
func sizeWay(key string) int {
	switch key {
	case keyLarger:
		return 1
	case keySmaller:
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

// What stands at the end of the help line: keys that are what they are in other programs.
const (
	leaveKeys   = "esc q ?"
	writingEnds = "i help esc"
)

// helpLine names the keys that act now on one line of at most width columns: as many as fit, the first ones with a word.
func helpLine(s practice.Snapshot, width int) string {
	_, writes := kindOf(s.View.Part)
	var before, then []binding
	for _, b := range bindings {
		switch {
		case b.short == "" || !b.acting(s):
		case writes && !b.writing && b.group != ofWriting, !writes && b.group == ofWriting:
		case b.group == ofWriting, b.acts && b.action == round.GoOn, first(b, s.View.Part):
			before = append(before, b)
		default:
			then = append(then, b)
		}
	}
	if writes {
		return fittingKeys(append(before, then...), writingEnds, width)
	}
	return fittingKeys(append(before, then...), leaveKeys, width)
}

// first tells whether a key is one of those that a part is most likely to need.
func first(b binding, p round.Part) bool {
	if p == round.PartVerdict {
		return b.action == round.Repeat || b.action == round.Skip || b.action == round.AnotherKey
	}
	return b.group == ofHearing
}

// acting tells whether a key does something now that is to be named on the help line. Nothing is known of that before the first snapshot.
func (b binding) acting(s practice.Snapshot) bool {
	switch {
	case s.View.PartName == "":
		return true
	case b.acts && b.action == round.Steps && s.View.Part >= round.PartNumbers && s.View.Part <= round.PartAnswer: // it would change the next round only
		return false
	case b.acts:
		return slices.Contains(s.View.Can, b.action)
	case len(b.keys) > 0 && volumeWay(b.keys[0]) != 0:
		return s.HasVolume
	case len(b.keys) > 0 && sizeWay(b.keys[0]) != 0:
		return s.Plan != nil && planShown(s.View.Part)
	}
	return true
}

// fittingKeys writes keys in a line: from the left as many words as fit, and where not even the bare keys fit, fewer of these.
func fittingKeys(keys []binding, last string, width int) string {
	worded := func(words, bare int, gap string) string {
		var out []string
		for i, b := range keys[:words+bare] {
			if i < words {
				out = append(out, b.shown+" "+b.short)
			} else {
				out = append(out, b.shown)
			}
		}
		return strings.Join(append(out, last), gap)
	}
	const wide, narrow = "  ", " "
	if line := worded(len(keys), 0, wide); len(line) <= width {
		return line
	}
	for bare := range len(keys) + 1 {
		if line := worded(len(keys)-bare, bare, narrow); len(line) <= width {
			return line
		}
	}
	for n := len(keys); n > 0; n-- {
		if line := worded(0, n, narrow); len(line) <= width {
			return line
		}
	}
	return last
}

// bound is the binding of a key.
func bound(key string) (binding, bool) {
	for _, b := range bindings {
		if slices.Contains(b.keys, key) {
			return b, true
		}
	}
	return binding{}, false
}

// called is the binding of a key or of a word for it, as plain lines give them. While something is written a single character is a key only where no
// entry contains it.
func called(line string, writes bool) (binding, bool) {
	for _, b := range bindings {
		word := cmp.Or(b.word, b.short)
		if len(b.keys) > 0 && (word != "" && strings.EqualFold(line, word) || slices.Contains(b.keys, line) && (!writes || b.writing || line == keyInfo)) {
			return b, true
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
