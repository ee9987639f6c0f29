package round

import (
	"larkhand/hunt"
	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/steps"
	"larkhand/match"
	"larkhand/midiin"
)

// Options say how a round is judged. The zero value is ready for use: key guessed, numbers of the key's own scale,
// a keyboard, no loop, no response time.
type Options struct {
	// Key is the key of the phrase; nil lets it be guessed from the notes of the last take.
	Key *music.Key
	// Numbering says how degrees are counted.
	Numbering music.Numbering
	// Instrument is what the answer was played on.
	Instrument midiin.Instrument
	// Written is what the player wrote down between singing and playing; nil where nothing was, and then Round.Steps is nil.
	Written *Written
	// Pieces is where each piece of the answer but the first begins, s on the answer's clock; empty for an answer in one piece. The pauses
	// between pieces do not count.
	Pieces []float64
	// Helped is what the player heard again before the answer.
	Helped Helped
	// Loop is the progression under the round, on the clock of the last take; nil where none is known.
	Loop *loop.Loop
	// TakeStarts is where the first sample of each take lies, s on the clock of the last take, so that the last is 0. Empty: the loop
	// lies under each take as it does under the last.
	TakeStarts []float64
	// AnswerStarts is where the answer's zero lies, s on the clock of the last take; nil where it is not known.
	AnswerStarts *float64
}

// Agreement says what take 2 has to do with take 1.
type Agreement struct {
	match.Agreement
	// CentreChangeCents is how much further from the centre the notes of take 2 lie than those of take 1: the median
	// over the pairs of |centre| in take 2 less |centre| in take 1. Negative is better centred. 0 without pairs.
	CentreChangeCents float64
	// SpreadChangeCents is the same for the spread. Negative is steadier. 0 without pairs.
	SpreadChangeCents float64
}

// Round is one judged round: everything that a report needs.
type Round struct {
	// Key is the key given, or the guessed one.
	Key music.Key
	// KeyGuessed is true where Key was guessed from the notes.
	KeyGuessed bool
	Numbering  music.Numbering

	// Takes are the one or two takes, in the order sung. The last one is the reference.
	Takes []Take
	// Agreement compares two takes; nil with one take.
	Agreement *Agreement
	// Settled are the notes of the last take (indices, rising) that take 1 decided: in Phrase they are clear and in the
	// take they are not, or the other way round, or their Semitone is another.
	Settled []int
	// Borrowed are the notes of the last take (indices, rising) that were not made out in it and come from take 1: the answer has them too. They
	// stand in Takes and in Phrase like any other.
	Borrowed []int
	// Phrase is what was sung, as it was matched: one for one the notes of the last take, with unclear ones decided by
	// take 1 where it could.
	Phrase []match.Sung

	Answer    Answer
	Alignment match.Alignment
	Finding   hunt.Finding
	// Written is what the player wrote down between singing and playing, and Steps are the links between voice and fingers; both
	// are nil where nothing was written down.
	Written *Written
	Steps   *steps.Result
	// Pieces and Helped are those of Options.
	Pieces []float64
	Helped Helped
	// ResponseSeconds is from the end of the last sung note of the last take to the first played note, s; nil where
	// it is not known.
	ResponseSeconds *float64

	// Loop is the progression under the round, on the clock of the last take; nil where none is known.
	Loop *loop.Loop
	// TakeStarts is where the first sample of each take lies, s on the clock of the last take; empty where the loop lies under each
	// take as it does under the last.
	TakeStarts []float64
	// AnswerStarts is where the answer's zero lies, s on the clock of the last take; nil where it is not known.
	AnswerStarts *float64

	// Remarks are sentences for the player about the round as a whole, the takes' and the answer's own included, in
	// the order in which they should be read.
	Remarks []string
}
