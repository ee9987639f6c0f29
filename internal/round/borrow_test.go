package round

import (
	"reflect"
	"slices"
	"testing"

	"larkhand/match"
)

// A note that take 2's tracker lost is taken from take 1 where the answer has it, and the takes that were given stay as they are.
func TestBorrowed(t *testing.T) {
	const lost = 3
	first := sungTake("take1.wav", 0, tune...)
	second := sungTake("take2.wav", 20, tune...)
	second.Voice.Notes = slices.Delete(second.Voice.Notes, lost, lost+1)
	given := slices.Clone(second.Voice.Notes)
	r := judge(t, Options{Key: cMinor(t)}, playedNotes(shifted(tune, 12)...), first, second)
	for i, v := range verdicts(r) {
		if v != match.Same {
			t.Errorf("pair %d is %s, want all the same", i, v)
		}
	}
	if !reflect.DeepEqual(r.Borrowed, []int{lost}) || len(r.Phrase) != len(tune) || len(r.Last().Voice.Notes) != len(tune) {
		t.Errorf("borrowed %v, %d notes in the phrase; want note %d and %d", r.Borrowed, len(r.Phrase), lost, len(tune))
	}
	if !hasRemark(r, "Note 4 (F3) could not be made out in take 2; take 1 has it and so has the answer.") {
		t.Errorf("remarks %q", r.Remarks)
	}
	if !reflect.DeepEqual(second.Voice.Notes, given) {
		t.Error("the take that was given was changed")
	}
	// Where the answer leaves it out too, nothing is borrowed and nobody is blamed.
	answer := playedNotes(slices.Delete(slices.Clone(tune), lost, lost+1)...)
	if r := judge(t, Options{Key: cMinor(t)}, answer, first, second); len(r.Borrowed) > 0 || slices.Contains(verdicts(r), match.LeftOut) {
		t.Errorf("borrowed %v, verdicts %v", r.Borrowed, verdicts(r))
	}
}
