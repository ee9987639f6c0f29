package round

import (
	"fmt"

	"larkhand/internal/loop"
	"larkhand/internal/music"
)

// CommandKind says what the machine asks for.
type CommandKind int

// The commands. What else of Command they use stands beside them.
const (
	ShowPart    CommandKind = iota // Part: a part begins
	StartLoop                      // Loop, Swing, Muted: render the loop; its first bar lies at Loop.Starts, up to a chart before At where it sounds from its end
	StopLoop                       // silence
	MuteParts                      // Muted: from now on these parts are silent
	BeginTake                      // Take, Player, Cut, Facts so far: record the microphone of Player
	EndTake                        // Take, Cut, Short
	BeginAnswer                    // Player, Cut, Facts so far: record the MIDI port of Player
	EndAnswer                      // Cut, Short
	Discard                        // Part: throw away that take or answer; PartIdle: everything of the round
	JudgeRound                     // the round is complete: judge it. Facts
	SaveRound                      // hand the round over. Facts; comes after JudgeRound, or alone for one that is incomplete
	Warn                           // Warning, Text
	NoteDown                       // Facts so far: something besides the recordings has changed that is to be kept
	PlaySound                      // Sound: let it be heard in place of the loop, which runs on, or end what sounds; answered by SoundBegan
	MarkRound                      // Misheard: the round that was saved gets the mark, or loses it
)

var commandNames = [...]string{
	ShowPart: "show part", StartLoop: "start loop", StopLoop: "stop loop", MuteParts: "mute parts", BeginTake: "begin take", EndTake: "end take",
	BeginAnswer: "begin answer", EndAnswer: "end answer", Discard: "discard", JudgeRound: "judge round", SaveRound: "save round", Warn: "warn",
	NoteDown: "note down", PlaySound: "play sound", MarkRound: "mark round",
}

// String is the kind in words.
func (k CommandKind) String() string {
	if k < 0 || int(k) >= len(commandNames) {
		return fmt.Sprintf("CommandKind(%d)", int(k))
	}
	return commandNames[k]
}

// Command is what the machine asks of those around it. Only the fields that belong to its Kind count.
//
// At never goes back from one command to the next. Cut is a moment in the recording, at most At and at most MaxCutBack
// before it: a take begins a little before its bar line, or with an upbeat, so that whoever records keeps that much
// sound. From one begin or end to the next Cut never goes back, so that no sound belongs to two takes.
type Command struct {
	Kind    CommandKind
	At      float64 // s on the audio clock: when it was decided
	Cut     float64 // s on the audio clock
	Round   int     // number of the round, from 1; two rounds never share one, but a repeated round keeps its number
	Part    Part
	Take    int  // 1 or 2
	Player  int  // index into Setup.Players: who sings or plays
	Short   bool // the take or the answer was cut short by a key press or a lost device
	Loop    loop.Loop
	Swing   float64
	Muted   Backing
	Facts   Facts
	Warning Warning
	Text    string // one plain sentence for the player
	Sound   Sound
	// Misheard is true where MarkRound sets the mark, false where it takes it away.
	Misheard bool
}

// Facts are what is to be kept of a round besides its recordings.
type Facts struct {
	Round          int
	Singer, Player int        // indices into Setup.Players
	Key            *music.Key // nil where it is to be guessed
	Loop           *loop.Loop // on the audio clock; nil with NoLoop
	Swing          float64
	Timing         Timing
	Takes          []Span // the takes that were recorded, in order
	Answer         Span   // zero where none was recorded
	// Awaited is when the form first lets the answer begin, s on the audio clock: the bar line that ends the thinking
	// room. 0 where the thinking room has no bars; see ResponseOf.
	Awaited  float64
	Complete bool     // both takes and an answer with notes, none cut short
	Troubles []string // the warnings given during the round, in order
	Written  *Written // what was written down; nil where nothing was
	// Pieces is where each piece of the answer but the first begins, s on the audio clock; empty for an answer in one piece.
	Pieces   []float64
	Helped   Helped
	Misheard bool // the player says that the program misheard what was sung
}

// Span is a stretch of recording, s on the audio clock.
type Span struct{ From, To float64 }

// Empty is true where nothing was recorded.
func (s Span) Empty() bool { return !(s.To > s.From) }

// Warning is a kind of plain warning.
type Warning int

// The warnings. Those from MicrophoneSilent to Bleed come from Level events.
const (
	MicrophoneSilent Warning = iota
	MicrophoneLow
	MicrophoneClipped
	MicrophoneHum
	Bleed
	MicrophoneGone
	MicrophoneBack
	SpeakerGone
	SpeakerBack
	KeyboardGone
	KeyboardBack
	SoundLost // overrun
	NothingSung
	NothingPlayed
	NobodyThere
	TooLong
	Unjudged
	NotKept    // not given by the machine: the disk or whoever saves a round failed
	Unreadable // what was written down
	NotSounded // not given by the machine: what was to be heard cannot be
	Care
)

var warningNames = [...]string{
	MicrophoneSilent: "microphone silent", MicrophoneLow: "microphone too low", MicrophoneClipped: "microphone clipped", MicrophoneHum: "hum",
	Bleed: "backing in the microphone", MicrophoneGone: "microphone gone", MicrophoneBack: "microphone back", SpeakerGone: "speaker gone",
	SpeakerBack: "speaker back", KeyboardGone: "MIDI port gone", KeyboardBack: "MIDI port back", SoundLost: "sound lost", NothingSung: "nothing sung",
	NothingPlayed: "nothing played", NobodyThere: "nobody there", TooLong: "too long", Unjudged: "not judged", NotKept: "not kept", Unreadable: "not readable",
	NotSounded: "not sounded", Care: "care",
}

// String is the warning in two or three words.
func (w Warning) String() string {
	if w < 0 || int(w) >= len(warningNames) {
		return fmt.Sprintf("Warning(%d)", int(w))
	}
	return warningNames[w]
}
