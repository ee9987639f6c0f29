package steps_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"larkhand/internal/entry"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/internal/steps"
	"larkhand/midiin"
)

// sung is a take of plain notes, half a second each.
func sung(semitones ...int) round.Take {
	var notes []midiin.Note
	for i, s := range semitones {
		notes = append(notes, midiin.Note{Onset: 0.5 * float64(i), Offset: 0.5*float64(i) + 0.45, Pitch: float64(s), Key: s, Velocity: 80})
	}
	return round.WrittenTake("", notes)
}

// played is an answer in the same rhythm, an octave higher.
func played(semitones ...int) round.Answer {
	var a round.Answer
	for i, s := range semitones {
		a.Notes = append(a.Notes, midiin.Note{Onset: 0.5 * float64(i), Offset: 0.5*float64(i) + 0.4, Pitch: float64(s + 12), Key: s + 12, Velocity: 80})
	}
	return a
}

// judge plays a round in C minor; empty numbers or letters were left out.
func judge(t interface{ Fatal(...any) }, takes []round.Take, answer round.Answer, numbers, letters string) steps.Result {
	key, err := music.ParseKey("C minor")
	if err != nil {
		t.Fatal(err)
	}
	r, err := round.Judge(takes, answer, round.Options{Key: &key, Numbering: music.AlteredNumbers, Written: &round.Written{Numbers: numbers, Letters: letters}})
	if err != nil {
		t.Fatal(err)
	}
	if r.Steps == nil {
		return steps.Judge(steps.Input{Key: key, Phrase: r.Phrase, Played: round.Played(answer.Notes), Alignment: r.Alignment, Finding: r.Finding}, steps.Entries{})
	}
	return *r.Steps
}

// phrase is 1 2 b3 5 4 in C minor.
var phrase = []int{60, 62, 63, 67, 65}

func Example() {
	key, _ := music.ParseKey("C minor")
	takes := []round.Take{sung(phrase...)}
	r, _ := round.Judge(takes, played(60, 62, 64, 67, 65), round.Options{Key: &key, Numbering: music.AlteredNumbers,
		Written: &round.Written{Numbers: "1 2 b3 5 4", Letters: "c d e g f"}})
	for _, s := range r.Steps.Sentences {
		fmt.Println(s)
	}
	// Output:
	// Weak link, from the numbers to the letters: b3 is Eb, named E.
}

// What is wrong where is known by how each round is made.
func TestJudge(t *testing.T) {
	for _, c := range []struct {
		what             string
		first, last      []int
		numbers, letters string
		answer           []int
		weak             []steps.Name
		says             string
	}{
		{"all right", nil, phrase, "1 2 b3 5 4", "C D Eb G F", phrase, nil, "No weak link: the phrase came through numbers and letters"},
		{"two takes", phrase, phrase, "1 2 b3 5 4", "C D Eb G F", phrase, nil, "No weak link"},
		{"other spelling", nil, phrase, "1 2 #2 5 4", "B# D D# G F", phrase, nil, "No weak link"},
		{"nothing written", nil, phrase, "", "", phrase, nil, "from the voice to the fingers"},
		{"not heard", nil, phrase, "1 2 ? 5 4", "C D Eb G F", phrase, nil, "No weak link"},
		{"voice", []int{60, 62, 63, 69, 65}, phrase, "1 2 b3 5 4", "C D Eb G F", phrase, []steps.Name{steps.Voice}, "note 4 was 6 in take 1 and 5 in take 2"},
		{"voice, and the answer is take 1", []int{60, 62, 63, 69, 65}, phrase, "1 2 b3 6 4", "C D Eb A F", []int{60, 62, 63, 69, 65}, []steps.Name{steps.Voice}, "note 4"},
		{"ear, carried on", nil, phrase, "1 2 4 5 4", "C D F G F", []int{60, 62, 65, 67, 65}, []steps.Name{steps.Ear}, "note 3 was b3, counted as 4"},
		{"ear leaves one out", nil, phrase, "1 2 b3 4", "C D Eb F", []int{60, 62, 63, 65}, []steps.Name{steps.Ear}, "note 4, 5, was left out"},
		{"ear, letters left out", nil, phrase, "1 2 4 5 4", "", []int{60, 62, 65, 67, 65}, []steps.Name{steps.Ear}, "from the ear to the numbers"},
		{"ear, numbers left out", nil, phrase, "", "C D F G F", []int{60, 62, 65, 67, 65}, []steps.Name{steps.Ear}, "note 3 was b3, named F"},
		{"a slip of the pen", nil, phrase, "1 2 4 5 4", "C D Eb G F", phrase, []steps.Name{steps.Ear}, "note 3"},
		{"letters", nil, phrase, "1 2 b3 5 4", "C D E G F", []int{60, 62, 64, 67, 65}, []steps.Name{steps.Names}, "b3 is Eb, named E"},
		{"one letter too many", nil, phrase, "1 2 b3 5 4", "C D Eb A G F", []int{60, 62, 63, 69, 67, 65}, []steps.Name{steps.Names}, "added, A"},
		{"fingers", nil, phrase, "1 2 b3 5 4", "C D Eb G F", []int{60, 62, 64, 67, 65}, []steps.Name{steps.Fingers}, "note 3 was Eb, played as E"},
		{"fingers, nothing written", nil, phrase, "", "", []int{60, 62, 64, 67, 65}, []steps.Name{steps.Fingers}, "from the ear to the fingers"},
		{"fingers move it all", nil, phrase, "1 2 b3 5 4", "C D Eb G F", []int{62, 64, 65, 69, 67}, []steps.Name{steps.Fingers}, "a whole step"},
		{"sung elsewhere than meant", nil, []int{62, 64, 65, 69, 67}, "1 2 b3 5 4", "C D Eb G F", phrase, nil, "No weak link"},
		{"a note that was not heard in the voice", nil, phrase, "1 2 b3 5 b7 4", "C D Eb G Bb F", []int{60, 62, 63, 67, 70, 65}, nil, "No weak link"},
		{"two links", nil, phrase, "1 2 4 5 4", "C D F G F", []int{60, 62, 65, 67, 68}, []steps.Name{steps.Ear, steps.Fingers}, "begin with the ear"},
	} {
		takes := []round.Take{sung(c.last...)}
		if c.first != nil {
			takes = []round.Take{sung(c.first...), sung(c.last...)}
		}
		got := judge(t, takes, played(c.answer...), c.numbers, c.letters)
		said := strings.Join(got.Sentences, " ")
		if !slices.Equal(got.Weak, c.weak) || !strings.Contains(said, c.says) {
			t.Errorf("%s: weak %v, want %v; said %q, want %q in it", c.what, got.Weak, c.weak, said, c.says)
		}
	}
}

// TestSearched: letters that are right and fingers that try one key after another.
func TestSearched(t *testing.T) {
	var a round.Answer
	at := 0.0
	for _, try := range []struct {
		key  int
		wait float64
	}{{72, 0.6}, {74, 0.5}, {77, 0.4}, {76, 0.4}, {75, 0.9}, {78, 0.4}, {80, 0.4}, {79, 1.2}, {76, 0.4}, {77, 0.5}} {
		a.Notes = append(a.Notes, midiin.Note{Onset: at, Offset: at + 0.3, Pitch: float64(try.key), Key: try.key, Velocity: 80})
		at += try.wait
	}
	got := judge(t, []round.Take{sung(phrase...)}, a, "1 2 b3 5 4", "C D Eb G F")
	said := strings.Join(got.Sentences, " ")
	if !slices.Equal(got.Weak, []steps.Name{steps.Fingers}) || !strings.Contains(said, "the letters were right, but the fingers searched") {
		t.Errorf("weak %v, said %q", got.Weak, said)
	}
}

// TestNothingIsBlamedForWhatWasRight: a phrase that comes through every step, or with any of them left out, has no weak link.
func TestNothingIsBlamedForWhatWasRight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		notes := rapid.SliceOfN(rapid.IntRange(55, 74), 1, 10).Draw(t, "phrase")
		reader := entry.Reader{Numbering: music.AlteredNumbers}
		reader.Key, _ = music.ParseKey("C minor")
		classes := make([]int, len(notes))
		for i, n := range notes {
			classes[i] = n % 12
		}
		numbers, letters := "", ""
		if rapid.Bool().Draw(t, "numbers") {
			numbers = reader.Write(entry.Numbers, classes)
		}
		if rapid.Bool().Draw(t, "letters") {
			letters = reader.Write(entry.Letters, classes)
		}
		got := judge(t, []round.Take{sung(notes...), sung(notes...)}, played(notes...), numbers, letters)
		if len(got.Weak) > 0 {
			t.Fatalf("weak %v: %v", got.Weak, got.Sentences)
		}
	})
}

// TestAnyEntryIsJudged: whatever was written and played, there is a result with a sentence.
func TestAnyEntryIsJudged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		classes := func(name string) string {
			reader := entry.Reader{Numbering: music.AlteredNumbers}
			reader.Key, _ = music.ParseKey("C minor")
			return reader.Write(entry.Letters, rapid.SliceOfN(rapid.IntRange(entry.Unheard, 11), 0, 8).Draw(t, name))
		}
		notes := func(name string) []int { return rapid.SliceOfN(rapid.IntRange(50, 80), 1, 8).Draw(t, name) }
		got := judge(t, []round.Take{sung(notes("first")...), sung(notes("last")...)}, played(notes("answer")...), "", classes("letters"))
		if len(got.Links) < 2 || len(got.Sentences) == 0 {
			t.Fatalf("links %v, sentences %v", got.Links, got.Sentences)
		}
		for _, l := range got.Links {
			if failed := slices.Contains(got.Weak, l.Name); failed != l.Failed {
				t.Fatalf("link %v, weak %v", l, got.Weak)
			}
		}
	})
}
