package round

import "fmt"

// Part is a part of the live round, or one of the states around it.
type Part int

// The parts, in the order of a round. PartIdle and PartOver are the states around it. PartNumbers and PartLetters come where the steps are on.
const (
	PartIdle      Part = iota // nothing runs: before the first round, after a stop, or while a device is waited for
	PartLoopAlone             // the loop plays once through alone
	PartCountIn               // bars are counted until take 1, or until take 2 is sung again
	PartTake1                 // the phrase is sung
	PartTake2                 // the phrase is sung once more
	PartNumbers               // what was heard is written down as numbers
	PartLetters               // and as letters
	PartThinking              // the phrase is worked out in the head
	PartAnswer                // the phrase is played
	PartVerdict               // the result stands on the screen
	PartOver                  // the machine has ended and takes nothing more
)

// partNames are what screens show.
var partNames = [...]string{
	PartIdle: "idle", PartLoopAlone: "loop alone", PartCountIn: "count-in", PartTake1: "take 1", PartTake2: "take 2",
	PartNumbers: "numbers", PartLetters: "letters", PartThinking: "thinking room", PartAnswer: "answer", PartVerdict: "verdict", PartOver: "over",
}

// String is the part's name as screens show it: "take 1", "thinking room".
func (p Part) String() string {
	if p < 0 || int(p) >= len(partNames) {
		return fmt.Sprintf("Part(%d)", int(p))
	}
	return partNames[p]
}

// listens is true for the parts in which the voice is followed: what it does in the others is not known.
func (p Part) listens() bool { return p == PartLoopAlone || p == PartCountIn || p.Take() > 0 }

// Take is the number of the take that the part is, 1 or 2; 0 for other parts.
func (p Part) Take() int {
	switch p {
	case PartTake1:
		return 1
	case PartTake2:
		return 2
	}
	return 0
}
