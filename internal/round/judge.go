package round

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"larkhand/hunt"
	"larkhand/internal/music"
	"larkhand/match"
	"larkhand/midiin"
	"larkhand/voice"
)

// Judge judges one round: takes are one or two singings of the phrase, of which the last counts. The error, one plain
// sentence, says what is missing: a take in which nothing was sung, an answer in which nothing was played.
func Judge(takes []Take, answer Answer, opt Options) (Round, error) {
	if len(takes) < 1 || len(takes) > 2 {
		return Round{}, fmt.Errorf("a round has one or two takes, not %d", len(takes))
	}
	for i, take := range takes {
		if err := CheckTake(take, take.Name(i)); err != nil {
			return Round{}, err
		}
	}
	if err := checkAnswer(answer); err != nil {
		return Round{}, err
	}
	if n := len(opt.TakeStarts); n > 0 && n != len(takes) {
		return Round{}, fmt.Errorf("the starts of %d takes were given for %d: give one for each take, or none", n, len(takes))
	}
	r := Round{Numbering: opt.Numbering, Takes: takes, Answer: answer, Loop: opt.Loop, TakeStarts: opt.TakeStarts, AnswerStarts: opt.AnswerStarts,
		Pieces: slices.Clone(opt.Pieces), Helped: opt.Helped}
	last := r.Last()
	r.Key, r.KeyGuessed = KeyOf(last, opt.Key)
	r.Phrase = Sung(last.Voice.Notes)
	if len(takes) > 1 {
		r.compare()
	}
	played := Played(answer.Notes)
	r.Alignment = match.AlignWith(r.Phrase, played, match.Options{TuningCents: last.Voice.TuningCents})
	played, pauses := joined(r.Phrase, played, r.Alignment, r.Pieces)
	if len(pauses.starts) > 0 {
		r.Alignment = match.AlignWith(r.Phrase, played, match.Options{TuningCents: last.Voice.TuningCents})
	}
	r.borrow(played)
	hunting := hunt.Options{Guitar: opt.Instrument == midiin.Guitar}
	r.Finding = hunt.Find(r.Phrase, played, r.Alignment, hunting)
	if err := r.judgeSteps(opt.Written, played, hunting); err != nil {
		return Round{}, err
	}
	pauses.undo(&r.Finding)
	if r.Steps != nil {
		pauses.undo(&r.Steps.Finding)
	}
	early := r.respond()
	r.Remarks = r.remarks(early)
	return r, nil
}

// checkAnswer refuses an answer in which nothing was played.
func checkAnswer(answer Answer) error {
	if len(answer.Notes) > 0 {
		return nil
	}
	name := answer.File
	if name == "" {
		name = "the answer"
	}
	return errors.New(name + " holds no played notes: record the answer again and check that the instrument sends notes")
}

// KeyOf is the key given, or the one guessed from the notes of a take, long ones counting more.
func KeyOf(take Take, given *music.Key) (key music.Key, guessed bool) {
	if given != nil {
		return *given, false
	}
	var pitches, weights []float64
	for _, n := range take.Voice.Notes {
		pitches = append(pitches, float64(n.Semitone))
		weights = append(weights, n.Offset-n.Onset)
	}
	key, _ = music.GuessKey(pitches, weights)
	return key, true
}

// compare lays take 2 beside take 1 and settles the doubts of take 2 with it.
func (r *Round) compare() {
	first, second := r.Takes[0].Voice.Notes, r.Takes[1].Voice.Notes
	sung1, sung2 := Sung(first), r.Phrase
	a := &Agreement{Agreement: match.Takes(sung1, sung2)}
	a.CentreChangeCents = medianChange(first, second, a.Pairs, func(n voice.Note) float64 { return math.Abs(n.CentreCents) })
	a.SpreadChangeCents = medianChange(first, second, a.Pairs, func(n voice.Note) float64 { return n.SpreadCents })
	r.Agreement = a
	r.Phrase = match.Combine(sung1, sung2, a.Agreement)
	for i := range sung2 {
		if sung2[i].Unclear != r.Phrase[i].Unclear || sung2[i].Semitone != r.Phrase[i].Semitone {
			r.Settled = append(r.Settled, i)
		}
	}
}

// medianChange is the median over the pairs of a quantity in take 2 less the same in take 1; 0 without pairs.
func medianChange(first, second []voice.Note, pairs [][2]int, quantity func(voice.Note) float64) float64 {
	var changes []float64
	for _, p := range pairs {
		changes = append(changes, quantity(second[p[1]])-quantity(first[p[0]]))
	}
	return median(changes)
}

// median is the middle value, or the mean of the two middle ones; 0 of none.
func median(values []float64) float64 {
	n := len(values)
	if n == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(values))
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// respond sets the response time. early is true where the answer began before the take was over, so that there is none.
func (r *Round) respond() (early bool) {
	if r.AnswerStarts == nil {
		return false
	}
	notes := r.Last().Voice.Notes
	response := *r.AnswerStarts + r.Answer.Notes[0].Onset - notes[len(notes)-1].Offset
	if response < 0 {
		return true
	}
	r.ResponseSeconds = &response
	return false
}

// Last is the take that the answer is judged against.
func (r Round) Last() Take { return r.Takes[len(r.Takes)-1] }

// CentreCents is how far a note of the phrase lies from its tempered pitch, on the take's own tuning.
func (r Round) CentreCents(note int) float64 {
	return 100 * (r.Phrase[note].Pitch - float64(r.Phrase[note].Semitone))
}

// SungChord is the chord that sounds when a note of a take begins, and the note's number counted from the chord's root. Both
// are empty where no chord is known.
func (r Round) SungChord(take, note int) (symbol, degree string) {
	n := r.Takes[take].Voice.Notes[note]
	at := n.Onset
	if len(r.TakeStarts) > 0 {
		at += r.TakeStarts[take]
	}
	return r.chordAt(at, n.Semitone)
}

// PlayedChord is the same for a note of the answer. It needs AnswerStarts.
func (r Round) PlayedChord(note int) (symbol, degree string) {
	if r.AnswerStarts == nil {
		return "", ""
	}
	n := r.Answer.Notes[note]
	return r.chordAt(*r.AnswerStarts+n.Onset, int(math.Round(n.Pitch)))
}

func (r Round) chordAt(time float64, midi int) (symbol, degree string) {
	if r.Loop == nil {
		return "", ""
	}
	chord, ok := r.Loop.ChordAt(time)
	if !ok {
		return "", ""
	}
	return chord.String(), chord.Degree(midi)
}
