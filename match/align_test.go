package match

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// beat is the time from note to note in the hand-made lists, s.
const beat = 0.5

// voice makes clear sung notes of the given pitches, one a beat.
func voice(pitches ...int) []Sung {
	var notes []Sung
	for i, p := range pitches {
		on := float64(i) * beat
		notes = append(notes, Sung{
			Onset: on, Offset: on + 0.9*beat, Pitch: float64(p), Semitone: p,
			Chance: [3]float64{0.01, 0.98, 0.01}, Confidence: 0.95,
		})
	}
	return notes
}

// hand makes played notes of the given pitches, one a beat.
func hand(pitches ...float64) []Played {
	var notes []Played
	for i, p := range pitches {
		on := float64(i) * beat
		notes = append(notes, Played{Onset: on, Offset: on + 0.8*beat, Pitch: p, Velocity: 70})
	}
	return notes
}

// at moves the onsets of notes to the given times.
func at(notes []Played, onsets ...float64) []Played {
	for i := range notes {
		length := notes[i].Offset - notes[i].Onset
		notes[i].Onset, notes[i].Offset = onsets[i], onsets[i]+length
	}
	return notes
}

// with changes one note of a list.
func with(notes []Sung, i int, change func(*Sung)) []Sung {
	change(&notes[i])
	return notes
}

func unclearNote(s *Sung) { s.Unclear = true }

// show writes pairs as "0=0 1/1 2- +2 3?3": = same, / different, ? unclear, - left out, + added.
func show(pairs []Pair) string {
	var words []string
	for _, p := range pairs {
		switch {
		case p.Verdict == Added:
			words = append(words, fmt.Sprintf("+%d", p.Played))
		case p.Played == None:
			words = append(words, fmt.Sprintf("%d%s", p.Sung, map[Verdict]string{LeftOut: "-", Unclear: "?"}[p.Verdict]))
		default:
			words = append(words, fmt.Sprintf("%d%s%d", p.Sung, map[Verdict]string{Same: "=", Different: "/", Unclear: "?"}[p.Verdict], p.Played))
		}
	}
	return strings.Join(words, " ")
}

var cases = []struct {
	name    string
	sung    []Sung
	played  []Played
	octaves int
	shift   int // transposition
	want    string
}{
	{"as sung", voice(60, 62, 63, 67), hand(60, 62, 63, 67), 0, 0, "0=0 1=1 2=2 3=3"},
	{"two octaves up", voice(48, 50, 51, 55), hand(72, 74, 75, 79), 2, 0, "0=0 1=1 2=2 3=3"},
	{"an octave down", voice(72, 74, 75, 79), hand(60, 62, 63, 67), -1, 0, "0=0 1=1 2=2 3=3"},
	{"a whole step high", voice(60, 62, 63, 67), hand(74, 76, 77, 81), 1, 2, "0=0 1=1 2=2 3=3"},
	{"wrong note in the middle", voice(60, 62, 63, 67), hand(60, 62, 64, 67), 0, 0, "0=0 1=1 2/2 3=3"},
	{"one wrong note, octave up", voice(60), hand(74), 1, 0, "0/0"},
	{"two notes, both a step high", voice(60, 64), hand(62, 66), 0, 0, "0/0 1/1"},
	{"three notes, one wrong", voice(60, 62, 64), hand(60, 62, 66), 0, 0, "0=0 1=1 2/2"},
	{"left out", voice(60, 62, 63, 67), hand(60, 62, 67), 0, 0, "0=0 1=1 2- 3=2"},
	{"added at the end", voice(60, 62, 63), hand(60, 62, 63, 65), 0, 0, "0=0 1=1 2=2 +3"},
	{"wrong then right", voice(60, 62, 63), hand(60, 61, 62, 63), 0, 0, "0=0 +1 1=2 2=3"},
	{"replay of the last two notes, later wins", voice(60, 62, 64, 65, 67), hand(60, 62, 64, 62, 64, 65, 67), 0, 0,
		"0=0 +1 +2 1=3 2=4 3=5 4=6"},
	{"restart from the top, later wins", voice(60, 62, 63, 67), hand(60, 62, 60, 62, 63, 67), 0, 0, "+0 +1 0=2 1=3 2=4 3=5"},
	{"the phrase twice: the first complete run wins", voice(60, 62, 63), hand(60, 62, 63, 60, 62, 63), 0, 0, "0=0 1=1 2=2 +3 +4 +5"},
	{"a faulty run, then the phrase twice", voice(60, 62, 63), hand(60, 62, 64, 60, 62, 63, 60, 62, 63), 0, 0,
		"+0 +1 +2 0=3 1=4 2=5 +6 +7 +8"},
	{"key again in passing: the one on time is the answer", voice(60, 62, 63),
		at(hand(60, 62, 62, 63), 0, 0.5, 0.6, 1.0), 0, 0, "0=0 1=1 +2 2=3"},
	{"key again, flow kept after the second", voice(60, 62, 63),
		at(hand(60, 62, 62, 63), 0, 0.2, 0.5, 1.0), 0, 0, "0=0 +1 1=2 2=3"},
	{"one of two equal notes left out: the held one is the first", voice(60, 62, 62, 63),
		at(hand(60, 62, 63), 0, 0.5, 1.5), 0, 0, "0=0 1=1 2- 3=2"},
	{"chord: the right note answers", voice(60, 62, 64), at(hand(60, 59, 62, 66, 64), 0, 0.5, 0.512, 0.528, 1), 0, 0,
		"0=0 +1 1=2 +3 2=4"},
	{"chord instead of a melody answers one note, the later", voice(60, 64, 67), at(hand(60, 64, 67), 0, 0.012, 0.028), 0, 0,
		"0- 1- +0 +1 2=2"},
	{"the same notes 120 ms apart are a melody", voice(60, 64, 67), at(hand(60, 64, 67), 0, 0.12, 0.24), 0, 0,
		"0=0 1=1 2=2"},
	{"unclear, likeliest pitch played", with(voice(60, 62, 64), 1, unclearNote), hand(60, 62, 64), 0, 0, "0=0 1=1 2=2"},
	{"unclear, another pitch played", with(voice(60, 62, 64), 1, unclearNote), hand(60, 65, 64), 0, 0, "0=0 1?1 2=2"},
	{"unclear, nothing played", with(voice(60, 62, 64), 1, unclearNote), hand(60, 64), 0, 0, "0=0 1? 2=1"},
	{"between two pitches, the less likely played",
		with(voice(60, 62, 64), 1, func(s *Sung) { s.Chance, s.Confidence = [3]float64{0.12, 0.86, 0.02}, 0.86 }),
		hand(60, 61, 64), 0, 0, "0=0 1?1 2=2"},
	{"an octave off within the phrase may be the tracker", voice(60, 62, 64, 65), hand(60, 62, 76, 65), 0, 0, "0=0 1=1 2?2 3=3"},
	{"merged repeat: the second is added, the rest stays", voice(60, 62, 64), at(hand(60, 62, 62, 64), 0, 0.5, 0.75, 1), 0, 0,
		"0=0 1=1 +2 2=3"},
	{"split note: the half without answer is unclear",
		with(voice(60, 62, 62, 64), 2, func(s *Sung) { s.Confidence = 0.7 }), at(hand(60, 62, 64), 0, 0.5, 1.5), 0, 0,
		"0=0 1=1 2? 3=2"},
	{"split note without a break: the half without answer is unclear even where the voice is fairly sure",
		with(voice(60, 62, 62, 64), 1, func(s *Sung) { s.Offset = 2 * beat }), at(hand(60, 62, 64), 0, 0.5, 1.5), 0, 0,
		"0=0 1=1 2? 3=2"},
	{"scoop taken for a note", with(voice(60, 61, 62), 1, func(s *Sung) { s.Offset = s.Onset + 0.07 }), hand(60, 62), 0, 0,
		"0=0 1? 2=1"},
	{"longer scoop, doubtful", with(voice(60, 61, 62), 1, func(s *Sung) { s.Onset, s.Offset, s.Confidence = 0.86, 1, 0.8 }), hand(60, 62), 0, 0,
		"0=0 1? 2=1"},
	{"short passing note, sure, left out", with(voice(60, 61, 62), 1, func(s *Sung) { s.Onset, s.Offset = 0.86, 1 }), hand(60, 62), 0, 0,
		"0=0 1- 2=1"},
	{"creep of three keys to the wanted one", voice(60, 57, 62), at(hand(60, 57, 59, 60, 61, 62), 0, 0.5, 0.7, 0.9, 1.1, 1.3), 0, 0,
		"0=0 1=1 +2 +3 +4 2=5"},
	{"creep to the only note", voice(62), at(hand(59, 60, 61, 62), 0, 0.2, 0.4, 0.6), 0, 0, "+0 +1 +2 0=3"},
	{"substitution: wrong note alone, then on", voice(62, 65, 67), hand(62, 66, 67), 0, 0, "0=0 1/1 2=2"},
	{"addition: wrong, then right", voice(62), at(hand(61, 62), 0, 0.22), 0, 0, "+0 0=1"},
	{"no answer", with(voice(60, 62), 1, unclearNote), nil, 0, 0, "0- 1?"},
	{"no phrase", nil, hand(60, 62), 0, 0, "+0 +1"},
	{"nothing", nil, nil, 0, 0, ""},
	{"the last three a semitone off: hand or reference", voice(60, 62, 64, 65, 68, 67, 65), hand(60, 62, 64, 65, 67, 66, 64), 0, 0,
		"0=0 1=1 2=2 3=3 4?4 5?5 6?6"},
	{"the last two a semitone off", voice(60, 62, 64, 65, 68, 67), hand(60, 62, 64, 65, 67, 66), 0, 0, "0=0 1=1 2=2 3=3 4/4 5/5"},
	{"three in the middle a semitone off", voice(60, 62, 64, 65, 67), hand(60, 61, 63, 64, 67), 0, 0, "0=0 1/1 2/2 3/3 4=4"},
	{"bent by 30 cents", voice(60, 62, 64), hand(60, 62.3, 64), 0, 0, "0=0 1=1 2=2"},
}

func TestAlign(t *testing.T) {
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			a := Align(c.sung, c.played)
			if got := show(a.Pairs); got != c.want {
				t.Errorf("pairs %q, want %q", got, c.want)
			}
			if a.Octaves != c.octaves || a.Transposition != c.shift {
				t.Errorf("octaves %d, transposition %d; want %d, %d", a.Octaves, a.Transposition, c.octaves, c.shift)
			}
		})
	}
}

// A phrase sung 70 cents sharp gives no wrong notes, and the 70 cents are reported (rule after Pfordresher and Brown
// 2007, Music Perception 25:95: untrained singers' errors are stable shifts).
func TestSungSharp(t *testing.T) {
	sung := voice(61, 63, 64, 68, 66) // meant 60 62 63 67 65, read one too high with a tuning of -30
	played := hand(72, 74, 75, 79, 77)
	a := AlignWith(sung, played, Options{TuningCents: -30})
	if a.Transposition != 0 || a.TuningShift != -1 || a.Octaves != 1 || math.Abs(a.VoiceCents-70) > 1e-9 {
		t.Errorf("got transposition %d, tuning shift %d, octaves %d, voice %g cents; want 0, -1, 1, 70",
			a.Transposition, a.TuningShift, a.Octaves, a.VoiceCents)
	}
	if got := show(a.Pairs); got != "0=0 1=1 2=2 3=3 4=4" {
		t.Errorf("pairs %q", got)
	}
	if a := Align(sung, played); a.Transposition != -1 || show(a.Pairs) != "0=0 1=1 2=2 3=3 4=4" {
		t.Errorf("without tuning: transposition %d, pairs %q; want -1 and all the same", a.Transposition, show(a.Pairs))
	}
}

func TestTuningOrTransposition(t *testing.T) {
	for _, c := range []struct {
		name         string
		sung         []Sung
		played       []Played
		tuning       float64
		shift, voice int // transposition, tuning shift
		want         string
	}{
		{"half-way between two keys, even one note", voice(61), hand(60), -49, 0, -1, "0=0"},
		{"one note at 30 cents is one wrong note", voice(61), hand(60), -30, 0, 0, "0/0"},
		{"half-way, but the other notes are right", voice(60, 62, 64, 65), hand(60, 62, 63, 65), -49, 0, 0, "0=0 1=1 2/2 3=3"},
		{"the voice leans the other way", voice(60, 62, 63, 67), hand(59, 61, 62, 66), 30, -1, 0, "0=0 1=1 2=2 3=3"},
		{"read too low", voice(60, 62, 63, 67), hand(61, 63, 64, 68), 40, 0, 1, "0=0 1=1 2=2 3=3"},
		{"far from the keys, and yet played as read", voice(61), hand(61), 72, 0, 0, "0=0"},
		{"a whole step is never tuning", voice(60, 62, 63, 67), hand(62, 64, 65, 69), 45, 2, 0, "0=0 1=1 2=2 3=3"},
		{"not a number", voice(60, 62), hand(60, 62), math.NaN(), 0, 0, "0=0 1=1"},
	} {
		a := AlignWith(c.sung, c.played, Options{TuningCents: c.tuning})
		if got := show(a.Pairs); got != c.want || a.Transposition != c.shift || a.TuningShift != c.voice {
			t.Errorf("%s: transposition %d, tuning shift %d, pairs %q; want %d, %d, %q", c.name, a.Transposition, a.TuningShift, got, c.shift, c.voice, c.want)
		}
	}
}

func TestManyNotes(t *testing.T) {
	sung, played := longLists(mostNotes+50, false)
	played = append(played, played[:100]...) // out of order, too
	a := Align(sung, played)
	checkShape(t, sung, played, a)
	if n := verdictCount(a.Pairs)[Same]; n < mostNotes*8/10 {
		t.Errorf("only %d of %d notes the same", n, mostNotes)
	}
}
