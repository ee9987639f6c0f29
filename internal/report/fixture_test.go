package report

import (
	"math"
	"testing"

	"larkhand/hunt"
	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/internal/steps"
	"larkhand/match"
	"larkhand/midiin"
	"larkhand/voice"
)

// The rounds of these tests are made by hand, so that they change only when the report does.

// sungAs is one note of a hand-made take.
type sungAs struct {
	onset, offset float64
	semitone      int
	centre        float64 // cents
	unclear       bool
}

// phrase is C minor 1 3 5 4 3 2 1, the 5th note between two pitches.
var phrase = []sungAs{
	{0.52, 0.91, 60, 6, false}, {0.98, 1.38, 63, -4, false}, {1.45, 2.10, 67, 11, false}, {2.16, 2.52, 65, -15, false},
	{2.60, 2.83, 63, 38, true}, {2.90, 3.22, 62, 2, false}, {3.30, 4.12, 60, -1, false},
}

// handTake makes a take whose curve passes through its notes with a scoop at the start and vibrato in long notes.
func handTake(file string, notes []sungAs, tuning, moved float64) round.Take {
	take := round.Take{File: file, Voice: voice.Take{TuningCents: tuning, Clarity: 0.97}}
	for _, n := range notes {
		note := voice.Note{
			Onset: n.onset + moved, Offset: n.offset + moved, Semitone: n.semitone,
			Pitch:  float64(n.semitone) + (n.centre+tuning)/100,
			Chance: [3]float64{0.01, 0.98, 0.01}, ReferenceCents: tuning, CentreCents: n.centre, SpreadCents: 12,
			Level: -21, Confidence: 0.97, Unclear: n.unclear,
		}
		if n.unclear {
			note.Chance, note.Confidence = [3]float64{0.02, 0.58, 0.40}, 0.55
		}
		take.Voice.Notes = append(take.Voice.Notes, note)
		take.Voice.Duration = note.Offset + 0.4
	}
	for t := 0.0; t < take.Voice.Duration; t += 0.01 {
		f := voice.Frame{Time: t, F0: math.NaN(), Voiced: 0.1, Level: -62}
		for _, n := range take.Voice.Notes {
			if in := t - n.Onset; in >= 0 && t < n.Offset {
				pitch := n.Pitch - 0.8*math.Exp(-in/0.04)
				if in > 0.25 {
					pitch += 0.25 * math.Sin(2*math.Pi*5.6*in)
				}
				f = voice.Frame{Time: t, F0: music.MIDIToHz(pitch), Voiced: 0.95, Level: -21}
			}
		}
		take.Voice.Frames = append(take.Voice.Frames, f)
	}
	return take
}

func mustKey(t testing.TB, name string) music.Key {
	t.Helper()
	key, err := music.ParseKey(name)
	if err != nil {
		t.Fatal(err)
	}
	return key
}

// searchedRound has every verdict and two kinds of evidence.
func searchedRound(t testing.TB) round.Round {
	t.Helper()
	first := append([]sungAs(nil), phrase...)
	first[3].semitone, first[3].centre = 66, 20 // the 4th note was another one in take 1
	first[2].centre = 25
	takes := []round.Take{handTake("take1.wav", first, -4, 0.3), handTake("take2.wav", phrase, -12, 0)}
	answer := round.Answer{File: "answer.mid", Notes: []midiin.Note{
		{Onset: 0.00, Offset: 0.40, Key: 72, Pitch: 72, Velocity: 71}, {Onset: 0.47, Offset: 0.86, Key: 75, Pitch: 75, Velocity: 74},
		{Onset: 0.95, Offset: 1.10, Key: 78, Pitch: 78, Velocity: 60}, {Onset: 1.30, Offset: 1.90, Key: 79, Pitch: 79, Velocity: 80},
		{Onset: 2.85, Offset: 3.20, Key: 77, Pitch: 77, Velocity: 66}, {Onset: 3.30, Offset: 3.52, Key: 75, Pitch: 75, Velocity: 64},
		{Onset: 4.02, Offset: 4.80, Key: 74, Pitch: 74, Velocity: 77},
	}}
	response := 1.42
	pairs := [][2]int{{0, 0}, {1, 1}, {2, 2}, {3, 3}, {4, 4}, {5, 5}, {6, 6}}
	return round.Round{
		Key: mustKey(t, "C minor"), Takes: takes,
		Agreement: &round.Agreement{Agreement: match.Agreement{SamePhrase: true, Pairs: pairs, Moved: []int{3}}, CentreChangeCents: -6, SpreadChangeCents: 1},
		Phrase:    round.Sung(takes[1].Voice.Notes), Answer: answer, ResponseSeconds: &response,
		Alignment: match.Alignment{Octaves: 1, TempoRatio: 1.04, VoiceCents: -12, Pairs: []match.Pair{
			{Sung: 0, Played: 0, Verdict: match.Same}, {Sung: 1, Played: 1, Verdict: match.Same},
			{Sung: match.None, Played: 2, Verdict: match.Added}, {Sung: 2, Played: 3, Verdict: match.Same},
			{Sung: 3, Played: 4, Verdict: match.Same}, {Sung: 4, Played: 5, Verdict: match.Unclear},
			{Sung: 5, Played: match.None, Verdict: match.LeftOut}, {Sung: 6, Played: 6, Verdict: match.Different},
		}},
		Finding: hunt.Finding{Searched: 0.96, Label: hunt.Searched, Evidence: []hunt.Evidence{
			{Kind: hunt.Correction, Onset: 0.95, Offset: 1.30, Sung: []int{2}, Played: []int{2, 3}, Weight: 2.9,
				Text: "Before the 3rd note you first pressed a neighbouring key and corrected it 0.3 s later."},
			{Kind: hunt.Hesitation, Onset: 1.30, Offset: 2.85, Sung: []int{2, 3}, Played: []int{3, 4}, Weight: 2.1,
				Text: "Before the 4th note you waited 0.8 s longer than the phrase's rhythm asks for."},
		}},
		Remarks: []string{"take2.wav: clipped at 2.1 s: the recording level was too high."},
	}
}

// knownRound is faultless, has one take, a guessed key and a loop.
func knownRound(t testing.TB) round.Round {
	t.Helper()
	chart, err := music.ParseChart("Cm7 | Fm7 | G7b9 | Cm7")
	if err != nil {
		t.Fatal(err)
	}
	l, err := loop.New(chart, 120, 0)
	if err != nil {
		t.Fatal(err)
	}
	notes := append([]sungAs(nil), phrase...)
	notes[4].unclear, notes[4].centre = false, 5
	take := handTake("take.wav", notes, 3, 0)
	starts := 6.0
	r := round.Round{
		Key: mustKey(t, "C minor"), KeyGuessed: true, Takes: []round.Take{take}, Phrase: round.Sung(take.Voice.Notes), Loop: &l, AnswerStarts: &starts,
		Alignment: match.Alignment{Octaves: 0, TempoRatio: 1, VoiceCents: 3},
		Finding:   hunt.Finding{Searched: 0.05, Label: hunt.Known},
	}
	for i, n := range notes {
		r.Answer.Notes = append(r.Answer.Notes, midiin.Note{Onset: n.onset, Offset: n.offset, Key: n.semitone, Pitch: float64(n.semitone), Velocity: 70})
		r.Alignment.Pairs = append(r.Alignment.Pairs, match.Pair{Sung: i, Played: i, Verdict: match.Same})
	}
	return r
}

// longRound needs several rows of text and a wide picture: 40 notes, the answer a whole step high.
func longRound(t testing.TB) round.Round {
	t.Helper()
	r := knownRound(t)
	r.Loop, r.AnswerStarts, r.KeyGuessed = nil, nil, false
	scale := []int{60, 62, 63, 65, 67, 68, 70, 72}
	var notes []sungAs
	r.Answer.Notes, r.Alignment.Pairs = nil, nil
	for i := range 40 {
		semitone := scale[(3*i)%len(scale)]
		at := 0.5 + 0.25*float64(i)
		notes = append(notes, sungAs{at, at + 0.2, semitone, float64(i%9) - 4, false})
		r.Answer.Notes = append(r.Answer.Notes, midiin.Note{Onset: at, Offset: at + 0.2, Key: semitone + 2, Pitch: float64(semitone + 2), Velocity: 70})
		r.Alignment.Pairs = append(r.Alignment.Pairs, match.Pair{Sung: i, Played: i, Verdict: match.Same})
	}
	r.Alignment.Transposition = 2
	r.Takes = []round.Take{handTake("take.wav", notes, 0, 0)}
	r.Phrase = round.Sung(r.Takes[0].Voice.Notes)
	return r
}

// steppedRound has numbers and letters that were written down, with a mistake of the ear, pieces, and help.
func steppedRound(t testing.TB) round.Round {
	t.Helper()
	r := knownRound(t)
	took := 7.54
	r.Written = &round.Written{Numbers: "1 3 5 5\t3 2 1", Letters: "c eb g g eb d c", NumbersSeconds: &took}
	r.Steps = &steps.Result{
		Links: []steps.Link{
			{Name: steps.Voice, Compared: 7},
			{Name: steps.Ear, To: steps.Numbers, Compared: 7, Failed: true, Mistakes: []steps.Mistake{{Place: 3, Wanted: 5, Given: 7}}},
			{Name: steps.Names, From: steps.Numbers, To: steps.Letters, Compared: 7},
			{Name: steps.Fingers, From: steps.Letters, To: steps.Played, Compared: 7},
		},
		Weak: []steps.Name{steps.Ear}, Sentences: []string{"Weak link, from the ear to the numbers: note 4 was 4, counted as 5."},
	}
	r.Pieces, r.Helped = []float64{1.4, 2.5504}, round.Helped{Take2: 2, Key: 1}
	r.Remarks = []string{"Played in 3 pieces; the pauses between them do not count.", "Heard take 2 again twice and the key note before the answer."}
	return r
}

// writtenRound answers a phrase from a MIDI file.
func writtenRound(t testing.TB) round.Round {
	t.Helper()
	r := knownRound(t)
	r.Loop, r.AnswerStarts = nil, nil
	r.Takes = []round.Take{round.WrittenTake("phrase.mid", r.Answer.Notes)}
	r.Phrase = round.Sung(r.Takes[0].Voice.Notes)
	return r
}
