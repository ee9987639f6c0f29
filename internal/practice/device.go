package practice

import (
	"context"
	"errors"
	"time"

	"larkhand/internal/loop"
	"larkhand/internal/round"
)

// Status tells whether a device is there.
type Status int

// The states.
const (
	Fine Status = iota
	Gone        // it went away just now
	Back        // it is there again
)

// Block is a stretch of sound from a microphone.
type Block struct {
	Time    float64   // s on the audio clock of the first sample
	Samples []float32 // one channel, full scale 1; valid until the next Read
	Lost    int       // samples that were lost just before this block; Time allows for them
	Filler  bool      // the samples are silence in place of a microphone's sound; they say nothing about its level
	Status  Status    // of the microphone; with Gone and Back there need be no samples
}

// Microphone gives sound as it comes. It is read by one goroutine.
type Microphone interface {
	Name() string
	Rate() int // Hz, voice.MinRate to voice.MaxRate; it does not change
	// Read waits for the next block. The Time of a block is that of the one before, plus its samples, plus Lost. A device that goes
	// away is no error: Read says Gone once, waits, and says Back. It returns the error of ctx when that ends, and io.EOF when
	// there will never be more.
	Read(ctx context.Context) (Block, error)
}

// Message is one MIDI channel message.
type Message struct {
	Time   float64 // s on the audio clock
	Bytes  [3]byte
	Size   int    // of Bytes that belong to the message: 2 or 3
	Status Status // of the port; with Gone and Back Size is 0
}

// MIDIPort gives messages as they come. It is read by one goroutine. Read keeps to the rules of Microphone.Read. A port that has also a method Absent() bool
// which gives true is not there at first: Read then says Back when it comes.
type MIDIPort interface {
	Name() string
	Read(ctx context.Context) (Message, error)
}

// Speaker plays the loop. Its methods are called by one goroutine and must not wait.
type Speaker interface {
	Start(l loop.Loop, swing float64, muted round.Backing) // the first bar sounds at l.Starts
	Stop()
	Mute(muted round.Backing)
	SetVolume(db float64) // dB below full; softer at once, louder slowly
	// Status waits until the speaker goes away or comes back. It is called by another goroutine and keeps to the
	// rules of Microphone.Read.
	Status(ctx context.Context) (Status, error)
}

// Reference is a Speaker that knows what it has sent, so that the loop can be taken out of what a microphone heard beside it.
type Reference interface {
	// Sent copies what was sent from sample number `from` on, at the rate of the microphones; sample n was to sound at n/rate s on the audio
	// clock. It is an error where that is not known.
	Sent(dst []float32, from int64) error
}

// Player is a Speaker that can let a sound be heard in place of the loop, which runs on in silence and comes back afterwards.
type Player interface {
	// Play lets samples be heard: one channel, full scale 1, at a rate in Hz, from a time in s on the audio clock on, or at once where that is over.
	// They are as loud as the loop is set. What was still to be heard ends.
	Play(samples []float32, rate int, at float64)
	// Hush ends what is heard.
	Hush()
}

// Clock tells the time on the audio clock when no sound comes.
type Clock interface {
	Now() float64 // s
}

// Finished is a round that is over.
type Finished struct {
	Folder string   // of the round's files
	Takes  []string // sound files of the takes, in order
	Answer string   // MIDI file of the answer; "" where there is none
	// Backings are sound files of what the speaker was sent beside each take, each beginning BackingLead s before its take, and Path the file
	// of the way from speaker to microphone (a bleed.Path as JSON); empty where the loop was not heard in the takes.
	Backings []string
	Path     string
	Facts    round.Facts
	Began    time.Time   // the moment on the wall at which the audio clock was 0; zero where not known
	Setup    round.Setup // as the session was set up; of a recovered round only what was written down
	// Judged is the verdict; nil where the round is incomplete or cannot be judged, and Reason then says why.
	Judged   *round.Round
	Reason   string
	Response *round.Response // nil where there is none
	// Options are what the files must be judged with to give the same verdict.
	Options   round.Options
	Recovered bool   // the round was cut short by a crash
	Phrase    string // name of the kept phrase that it was a try of; "" for none
}

// ErrLeft is wrapped by what a Saver returns for a round that it leaves in its folder on purpose, to be recovered later: one without a verdict.
var ErrLeft = errors.New("it is kept for the next start")

// Saver keeps finished rounds.
type Saver interface {
	// Save keeps a round and says so to the player in a sentence, which may be empty. After an error the round's folder stays for Recover, otherwise
	// it is removed when Save returns.
	Save(ctx context.Context, f Finished) (told string, err error)
}

// Marker is a Saver that can mark a round which it has saved.
type Marker interface {
	// Mark marks a saved round as misheard by the program, or takes the mark away, and says so in a sentence, which may be empty.
	Mark(ctx context.Context, f Finished, misheard bool) (told string, err error)
}
