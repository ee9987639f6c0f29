package metrics

// SameNoteSemitones is how far two pitches may lie apart to count as the same note in NoteErrorRate: a little more than
// half a semitone, so that a note between two keys is no error (own choice; the error rate itself is the usual
// edit distance of sequences, Levenshtein 1966).
const SameNoteSemitones = 0.6

// EditDistance is the least number of notes to put in, leave out or change that turns the pitches of est into those of ref.
// Two pitches are equal when at most tolerance semitones apart. Times are not looked at.
func EditDistance(ref, est []Note, tolerance float64) int {
	row := make([]int, len(est)+1)
	for j := range row {
		row[j] = j
	}
	for i, r := range ref {
		diagonal := row[0]
		row[0] = i + 1
		for j, e := range est {
			change := diagonal
			if roundDistance(r.Pitch-e.Pitch) > tolerance {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j+1]+1, row[j]+1)
		}
	}
	return row[len(est)]
}

// NoteErrorRate is EditDistance with SameNoteSemitones over the number of reference notes (NSERtol); 0 is perfect, above 1
// is possible. Without reference notes it is 0.
func NoteErrorRate(ref, est []Note) float64 {
	return share(float64(EditDistance(ref, est, SameNoteSemitones)), float64(len(ref)))
}
