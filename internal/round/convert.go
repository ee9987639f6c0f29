package round

import (
	"larkhand/match"
	"larkhand/midiin"
	"larkhand/voice"
)

// Sung turns the notes of a take into what match needs to know of them: the pitch on the take's own tuning.
func Sung(notes []voice.Note) []match.Sung {
	sung := make([]match.Sung, len(notes))
	for i, n := range notes {
		sung[i] = match.Sung{
			Onset: n.Onset, Offset: n.Offset,
			Pitch:      float64(n.Semitone) + n.CentreCents/100,
			Semitone:   n.Semitone,
			Chance:     n.Chance,
			Confidence: n.Confidence,
			Unclear:    n.Unclear,
		}
	}
	return sung
}

// Played turns played notes into what match needs to know of them. A note ends where it stopped sounding.
func Played(notes []midiin.Note) []match.Played {
	played := make([]match.Played, len(notes))
	for i, n := range notes {
		played[i] = match.Played{
			Onset: n.Onset, Offset: n.Offset,
			Pitch:    n.Pitch,
			Velocity: n.Velocity,
			Channel:  n.Channel,
		}
	}
	return played
}
