package round

import (
	"fmt"
	"math"
	"slices"

	"larkhand/internal/bleed"
	"larkhand/voice"
)

// Bounds of what is left of the loop in a take.
const (
	// unclearLeftDB is what is left of the loop over a note, dB, from which the note is unclear: in takes with that much left throughout, one note
	// in two was heard wrong (measured on real voices in simulated rooms).
	unclearLeftDB = -15.0
	// freeShare of a note that lies where nobody sings makes it none: it is a rest of the loop. Own.
	freeShare = 0.5
	// leastPower keeps ratios finite, mean square.
	leastPower = 1e-20
)

// BleedLevels say how much of the loop the microphone heard beside the voice, and how much of it is left in the take that is judged.
type BleedLevels struct {
	// Present is false where the loop cannot be heard in the take; the levels are then -100.
	Present bool
	// LevelDB is the loop over the voice while somebody sings, dB, and LeftDB what is expected to be left of it; NaN where nobody sings.
	LevelDB, LeftDB float64
	// Method is how it was taken out, and Verdict what the take is good for.
	Method  bleed.Method
	Verdict bleed.Verdict
	// Unclear counts the notes that are unclear since too much of the loop is left beside them.
	Unclear int
}

// CleanedTake is SungTake for a take that was sung while the loop sounded from a speaker: the loop is taken out first. backing is the loop
// as it was sent to the speaker, or a recording of it; opt says what is known of it (bleed.Options). The error says, in one sentence, that
// take or backing cannot be used, or that so much of the loop is left that the take must not be judged.
func CleanedTake(file string, samples []float32, rate int, backing []float32, opt bleed.Options) (Take, error) {
	cleaned, err := bleed.Clean(samples, backing, rate, opt)
	if err != nil {
		return Take{}, err
	}
	return TakeWithoutBleed(file, cleaned)
}

// TakeWithoutBleed analyses a take out of which package bleed has taken the loop. A note beside which too much of the loop is left becomes
// unclear, so that nobody is blamed for it.
func TakeWithoutBleed(file string, cleaned bleed.Result) (Take, error) {
	if cleaned.Verdict >= bleed.NoVerdict {
		return Take{}, refusal(cleaned)
	}
	analysed, err := voice.Analyse(cleaned.Samples, cleaned.Rate)
	if err != nil {
		return Take{}, err
	}
	b := &BleedLevels{Present: cleaned.Present, LevelDB: cleaned.BleedDB, LeftDB: cleaned.ResidualDB, Method: cleaned.Method, Verdict: cleaned.Verdict}
	analysed.Notes = slices.DeleteFunc(analysed.Notes, func(n voice.Note) bool { return cleaned.Present && outsideSinging(n, cleaned.VoiceFree) })
	for i := range analysed.Notes {
		if n := &analysed.Notes[i]; leftBeside(*n, cleaned) > unclearLeftDB {
			n.Unclear = true
			b.Unclear++
		}
	}
	take := Take{File: file, Voice: analysed, Bleed: b}
	take.Remarks = append(append(take.Remarks, cleaned.Remarks...), soundRemarks(analysed)...)
	if !cleaned.Present && len(cleaned.Remarks) == 0 {
		take.Remarks = append(take.Remarks, "The backing cannot be heard in this take, so nothing was taken out.")
	}
	if b.Unclear > 0 {
		take.Remarks = append(take.Remarks, fmt.Sprintf("%s unclear, since the backing is still too loud beside %s: use headphones or turn the speaker down.",
			notesAre(b.Unclear), themOrIt(b.Unclear)))
	}
	return take, nil
}

// refusal is the last remark on a take that must not be judged, as an error.
func refusal(r bleed.Result) error {
	text := "so much of the backing is left in the take that its notes cannot be judged"
	if r.Verdict == bleed.Unusable {
		text = "the backing drowns the voice in this take"
	}
	return fmt.Errorf("%s (%.0f dB beside the voice, %.0f dB after it was taken out): use headphones or turn the speaker down, keep the microphone still, and sing again",
		text, r.BleedDB, r.ResidualDB)
}

// outsideSinging says whether a note lies where nobody sings.
func outsideSinging(n voice.Note, free []bleed.Span) bool {
	inside := 0.0
	for _, s := range free {
		inside += math.Max(0, math.Min(n.Offset, s.To)-math.Max(n.Onset, s.From))
	}
	return inside > freeShare*(n.Offset-n.Onset)
}

// leftBeside is what is expected to be left of the loop over all that sounds during a note, dB.
func leftBeside(n voice.Note, r bleed.Result) float64 {
	left, frames := 0.0, 0.0
	for i := int(n.Onset / bleed.LeftFrame); i < len(r.LeftPower) && float64(i)*bleed.LeftFrame < n.Offset; i++ {
		left += r.LeftPower[i]
		frames++
	}
	from, to := int(n.Onset*float64(r.Rate)), min(len(r.Samples), int(n.Offset*float64(r.Rate)))
	if frames == 0 || from >= to {
		return math.Inf(-1)
	}
	sounds := 0.0
	for _, v := range r.Samples[from:to] {
		sounds += float64(v) * float64(v)
	}
	return 10 * math.Log10((left/frames+leastPower)/(sounds/float64(to-from)+leastPower))
}

func notesAre(n int) string {
	if n == 1 {
		return "One note is"
	}
	return fmt.Sprintf("%d notes are", n)
}

func themOrIt(n int) string {
	if n == 1 {
		return "it"
	}
	return "them"
}
