package notation

import (
	"math"

	"larkhand/internal/round"
	"larkhand/match"
)

// Phrase writes what was sung, as it was matched: on the bars of the loop where there is one.
func Phrase(r round.Round) Tune {
	notes, t := phrase(r)
	return Write(notes, t)
}

func phrase(r round.Round) ([]Note, Time) {
	notes := make([]Note, len(r.Phrase))
	for i, n := range r.Phrase {
		notes[i] = Note{Onset: n.Onset, Offset: n.Offset, Semitone: n.Semitone}
	}
	if r.Loop == nil {
		return notes, GuessTime(notes)
	}
	m := r.Loop.Chart.Meter
	return notes, Time{Beats: m.Beats, Unit: m.Unit, Tempo: r.Loop.Tempo, Bar: r.Loop.Starts}
}

// Answer writes what was played, at the player's own tempo: its first answered note stands where the sung one stands in [Phrase].
func Answer(r round.Round) Tune {
	notes := make([]Note, len(r.Answer.Notes))
	for i, n := range r.Answer.Notes {
		notes[i] = Note{Onset: n.Onset, Offset: n.Offset, Semitone: int(math.Round(n.Pitch))}
	}
	sung, t := phrase(r)
	spans, _ := quantise(sung, t)
	if ratio := r.Alignment.TempoRatio; ratio > 0 {
		t.Tempo /= ratio
	}
	t.Bar = notes[0].Onset
	for _, pair := range r.Alignment.Pairs {
		if pair.Sung != match.None && pair.Played != match.None {
			t.Bar = notes[pair.Played].Onset - t.seconds(spans[pair.Sung].start)
			break
		}
	}
	return Write(notes, t)
}
