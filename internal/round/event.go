package round

import "fmt"

// EventKind says what happened.
type EventKind int

// The events. What else of Event they use stands beside them.
const (
	Tick          EventKind = iota // time went on
	VoiceStarted                   // Device; Since
	VoiceEnded                     // Device; Since
	VoicePaused                    // Device; Since: a short pause inside a voice that goes on, when it began
	NotePlayed                     // Device, Key; Time is when it was struck
	NoteReleased                   // Device, Key
	PedalDown                      // Device; the sustain pedal
	PedalUp                        // Device
	Pressed                        // Action, Amount
	DeviceLost                     // Lost, Device
	DeviceBack                     // Lost, Device
	Overrun                        // Seconds of sound that were lost; Device
	Level                          // Trouble, Device: the microphone's sound is not good for a take
	VolumeChanged                  // the loop comes back at another level from now on
	CannotJudge                    // Text: why the round just ended has no verdict
	KeyPlanned                     // Amount: between rounds, the next one is to lie so many semitones above the setup's key
	Wrote                          // Text: the numbers or letters that were written in this part, as typed; blank leaves the step out
	SoundBegan                     // Seconds: what PlaySound asked for begins to sound, and lasts so long; 0: it cannot be sounded
)

// Action is what a player asks for by a key press.
type Action int

// The actions.
const (
	GoOn       Action = iota // start; or on to the next part (on the form: at the next bar line)
	Repeat                   // throw this round away and sing it again; at the verdict: the same again as a new round
	Skip                     // leave this round and go on to the next
	AnotherKey               // the next round lies Amount semitones higher (0: a fourth)
	Slower                   // the next round is slower by Amount quarters a minute (0: 4)
	Faster                   // the next round is faster by Amount quarters a minute (0: 4)
	Mute                     // Amount is a Backing part, which is silenced or brought back
	Stop                     // stop the loop; go on starts again
	Quit                     // end
	Learn                    // the next MIDI key or pedal goes on from then on; again: nothing is learned
	Steps                    // numbers and letters are written down between take 2 and the answer, or no longer; from this round on, where take 2 is not over
	HearTake                 // sound take Amount again (0: the latest); again: end the sound
	HearNotes                // sound what was understood of take Amount (0: the latest) beside it; again: end the sound
	HearKey                  // sound the key note; again: end the sound
	HearChord                // sound the chord at which the loop is; again: end the sound
	SingAgain                // throw take 2 away, with what was written down since, and sing it again
	Pieces                   // the answer is played in pieces: it ends by GoOn, and pauses between the pieces do not count; before the answer again: in one
	Misheard                 // mark the round as misheard by the program, or take the mark away
)

var actionNames = [...]string{
	GoOn: "go on", Repeat: "repeat", Skip: "skip", AnotherKey: "another key", Slower: "slower", Faster: "faster", Mute: "mute", Stop: "stop", Quit: "quit", Learn: "learn",
	Steps: "steps", HearTake: "hear take", HearNotes: "hear notes", HearKey: "hear key", HearChord: "hear chord", SingAgain: "sing again", Pieces: "pieces", Misheard: "misheard",
}

// String is the action in words: "go on".
func (a Action) String() string {
	if a < 0 || int(a) >= len(actionNames) {
		return fmt.Sprintf("Action(%d)", int(a))
	}
	return actionNames[a]
}

// Backing is a set of parts of the loop's sound.
type Backing int

// The parts of the loop's sound; they may be joined with |.
const (
	Bass Backing = 1 << iota
	Comping
	HiHat
	Click
)

// DeviceKind is a kind of device.
type DeviceKind int

// The kinds of device.
const (
	Microphone DeviceKind = iota
	Speaker
	Keyboard // any MIDI port that notes come from
)

var deviceNames = [...]string{Microphone: "microphone", Speaker: "speaker", Keyboard: "MIDI port"}

// String is the kind in words.
func (k DeviceKind) String() string {
	if k < 0 || int(k) >= len(deviceNames) {
		return fmt.Sprintf("DeviceKind(%d)", int(k))
	}
	return deviceNames[k]
}

// Event is what the machine is told. Only the fields that belong to its Kind count. Times are s on the audio clock. An
// event that lies a little before a tick that was already given is taken at its own time where that still matters.
type Event struct {
	Kind    EventKind
	Time    float64    // s; not finite counts as the latest time so far
	Since   float64    // s; when the voice began, ended or paused, at most Time
	Device  string     // name of the device that it came from; empty if there is only one
	Key     int        // MIDI key, 0 to 127
	Action  Action     // of Pressed
	Amount  int        // of Pressed and KeyPlanned
	Lost    DeviceKind // of DeviceLost and DeviceBack
	Seconds float64    // of Overrun and SoundBegan
	Trouble Warning    // of Level: MicrophoneSilent to Bleed
	Text    string     // of Wrote and CannotJudge, and optionally of Level and DeviceLost: a sentence that is better than the usual one
}
