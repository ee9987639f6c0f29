package steps

import (
	"math"
	"slices"

	"larkhand/hunt"
	"larkhand/internal/entry"
	"larkhand/match"
)

// search looks for trial and error by what the player had in mind: who plays wrong letters without a pause has not searched.
func (j *judge) search(stage Stage) {
	if stage == Sung || !j.departs(stage) {
		return
	}
	mind := j.mind(stage)
	j.finding = hunt.Find(mind, j.in.Played, match.Align(mind, j.in.Played), j.in.Hunt)
}

// tried reports whether the finding rests on more than waiting: where a stage has more or fewer notes than were sung, nobody
// knows the rhythm that the player had in mind, and so not when a note was due.
func (j *judge) tried(stage Stage) bool {
	if stage == Sung || len(j.lists[stage]) == len(j.phrase) {
		return true
	}
	return slices.ContainsFunc(j.finding.Evidence, func(e hunt.Evidence) bool { return e.Kind != hunt.Hesitation })
}

// departs reports whether a stage is another phrase than the one that was sung.
func (j *judge) departs(stage Stage) bool {
	spots := j.spot[stage]
	if len(spots) != len(j.phrase) {
		return true
	}
	for i, place := range spots {
		if place == None || !j.fits(place, j.lists[stage][i]) {
			return true
		}
	}
	return false
}

// mind is the phrase as a stage has it, in the rhythm in which it was sung. A note that was never sung stands halfway between
// its neighbours.
func (j *judge) mind(stage Stage) []match.Sung {
	var out []match.Sung
	spots, list := j.spot[stage], j.lists[stage]
	for i, c := range list {
		s := match.Sung{Onset: math.NaN()}
		if spots[i] != None {
			s = j.in.Phrase[spots[i]]
		} else if len(j.in.Phrase) > 0 {
			s.Semitone = j.in.Phrase[0].Semitone
		}
		if c == entry.Unheard {
			s.Unclear = true
		} else {
			s.Semitone = nearest(c, s.Semitone)
			s.Chance, s.Confidence, s.Unclear = [3]float64{0, 1, 0}, 1, false
		}
		s.Pitch = float64(s.Semitone)
		out = append(out, s)
	}
	fillTimes(out)
	return out
}

// nearest is the pitch of a class that lies closest to another one.
func nearest(c, semitone int) int {
	const half = semitones / 2
	return semitone - half + class(c-(semitone-half))
}

// unsungNote is how long a note lasts that was never sung, s. Own.
const unsungNote = 0.3

// fillTimes gives notes without a time one between their neighbours.
func fillTimes(notes []match.Sung) {
	for i := range notes {
		if !math.IsNaN(notes[i].Onset) {
			continue
		}
		before := 0.0
		if i > 0 {
			before = notes[i-1].Onset
		}
		if k := slices.IndexFunc(notes[i:], func(s match.Sung) bool { return !math.IsNaN(s.Onset) }); k >= 0 {
			after := notes[i+k].Onset
			notes[i].Onset = before + (after-before)/float64(k+1)
			notes[i].Offset = notes[i].Onset + (after-before)/float64(k+1)
			continue
		}
		notes[i].Onset = before + unsungNote
		notes[i].Offset = notes[i].Onset + unsungNote
	}
}
