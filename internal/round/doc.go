// Package round judges one practice round: the takes that were sung, the answer that was played, and what the two
// have to do with one another ([Judge]). It also holds the course of a live round as a state machine ([Machine]).
//
// It is the one place where the stages meet. voice and midiin know nothing of each other, match and hunt know only
// plain notes; this package turns sung and played notes into the notes of match (convert.go), calls match and hunt,
// and gathers everything that a report, a screen or a record needs in one value, [Round].
//
// # Conventions
//
// Times are seconds. Each take has its own clock, which starts with its first sample; the answer has its own clock,
// which starts at the zero of its MIDI file. [Options.AnswerStarts] joins the answer's clock to that of the last take;
// without it no response time is claimed. The last take is the reference: every index of a sung note in
// [Round.Alignment] and [Round.Finding] counts the notes of the last take. Pitch is a MIDI note number (A4 = 69 =
// 440 Hz), deviation is in cents, level in dBFS.
//
// A round may have more between singing and playing: numbers and letters that are written down ([Written]), takes that are heard again ([Helped]), and an
// answer in pieces, of which the pauses between the pieces are taken out before it is judged. Such a round is judged like any other, but its response time
// compares with no other ([Round.Straight]).
//
// The machine is on another clock, the audio clock, whose zero is its owner's choice. It takes events and gives commands
// ([Event], [Command]); a part begins at its deadline and ends just before the next.
//
// Judge is pure: the same takes and answer give the same Round, nothing given to it is changed, and no clock, file or
// device is touched.
//
// # Non-goals
//
// No files are read here and nothing is printed; no sentence for the whole round is made (internal/report does that).
// The machine opens no device, keeps no time and records nothing: those around it do as its commands say.
package round
