// Package practice is the live session: it joins microphones, MIDI ports and a speaker with the round's state machine,
// listens to the voice, records what is sung and played as it comes, has each round judged and hands it over to be kept.
//
//	Microphone -> blocks   \                                   / Speaker (the loop)
//	MIDIPort   -> messages  > one goroutine: round.Machine -> { folder on disk -> round.Judge -> Saver
//	Do, Write  -> actions  /                                   \ Snapshots (for a screen)
//
// # Conventions
//
// Times are seconds on the audio clock, whose zero and rate are those of the microphone's stream: the sample at position n lies at
// n/rate. Levels are dBFS of the mean square (a full-scale square wave is 0). Sound is rounded to 16 bits as it comes in, so that what is analysed is,
// sample by sample, what is on disk; the answer is judged from the MIDI file that was saved. So the live result is the
// one that the saved files give.
//
// The machine is run a settling time behind the newest sound, so that voice, keys and bar lines reach it in the order in which
// they happened, whichever device is the slowest.
//
// # Plans
//
// A Planner proposes each round: a sentence, its reasons, and where wanted a key. It works beside the session's goroutine; a key is taken between
// rounds alone, and one that comes too late changes nothing.
//
// # Files
//
// Each round has a folder of its own in the session's folder: take1.wav and take2.wav, written in blocks of half a second,
// answer.log, one line a MIDI message as it comes, and round.json, which is written anew as soon as there is more to keep: numbers and letters,
// where pieces begin, what was heard again, the mark of a round that was misheard. A round that was judged also has answer.mid. Recover makes whole
// what a crash left behind.
//
// # Hearing again
//
// Takes, what was understood of them, the key note and chords sound by a Speaker that is a Player, in place of the loop and as loud as that. Takes stay in
// memory until the next round is recorded, so that they can be heard at the verdict too, when a Saver may have moved the files.
//
// # Non-goals
//
// No device is opened here and no screen drawn; nothing lasts longer than the round's folder (a Saver sees to that), and no
// loop is rendered.
package practice
