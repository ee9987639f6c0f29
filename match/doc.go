// Package match lays an answer beside the phrase that was sung: which played note answers which sung note, and
// whether it is the same.
//
// Align joins the notes of a take (Sung) with the notes of an answer (Played). It finds by itself how many octaves the
// hand lies above the voice, whether the whole answer lies some semitones off ("right shape, a whole step high"), and
// how much slower or faster it was played. Takes does the same for two takes of one phrase, and Combine settles the
// doubts of the second take with the first. FitTempo is the robust tempo fit alone.
//
// # Method
//
// The joint probability of phrase and answer is maximised by dynamic programming over the two note lists (Needleman
// and Wunsch 1970, J. Mol. Biol. 48:443, with log-probabilities as scores; the model is own). Each sung note brings the
// probabilities of the pitch that was meant; the player plays it, plays something else, or leaves it out, and may add
// notes. The prior of each is a named constant in model.go. Three things follow from it:
//
//   - A verdict that blames the player needs a voice that is sure. A note that is Unclear, or of low Confidence, is
//     never "different" or "left out".
//   - Faults of the voice tracker stay where they are. A repeated note that it merged leaves one played note Added; a
//     note that it split leaves one half Unclear; a short scoop that it took for a note is Unclear.
//   - Timing decides nothing but ties between equal neighbouring notes, since an answer may be slow, free and full of
//     hesitations.
//
// # Conventions
//
// Times are in seconds, pitches are MIDI note numbers. Every list may be empty and need not be sorted; indices are into
// the lists as given. Numbers that are not finite count as 0, a pitch that is not finite fits no note. Chances need
// not add up to 1; three zeros mean that Semitone is certain. A Confidence of 0 is a doubt, not a missing value. The
// lists given are never changed.
//
// Notes of the answer that begin within 50 ms of the first of them are one chord; at most one note of a chord answers
// a sung note, the others are Added.
//
// Of several placements that fit equally well, the later notes win: when a part is played again, the last
// playing is the answer and the earlier one is Added; but once the whole phrase has been played in one run as sung, that
// run is the answer and what comes after it is Added. Between equal neighbouring notes the pairing with the least
// summed lateness wins.
//
// Pairs are in time order: the sung notes appear in order of onset, the played notes appear in order of onset, and
// between two joined pairs a sung note without partner stands where it would have been due.
//
// # Non-goals
//
// The package judges no timing, no dynamics and no harmony, knows no keys or letters, and does not say whether the
// player searched. It follows no live performance: it wants the finished lists. Time and memory grow with the product of
// the two lengths; beyond the first thousand notes of a list, sung ones are Unclear and played ones Added.
package match
