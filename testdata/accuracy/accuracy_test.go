package main

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"larkhand/hunt/simulate"
	"larkhand/internal/data/sightsing"
	"larkhand/internal/round"
	"larkhand/match"
)

// clipOf makes a clip whose notes last 0.4 s, each after the given rest, with label and F0 median at the given pitch.
func clipOf(rests, pitches []float64) *sightsing.Clip {
	c := &sightsing.Clip{ID: "x"}
	at := 1.0
	for i, p := range pitches {
		at += rests[i]
		c.Notes = append(c.Notes, sightsing.Note{Onset: at, Offset: at + 0.4, Label: p, Median: p})
		at += 0.4
	}
	return c
}

func repeat(value float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = value
	}
	return out
}

func TestCutAtRests(t *testing.T) {
	c := clipOf([]float64{0, .1, .1, .5, .1, .34, .36, .1}, []float64{60, 62, 64, 65, 64, 62, 60, 60})
	phrases, count := cut(c)
	if len(phrases) != 2 || count.pieces != 3 || count.short != 1 || count.kept != 2 {
		t.Fatalf("%d phrases, %+v", len(phrases), count)
	}
	first := phrases[0]
	if got := first.notes[0].onset; math.Abs(got-margin) > 1e-9 {
		t.Errorf("first note %v s after the cut, want %v", got, margin)
	}
	if got := first.to - c.Notes[2].Offset; math.Abs(got-.25) > 1e-9 {
		t.Errorf("sound ends %v s after the last note, want half of the rest of 0.5 s", got)
	}
	for i, want := range []int{60, 62, 64} {
		if n := first.notes[i]; n.semitone != want || !n.scored {
			t.Errorf("note %d: %+v, want %d", i, n, want)
		}
	}
}

func TestLongPiecesArePartedAtTheirLongestRest(t *testing.T) {
	rests := repeat(.05, 20)
	rests[8], rests[14] = .2, .15
	got := pieces(clipOf(rests, repeat(60, 20)).Notes)
	if want := [][2]int{{0, 8}, {8, 20}}; !slices.Equal(got, want) {
		t.Errorf("pieces %v, want %v", got, want)
	}
	if got := pieces(clipOf(repeat(.05, 20), repeat(60, 20)).Notes); len(got) != 1 {
		t.Errorf("pieces without a rest %v, want one", got)
	}
}

func TestNotesThatNobodyCanJudgeAreNotScored(t *testing.T) {
	c := clipOf(repeat(.1, 8), []float64{60.2, 62.2, 64.7, 65.2, 64.2, 62.2, 60.2, 59.2})
	c.Notes[5].Median = 61.4
	c.Notes[6].Offset = c.Notes[6].Onset + .03
	phrases, count := cut(c)
	if len(phrases) != 1 || count.kept != 0 || count.unsure != 1 || !phrases[0].unsure {
		t.Fatalf("%d phrases, %+v, want one that is unsure", len(phrases), count)
	}
	p := phrases[0]
	if p.between != 1 || p.doubtful != 2 {
		t.Errorf("%d between the keys, %d in doubt, want 1 (half a semitone off the others) and 2 (label against median; too short)", p.between, p.doubtful)
	}
	for _, i := range []int{2, 5, 6} {
		if p.notes[i].scored {
			t.Errorf("note %d is scored", i)
		}
	}
	if p.betweenKeys {
		t.Error("20 cents sharp counts as between two keys")
	}
}

func TestIntervalsAreKeptBetweenTwoKeys(t *testing.T) {
	c := clipOf(repeat(.1, 6), []float64{60.47, 62.49, 64.51, 65.52, 64.53, 62.54})
	phrases, _ := cut(c)
	p := phrases[0]
	if !p.betweenKeys {
		t.Error("half a semitone off is not called between two keys")
	}
	for i, want := range []int{0, 2, 4, 5, 4, 2} {
		if got := p.notes[i].semitone - p.notes[0].semitone; got != want {
			t.Errorf("note %d lies %d semitones above the first, want %d", i, got, want)
		}
	}
}

// melody is a phrase of clear notes, 0.5 s each.
func melody(keys ...int) phrase {
	p := phrase{clip: &sightsing.Clip{ID: "x"}}
	for i, k := range keys {
		p.notes = append(p.notes, truth{onset: float64(i) * .5, offset: float64(i)*.5 + .45, semitone: k, scored: true})
	}
	return p
}

func TestAnswersHaveTheFaultAndComeBackFromTheFile(t *testing.T) {
	p := melody(60, 62, 62, 64, 60)
	for index := range 200 {
		for v := range variants {
			a := play(p, v, simulate.Plain{}, generator(1, "x", index, v))
			notes, err := a.read()
			if err != nil {
				t.Fatalf("%s: %v", v, err)
			}
			for i, n := range notes {
				if math.Abs(n.Onset-a.strokes[i].onset) > .001 || math.Abs(n.Offset-a.strokes[i].offset) > .001 || n.Velocity != a.strokes[i].velocity {
					t.Fatalf("%s: stroke %d %+v was read back as %+v", v, i, a.strokes[i], n)
				}
			}
			wrong := 0
			for i, label := range a.of {
				if label < 0 || a.strokes[i].key != p.notes[label].semitone+12*a.octaves {
					wrong++
				}
			}
			if want := map[variant][2]int{faultless: {5, 0}, wrongNote: {5, 1}, leftOut: {4, 0}, corrected: {6, 1}, hesitated: {5, 0}}[v]; len(a.strokes) != want[0] || wrong != want[1] {
				t.Fatalf("%s: %d strokes, %d wrong, want %v", v, len(a.strokes), wrong, want)
			}
			if v == hesitated {
				if got := a.strokes[a.fault].onset - a.strokes[a.fault-1].onset; math.Abs(got-a.wait-hesitationDelay) > 1e-9 {
					t.Fatalf("the pause lasts %v s, due was %v s", got, a.wait)
				}
			}
		}
	}
}

func TestSameSeedSameAnswer(t *testing.T) {
	p := melody(60, 62, 64)
	a, err := play(p, corrected, simulate.Plain{}, generator(7, "x", 0, corrected)).file()
	if err != nil {
		t.Fatal(err)
	}
	b, err := play(p, corrected, simulate.Plain{}, generator(7, "x", 0, corrected)).file()
	if err != nil || !slices.Equal(a, b) {
		t.Errorf("two files differ (%v)", err)
	}
}

// hear makes a round in which the phrase was heard as the given keys at its own times.
func hear(p phrase, keys []int, pairs []match.Pair) round.Round {
	var r round.Round
	for i, k := range keys {
		r.Phrase = append(r.Phrase, match.Sung{Onset: p.notes[i].onset, Offset: p.notes[i].offset, Semitone: k})
	}
	r.Alignment.Pairs = pairs
	return r
}

func TestCountNotes(t *testing.T) {
	p := melody(60, 62, 62, 64)
	pair := func(s, q int, v match.Verdict) match.Pair { return match.Pair{Sung: s, Played: q, Verdict: v} }
	heard := []int{60, 62, 62, 64}
	all := []int{0, 1, 2, 3}
	for _, c := range []struct {
		name                          string
		a                             answer
		pairs                         []match.Pair
		blame, missed, omission, same tally
	}{
		{"all well", answer{variant: faultless, fault: -1, of: all},
			[]match.Pair{pair(0, 0, match.Same), pair(1, 1, match.Same), pair(2, 2, match.Same), pair(3, 3, match.Same)},
			tally{0, 4}, tally{}, tally{}, tally{4, 4}},
		{"blame", answer{variant: faultless, fault: -1, of: all},
			[]match.Pair{pair(0, 0, match.Different), pair(1, 1, match.Unclear), pair(2, match.None, match.LeftOut), pair(match.None, 2, match.Added), pair(3, 3, match.Same)},
			tally{2, 4}, tally{}, tally{}, tally{1, 4}},
		{"wrong note seen", answer{variant: wrongNote, fault: 3, of: all},
			[]match.Pair{pair(0, 0, match.Same), pair(1, 1, match.Same), pair(2, 2, match.Same), pair(3, 3, match.Different)},
			tally{0, 3}, tally{0, 1}, tally{}, tally{3, 3}},
		{"wrong note missed", answer{variant: wrongNote, fault: 3, of: all},
			[]match.Pair{pair(0, 0, match.Same), pair(1, 1, match.Same), pair(2, 2, match.Same), pair(3, 3, match.Same)},
			tally{0, 3}, tally{1, 1}, tally{}, tally{3, 3}},
		{"wrong note seen in its run", answer{variant: wrongNote, fault: 2, of: all},
			[]match.Pair{pair(0, 0, match.Same), pair(1, match.None, match.LeftOut), pair(2, 1, match.Same), pair(3, 2, match.Same), pair(match.None, 3, match.Added)},
			tally{0, 3}, tally{0, 1}, tally{}, tally{2, 3}},
		{"left-out note found as its twin", answer{variant: leftOut, fault: 2, of: []int{0, 1, 3}},
			[]match.Pair{pair(0, 0, match.Same), pair(1, match.None, match.LeftOut), pair(2, 1, match.Same), pair(3, 2, match.Same)},
			tally{0, 3}, tally{}, tally{1, 1}, tally{2, 3}},
		{"left-out note not found", answer{variant: leftOut, fault: 0, of: []int{1, 2, 3}},
			[]match.Pair{pair(0, match.None, match.Unclear), pair(1, 0, match.Same), pair(2, 1, match.Same), pair(3, 2, match.LeftOut)},
			tally{1, 3}, tally{}, tally{0, 1}, tally{2, 3}},
	} {
		var got roundCount
		countNotes(&got, p, c.a, hear(p, heard, c.pairs))
		if got.blame != c.blame || got.wrong.same != c.missed || got.omission != c.omission || got.right.same != c.same {
			t.Errorf("%s: blame %v missed %v omission %v same %v, want %v %v %v %v", c.name,
				got.blame, got.wrong.same, got.omission, got.right.same, c.blame, c.missed, c.omission, c.same)
		}
	}
}

func TestNotesHeardWithoutALabelCanBeBlameToo(t *testing.T) {
	p := melody(60, 62)
	r := hear(p, []int{60, 62}, nil)
	r.Phrase = append(r.Phrase, match.Sung{Onset: 5, Offset: 5.2, Semitone: 70})
	r.Alignment.Pairs = []match.Pair{{Sung: 0, Played: 0, Verdict: match.Same}, {Sung: 1, Played: 1, Verdict: match.Same}, {Sung: 2, Played: match.None, Verdict: match.LeftOut}}
	var got roundCount
	countNotes(&got, p, answer{variant: faultless, fault: -1, of: []int{0, 1}}, r)
	if want := (tally{1, 2}); got.blame != want {
		t.Errorf("blame %v, want %v", got.blame, want)
	}
}

func TestTable(t *testing.T) {
	tab := table{title: "T", head: shareHead("a")}
	tab.addShare("half", tally{8, 10}, target{percent: 90, atLeast: true})
	tab.addShare("none", tally{}, target{percent: 5})
	tab.notes = []string{"A note."}
	var plain, marked strings.Builder
	tab.write(&plain, false)
	tab.write(&marked, true)
	const wantPlain = `T
a      share  95 % interval  counts         target
----------------------------------------------------------
half  80.0 %   49.0 to 94.3    8/10  at least 90 %  missed
none       -              -     0/0    at most 5 %
A note.

`
	if got := plain.String(); got != wantPlain {
		t.Errorf("plain:\n%s\nwant:\n%s", got, wantPlain)
	}
	const wantMarked = `### T

| a    |  share | 95 % interval | counts |        target |        |
|:-----|-------:|--------------:|-------:|--------------:|-------:|
| half | 80.0 % |  49.0 to 94.3 |   8/10 | at least 90 % | missed |
| none |      - |             - |    0/0 |   at most 5 % |        |

A note.

`
	if got := marked.String(); got != wantMarked {
		t.Errorf("Markdown:\n%s\nwant:\n%s", got, wantMarked)
	}
}

func TestRunWithoutDataSaysSo(t *testing.T) {
	var out strings.Builder
	if err := run(&out, settings{data: t.TempDir(), set: "kept", only: "voice"}); err != nil || !strings.HasPrefix(out.String(), "skipped: no data") {
		t.Errorf("%q, %v", out.String(), err)
	}
}

func TestRunRefusesUnknownNames(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "sightsing"), 0o755); err != nil {
		t.Fatal(err)
	}
	for _, s := range []settings{{data: dir, set: "kept", only: "voices"}, {data: dir, set: "all of it", only: "voice"}} {
		if err := run(&strings.Builder{}, s); err == nil || !strings.Contains(err.Error(), "use ") {
			t.Errorf("%+v: error %v, want one that says what to use", s, err)
		}
	}
}
