package hunt_test

import (
	"math"
	"slices"
	"testing"

	"larkhand/hunt"
	"larkhand/match"
)

// TestFind goes through hand-made answers to the phrase C D E G, sung at 0.4 s a note, unless the case has its own.
func TestFind(t *testing.T) {
	phrase := line(0.4, 60, 62, 64, 67)
	cases := []struct {
		name   string
		sung   []match.Sung
		played []match.Played
		opt    hunt.Options
		label  hunt.Label
		kinds  []hunt.Kind
		text   string // of the first evidence
	}{
		{
			name:   "faultless",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.41, .35, 62, 72}, stroke{.8, .35, 64, 70}, stroke{1.2, .4, 67, 74}),
			label:  hunt.Known,
		},
		{
			name:   "slow but even",
			played: answerOf(stroke{0, .8, 60, 70}, stroke{1, .9, 62, 72}, stroke{2.02, .9, 64, 70}, stroke{3, .9, 67, 74}),
			label:  hunt.Known,
		},
		{
			name:   "long wait before the first note",
			played: answerOf(stroke{9, .35, 60, 70}, stroke{9.4, .35, 62, 72}, stroke{9.8, .35, 64, 70}, stroke{10.2, .4, 67, 74}),
			label:  hunt.Known,
		},
		{
			name:   "one wrong key put right",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .3, 63, 70}, stroke{1.1, .35, 64, 70}, stroke{1.5, .4, 67, 74}),
			label:  hunt.Unsure, kinds: []hunt.Kind{hunt.Correction},
			text: "Before the 3rd note you first pressed a neighbouring key and corrected it 0.3 s later.",
		},
		{
			name: "two wrong keys put right",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .3, 65, 70}, stroke{1.2, .3, 61, 70},
				stroke{1.6, .35, 64, 70}, stroke{2, .4, 67, 74}),
			label: hunt.Searched, kinds: []hunt.Kind{hunt.Correction},
			text: "Before the 3rd note you first pressed 2 other keys and found the right one 0.8 s later.",
		},
		{
			// Check value "creep": 59, 60, 61, 62 towards a sung 62 is one creep of three keys, not four errors (design).
			name: "creep of three",
			sung: line(0.4, 55, 62, 64, 65),
			played: answerOf(stroke{0, .35, 55, 70}, stroke{.4, .2, 59, 70}, stroke{.62, .2, 60, 70}, stroke{.84, .2, 61, 70},
				stroke{1.06, .35, 62, 72}, stroke{1.46, .35, 64, 70}, stroke{1.86, .4, 65, 74}),
			label: hunt.Searched, kinds: []hunt.Kind{hunt.Creep},
			text: "You felt your way to the 2nd note over 3 neighbouring keys in 0.7 s.",
		},
		{
			name:   "hesitation of a second",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{1.8, .35, 64, 70}, stroke{2.2, .4, 67, 74}),
			label:  hunt.Searched, kinds: []hunt.Kind{hunt.Hesitation},
			text: "Before the 3rd note you waited 1.0 s longer than the phrase's rhythm asks for.",
		},
		{
			name: "back to the start",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 64, 70},
				stroke{2, .35, 60, 70}, stroke{2.4, .35, 62, 72}, stroke{2.8, .35, 64, 70}, stroke{3.2, .4, 67, 74}),
			label: hunt.Searched, kinds: []hunt.Kind{hunt.Restart},
			text: "From the 3rd note you went back to the 1st note and played 3 notes again.",
		},
		{
			name: "back by one note",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 64, 70}, stroke{1.5, .35, 64, 70},
				stroke{1.9, .4, 67, 74}),
			label: hunt.Searched, kinds: []hunt.Kind{hunt.Restart},
			text: "You struck the 3rd note twice, the second time 0.7 s later.",
		},
		{
			name: "soft touches",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.62, .06, 63, 22}, stroke{.8, .35, 64, 70},
				stroke{1.0, .06, 66, 22}, stroke{1.2, .4, 67, 74}),
			label: hunt.Searched, kinds: []hunt.Kind{hunt.Touch, hunt.Touch},
			text: "Before the 3rd note you softly touched a neighbouring key.",
		},
		{
			// Check value "trial and error" (thresholds measured): 61 for 180 ms, 62 at 220 ms, sung 62.
			name: "one note, corrected", sung: line(0.4, 62),
			played: answerOf(stroke{0, .18, 61, 70}, stroke{.22, .4, 62, 70}),
			label:  hunt.Unsure, kinds: []hunt.Kind{hunt.Correction},
			text: "Before the 1st note you first pressed a neighbouring key and corrected it 0.2 s later.",
		},
		{
			// Check value "ornament": 61 for 50 ms ends as 62 starts on its beat.
			name: "grace note that was not sung", sung: line(0.4, 57, 62, 64),
			played: answerOf(stroke{0, .35, 57, 70}, stroke{.35, .05, 61, 70}, stroke{.4, .35, 62, 70}, stroke{.8, .35, 64, 70}),
			label:  hunt.Known,
		},
		{
			name: "grace note that was sung",
			sung: []match.Sung{
				{Onset: 1, Semitone: 57, Pitch: 57}, {Onset: 1.33, Semitone: 61, Pitch: 61},
				{Onset: 1.4, Semitone: 62, Pitch: 62}, {Onset: 1.8, Semitone: 64, Pitch: 64},
			},
			played: answerOf(stroke{0, .3, 57, 70}, stroke{.34, .06, 61, 60}, stroke{.41, .35, 62, 70}, stroke{.8, .35, 64, 70}),
			label:  hunt.Known,
		},
		{
			// Check value "substitution": a wrong key that is kept is no correction (Paas et al. 2021, SCAN 16:512).
			name:   "wrong key kept",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 65, 70}, stroke{1.2, .4, 67, 74}),
			label:  hunt.Known,
		},
		{
			name:   "one note left out",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{1.2, .4, 67, 74}),
			label:  hunt.Known,
		},
		{
			// Check value "chord spread": onsets at 0, 12, 28 ms are one chord (Goebl 2001; Hove, Keller, Krumhansl 2007).
			name: "chord under the last note",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 64, 70}, stroke{1.2, .4, 67, 74},
				stroke{1.212, .4, 60, 60}, stroke{1.228, .4, 64, 60}),
			label: hunt.Known,
		},
		{
			name: "second voice held under the target",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.6, .8, 55, 60}, stroke{.8, .35, 64, 70},
				stroke{1.2, .4, 67, 74}),
			label: hunt.Known,
		},
		{
			name:   "legato overlap",
			played: answerOf(stroke{0, .55, 60, 70}, stroke{.4, .6, 62, 72}, stroke{.8, .6, 64, 70}, stroke{1.2, .4, 67, 74}),
			label:  hunt.Known,
		},
		{
			name: "brushed neighbour key",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 64, 70}, stroke{.83, .05, 65, 50},
				stroke{1.2, .4, 67, 74}),
			label: hunt.Known,
		},
		{
			name: "double strike, flow kept",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .08, 62, 72}, stroke{.5, .25, 62, 60}, stroke{.8, .35, 64, 70},
				stroke{1.2, .4, 67, 74}),
			label: hunt.Known,
		},
		{
			// Check value "converter ghost" (from memory): 76 at velocity 12 for 25 ms while 64 sounds at velocity 90.
			name: "converter ghost", opt: hunt.Options{Guitar: true},
			played: answerOf(stroke{0, .35, 60, 90}, stroke{.4, .35, 62, 90}, stroke{.8, .35, 64, 90}, stroke{1, .025, 76, 12},
				stroke{1.2, .4, 67, 90}),
			label: hunt.Known,
		},
		{
			name: "note that the voice tracker lost", sung: append(line(0.4, 60, 62), line(0.4, 0, 0, 0, 67)[3:]...),
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 64, 70}, stroke{1.2, .4, 67, 74}),
			label:  hunt.Known,
		},
		{
			name: "finger laid in a long rest", sung: append(line(0.4, 60, 62), line(0.4, 0, 0, 0, 0, 0, 67)[5:]...),
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{1.2, .3, 62, 12}, stroke{2, .4, 67, 74}),
			label:  hunt.Known,
		},
		{
			name: "the phrase a second time",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 64, 70}, stroke{1.2, .4, 67, 74},
				stroke{2.4, .35, 60, 70}, stroke{2.8, .35, 62, 72}, stroke{3.2, .35, 64, 70}, stroke{3.6, .4, 67, 74}),
			label: hunt.Known,
		},
		{
			name: "more keys after the phrase",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 64, 70}, stroke{1.2, .4, 67, 74},
				stroke{2.4, .35, 65, 70}, stroke{2.8, .35, 62, 72}, stroke{3.2, .35, 59, 70}),
			label: hunt.Known,
		},
		{
			name: "long note held freely", sung: append(line(0.4, 60, 62), line(0.4, 0, 0, 0, 0, 0, 0, 64, 67)[6:]...),
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, 3, 62, 72}, stroke{3.9, .35, 64, 70}, stroke{4.3, .4, 67, 74}),
			label:  hunt.Known,
		},
		{
			name: "slip on the previous key",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.36, .05, 60, 50}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 64, 70},
				stroke{1.2, .4, 67, 74}),
			label: hunt.Known,
		},
		{
			name: "rolled chord with the previous key in it",
			played: answerOf(stroke{0, .3, 60, 70}, stroke{.4, .3, 62, 72}, stroke{.8, .3, 64, 70}, stroke{1.1, .2, 59, 60},
				stroke{1.15, .2, 64, 60}, stroke{1.2, .1, 67, 74}),
			label: hunt.Known,
		},
		{
			name: "embellished in the flow",
			sung: line(0.4, 60, 62, 64, 65, 67, 69, 71, 72),
			played: answerOf(stroke{0, .15, 60, 70}, stroke{.2, .15, 59, 70}, stroke{.4, .15, 62, 70}, stroke{.6, .15, 66, 70},
				stroke{.8, .15, 64, 70}, stroke{1, .15, 61, 70}, stroke{1.2, .15, 65, 70}, stroke{1.4, .15, 70, 70},
				stroke{1.6, .15, 67, 70}, stroke{1.8, .15, 63, 70}, stroke{2, .15, 69, 70}, stroke{2.2, .15, 66, 70},
				stroke{2.4, .15, 71, 70}, stroke{2.6, .15, 76, 70}, stroke{2.8, .15, 72, 70}),
			label: hunt.Known,
		},
		{
			name: "swung where even was sung", sung: line(0.5, 60, 62, 64, 65, 67, 69, 71, 72),
			played: answerOf(stroke{0, .3, 60, 70}, stroke{1, .3, 62, 70}, stroke{1.5, .3, 64, 70}, stroke{2.5, .3, 65, 70},
				stroke{3, .3, 67, 70}, stroke{4, .3, 69, 70}, stroke{4.5, .3, 71, 70}, stroke{5.5, .3, 72, 70}),
			label: hunt.Known,
		},
		{
			name:   "first two notes pressed together",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.01, .35, 62, 72}, stroke{.4, .35, 64, 70}, stroke{.8, .4, 67, 74}),
			label:  hunt.Known,
		},
		{
			name: "try beside an unclear sung note", sung: unclear(line(0.4, 60, 62, 64, 67), 2),
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .3, 63, 70}, stroke{1.2, .35, 64, 70},
				stroke{1.6, .4, 67, 74}),
			label: hunt.Known,
		},
		{
			name: "try beside an unclear sung note that was not answered", sung: unclear(line(0.2, 60, 62, 63, 67), 2),
			played: answerOf(stroke{0, .15, 60, 70}, stroke{.2, .15, 62, 72}, stroke{.7, .3, 59, 70}, stroke{1.1, .4, 67, 74}),
			label:  hunt.Known,
		},
		{
			name: "repeated note that the tracker merged", sung: append(line(0.4, 60, 62), line(0.4, 0, 0, 0, 67, 65, 64)[3:]...),
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 62, 70}, stroke{1.2, .35, 67, 74},
				stroke{1.6, .35, 65, 70}, stroke{2, .35, 64, 70}),
			label: hunt.Known,
		},
		{
			name: "first sung note lost by the tracker", sung: line(0.4, 62, 64, 67),
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 64, 70}, stroke{1.2, .4, 67, 74}),
			label:  hunt.Known,
		},
		{
			name: "the phrase a second time, with a slip in the first",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.43, .05, 61, 50}, stroke{.8, .35, 64, 70},
				stroke{1.2, .4, 67, 74}, stroke{2.4, .35, 60, 70}, stroke{2.8, .35, 62, 72}, stroke{3.2, .35, 64, 70},
				stroke{3.6, .4, 67, 74}),
			label: hunt.Known,
		},
		{
			name:   "nothing played",
			played: nil,
			label:  hunt.Unsure,
		},
		{
			name: "restart from the top after three notes of a long phrase", sung: line(0.4, 60, 62, 64, 67, 65, 64),
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{1.8, .35, 60, 70}, stroke{2.2, .35, 62, 70},
				stroke{2.6, .35, 64, 70}, stroke{3, .35, 67, 70}, stroke{3.4, .35, 65, 70}, stroke{3.8, .35, 64, 70}),
			label: hunt.Searched, kinds: []hunt.Kind{hunt.Restart},
			text: "From the 2nd note you went back to the 1st note and played 2 notes again.",
		},
		{
			name: "wait, then a wrong key put right",
			played: answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{1.9, .3, 63, 70}, stroke{2.3, .35, 64, 70},
				stroke{2.7, .4, 67, 74}),
			label: hunt.Searched, kinds: []hunt.Kind{hunt.Hesitation, hunt.Correction},
			text: "Before the 3rd note you waited 1.1 s longer than the phrase's rhythm asks for.",
		},
	}
	aligners := map[string]func([]match.Sung, []match.Played) match.Alignment{
		"probable": match.Align,
		"plain":    func(s []match.Sung, p []match.Played) match.Alignment { return byEditDistance(s, p, 0) },
	}
	for _, c := range cases {
		for name, align := range aligners {
			t.Run(c.name+"/"+name, func(t *testing.T) {
				sung := c.sung
				if sung == nil {
					sung = phrase
				}
				f := hunt.Find(sung, c.played, align(sung, c.played), c.opt)
				var kinds []hunt.Kind
				for _, e := range f.Evidence {
					kinds = append(kinds, e.Kind)
				}
				if f.Label != c.label || !slices.Equal(kinds, c.kinds) {
					t.Fatalf("label %s (p %.3f), kinds %v, want %s, %v: %+v", f.Label, f.Searched, kinds, c.label, c.kinds, f.Evidence)
				}
				if c.text != "" && f.Evidence[0].Text != c.text {
					t.Errorf("text %q, want %q", f.Evidence[0].Text, c.text)
				}
			})
		}
	}
}

// TestTerms holds the probability to the model, worked out by hand.
func TestTerms(t *testing.T) {
	phrase := line(0.4, 60, 62, 64, 67)
	cases := []struct {
		name    string
		sung    []match.Sung
		played  []match.Played
		logOdds float64
	}{
		{
			// Check value "chord spread", second half: onsets 120 ms apart are a sequence. Tempo 1.32/1.2 = 1.1, late 80 ms:
			// (120-70)/80 x [0.2 + 0.8 (80-50)/100] = 0.275 of a probe.
			"wrong key 120 ms before the right one", phrase,
			answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .1, 63, 70}, stroke{.92, .35, 64, 70}, stroke{1.32, .4, 67, 74}),
			-2 + 3*0.275,
		},
		{
			// Three keys, each far from the right ones; late 660 ms, excess 660 - 160 = 500: 1 + 220/720 of a hesitation.
			"creep of three", line(0.4, 55, 62, 64, 65),
			answerOf(stroke{0, .35, 55, 70}, stroke{.4, .2, 59, 70}, stroke{.62, .2, 60, 70}, stroke{.84, .2, 61, 70},
				stroke{1.06, .35, 62, 72}, stroke{1.46, .35, 64, 70}, stroke{1.86, .4, 65, 74}),
			-2 + 1.75*3 + 3*(1+0.22/0.72),
		},
		{
			// Late 1 s, excess 1 - 0.16 = 0.84.
			"hesitation of a second", phrase,
			answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{1.8, .35, 64, 70}, stroke{2.2, .4, 67, 74}),
			-2 + 3*(1+0.56/0.72),
		},
		{
			"two touches", phrase,
			answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.62, .06, 63, 22}, stroke{.8, .35, 64, 70},
				stroke{1.0, .06, 66, 22}, stroke{1.2, .4, 67, 74}),
			-2 + 3.45*2,
		},
		{
			// The note before the stop once more: 700 ms apart, 700 ms late, excess 700 - 160 = 540.
			"one note struck again", phrase,
			answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 64, 70}, stroke{1.5, .35, 64, 70},
				stroke{1.9, .4, 67, 74}),
			-2 + 3.4 + 3*(1+0.26/0.72),
		},
		{
			// The first key once more after 1 s: 0.4 s of that could be a note that was lost, and 0.16 s fluent; 0.58 count from
			// where a hesitation begins, with its 0.14 s.
			"first note struck again late", phrase,
			answerOf(stroke{0, .35, 60, 70}, stroke{1, .35, 60, 70}, stroke{1.4, .35, 62, 72}, stroke{1.8, .35, 64, 70}, stroke{2.2, .4, 67, 74}),
			-2 + 3.4 + 3*(1+0.3/0.72),
		},
		{
			// The same after 0.5 s, less than 1.3 notes of the phrase.
			"first note struck again soon", phrase,
			answerOf(stroke{0, .35, 60, 70}, stroke{.5, .35, 60, 70}, stroke{.9, .35, 62, 72}, stroke{1.3, .35, 64, 70}, stroke{1.7, .4, 67, 74}),
			-2 + 3.4*0.8,
		},
		{
			// 110 ms before the next note: a touch counts wholly from 100 ms on.
			"one touch", phrase,
			answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.69, .06, 63, 22}, stroke{.8, .35, 64, 70}, stroke{1.2, .4, 67, 74}),
			-2 + 3.45,
		},
		{
			// Three keys after the phrase would be 3 x 0.2; such notes together count at most 0.4.
			"three keys after the phrase", phrase,
			answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .35, 64, 70}, stroke{1.2, .4, 67, 74},
				stroke{2.4, .35, 65, 70}, stroke{2.8, .35, 62, 72}, stroke{3.2, .35, 59, 70}),
			-2 + 3*0.4,
		},
		{
			// Five wrong keys, of which three count; late 2 s and more counts twice.
			"five wrong keys", phrase,
			answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .3, 70, 70}, stroke{1.2, .3, 59, 70}, stroke{1.6, .3, 68, 70},
				stroke{2, .3, 57, 70}, stroke{2.4, .3, 71, 70}, stroke{2.8, .35, 64, 70}, stroke{3.2, .4, 67, 74}),
			-2 + 3*3 + 3*2,
		},
	}
	for _, c := range cases {
		f := find(c.sung, c.played)
		if got := math.Log(f.Searched / (1 - f.Searched)); math.Abs(got-c.logOdds) > 1e-6 {
			t.Errorf("%s: log-odds %.4f, want %.4f: %+v", c.name, got, c.logOdds, f.Evidence)
		}
	}
}

// TestFindLogOdds holds the probability to the model's arithmetic: base -2, and 3 for one wrong key that made the next
// right note more than 150 ms late (lateness 300 ms over an expected 400 ms is no hesitation: 300 - 160 = 140).
func TestFindLogOdds(t *testing.T) {
	sung := line(0.4, 60, 62, 64, 67)
	played := answerOf(stroke{0, .35, 60, 70}, stroke{.4, .35, 62, 72}, stroke{.8, .3, 63, 70}, stroke{1.1, .35, 64, 70}, stroke{1.5, .4, 67, 74})
	f := find(sung, played)
	if want := 1 / (1 + math.Exp(-1)); math.Abs(f.Searched-want) > 1e-9 {
		t.Errorf("p %v, want %v", f.Searched, want)
	}
	e := f.Evidence[0]
	if !slices.Equal(e.Sung, []int{2}) || !slices.Equal(e.Played, []int{2, 3}) || e.Onset != 0.8 || e.Offset != 1.1 {
		t.Errorf("evidence %+v, want sung 2, played 2 and 3, 0.8 to 1.1 s", e)
	}
	prior := hunt.Find(sung, played, byEditDistance(sung, played, 0), hunt.Options{PriorLogOdds: 1})
	if want := 1 / (1 + math.Exp(-2)); math.Abs(prior.Searched-want) > 1e-9 {
		t.Errorf("with a prior of 1: p %v, want %v", prior.Searched, want)
	}
}
