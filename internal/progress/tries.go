package progress

import "larkhand/internal/ladder"

// Tries are the rounds that say how large a phrase the player masters, as package ladder takes them: those that the player played and that
// held or did not. rounds are in order of time.
func Tries(rounds []Round) []ladder.Try {
	var tries []ladder.Try
	for i := range rounds {
		r := &rounds[i]
		if o := r.outcome(); r.Played && o != open {
			tries = append(tries, ladder.Try{Size: r.size(), Known: o == held})
		}
	}
	return tries
}

// size is how large the phrase is.
func (r *Round) size() ladder.Size {
	pitches := make([]int, len(r.Notes))
	outside := map[int]bool{}
	for i, n := range r.Notes {
		pitches[i] = n.Pitch
		outside[n.Pitch] = n.Outside
	}
	return ladder.SizeOf(pitches, func(pitch int) bool { return !outside[pitch] }, r.Seconds)
}

// Sung are the pitches that the player sang, MIDI numbers, oldest first: those of clear notes. rounds are in order of time.
func Sung(rounds []Round) []int {
	var pitches []int
	for i := range rounds {
		for k := range rounds[i].Notes {
			if n := &rounds[i].Notes[k]; rounds[i].Sang && n.counts() {
				pitches = append(pitches, n.Pitch)
			}
		}
	}
	return pitches
}
