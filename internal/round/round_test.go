package round

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"larkhand/hunt"
	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/match"
	"larkhand/midiin"
	"larkhand/voice"
)

// tune is C minor 1 3 5 4 3 2 1.
var tune = []int{48, 51, 55, 53, 51, 50, 48}

const beat, length = 0.45, 0.38 // s, of the notes of these tests

// sungTake is a clear take of the pitches, tuning cents sharp as a whole.
func sungTake(file string, tuning float64, pitches ...int) Take {
	take := Take{File: file, Voice: voice.Take{TuningCents: tuning, Clarity: 1, Frames: []voice.Frame{{Level: -20}}}}
	for i, p := range pitches {
		onset := 0.5 + beat*float64(i)
		take.Voice.Notes = append(take.Voice.Notes, voice.Note{
			Onset: onset, Offset: onset + length, Pitch: float64(p) + tuning/100, Semitone: p, Chance: [3]float64{0.01, 0.98, 0.01},
			ReferenceCents: tuning, SpreadCents: 10, Level: -20, Confidence: 0.98,
		})
		take.Voice.Duration = onset + 1
	}
	return take
}

func playedNotes(pitches ...int) []midiin.Note {
	var notes []midiin.Note
	for i, p := range pitches {
		onset := beat * float64(i)
		notes = append(notes, midiin.Note{Onset: onset, Offset: onset + length, Released: onset + length, Key: p, Pitch: float64(p), Velocity: 70})
	}
	return notes
}

func shifted(pitches []int, by int) []int {
	out := make([]int, len(pitches))
	for i, p := range pitches {
		out[i] = p + by
	}
	return out
}

func judge(t *testing.T, opt Options, answer []midiin.Note, takes ...Take) Round {
	t.Helper()
	r, err := Judge(takes, Answer{File: "answer.mid", Notes: answer}, opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func cMinor(t *testing.T) *music.Key {
	t.Helper()
	key, err := music.ParseKey("C minor")
	if err != nil {
		t.Fatal(err)
	}
	return &key
}

func verdicts(r Round) []match.Verdict {
	var out []match.Verdict
	for _, p := range r.Alignment.Pairs {
		out = append(out, p.Verdict)
	}
	return out
}

func hasRemark(r Round, part string) bool {
	return strings.Contains(strings.Join(r.Remarks, "\n"), part)
}

func TestFaultlessAnswer(t *testing.T) {
	starts := 5.0
	r := judge(t, Options{Key: cMinor(t), AnswerStarts: &starts}, playedNotes(shifted(tune, 12)...),
		sungTake("take1.wav", 0, tune...), sungTake("take2.wav", -5, tune...))
	for i, p := range r.Alignment.Pairs {
		if want := (match.Pair{Sung: i, Played: i, Verdict: match.Same}); p != want {
			t.Errorf("pair %d is %v, want %v", i, p, want)
		}
	}
	if r.Alignment.Octaves != 1 || r.Alignment.Transposition != 0 {
		t.Errorf("octaves %d, transposition %d; want 1, 0", r.Alignment.Octaves, r.Alignment.Transposition)
	}
	if r.Finding.Label != hunt.Known {
		t.Errorf("label %q, want known", r.Finding.Label)
	}
	// The last sung note ends at 0.5 + 6*0.45 + 0.38 = 3.58 s, the answer begins at 5 s.
	if r.ResponseSeconds == nil || math.Abs(*r.ResponseSeconds-1.42) > 1e-9 {
		t.Errorf("response %v, want 1.42 s", r.ResponseSeconds)
	}
	if !r.Agreement.SamePhrase || len(r.Agreement.Pairs) != len(tune) {
		t.Errorf("takes agree %v", r.Agreement)
	}
	if len(r.Remarks) > 0 {
		t.Errorf("remarks on a faultless round: %q", r.Remarks)
	}
}

func TestNoResponseTimeIsClaimed(t *testing.T) {
	r := judge(t, Options{}, playedNotes(tune...), sungTake("", 0, tune...))
	if r.ResponseSeconds != nil {
		t.Errorf("response %v s without the answer's start", *r.ResponseSeconds)
	}
	early := 2.0 // the take's last note ends at 3.58 s
	r = judge(t, Options{AnswerStarts: &early}, playedNotes(tune...), sungTake("", 0, tune...))
	if r.ResponseSeconds != nil || !hasRemark(r, "before the take is over") {
		t.Errorf("response %v, remarks %q of an answer that begins too early", r.ResponseSeconds, r.Remarks)
	}
}

func TestRemarks(t *testing.T) {
	drifting := sungTake("", 0, tune...)
	for i := range drifting.Voice.Notes {
		drifting.Voice.Notes[i].ReferenceCents = -10 * float64(i)
	}
	chords := playedNotes(tune...)
	chords = append(chords, midiin.Note{Onset: chords[6].Onset + 0.02, Offset: chords[6].Offset, Key: 55, Pitch: 55, Velocity: 70})
	brushed := playedNotes(tune...)
	brushed = append(brushed, midiin.Note{Onset: brushed[6].Onset + 0.02, Offset: brushed[6].Onset + 0.05, Key: 49, Pitch: 49, Velocity: 30})
	for name, c := range map[string]struct {
		take   Take
		answer []midiin.Note
		want   string
		absent string
	}{
		"a whole step high": {sungTake("", 0, tune...), playedNotes(shifted(tune, 2)...), "The shape is right, but the whole answer lies a whole step high", ""},
		"a fourth low":      {sungTake("", 0, tune...), playedNotes(shifted(tune, -5)...), "the whole answer lies a fourth low", ""},
		// 70 cents sharp reads as a semitone too high and 30 cents flat.
		"70 cents sharp":   {sungTake("", -30, shifted(tune, 1)...), playedNotes(tune...), "sung 70 cents sharp", "the whole answer lies"},
		"45 cents flat":    {sungTake("", -45, tune...), playedNotes(tune...), "sung 45 cents flat", ""},
		"sinking voice":    {drifting, playedNotes(tune...), "the voice sank by 60 cents", ""},
		"chord at the end": {sungTake("", 0, tune...), chords, "has a chord (C3 G3 at 2.7 s)", ""},
		"brushed key":      {sungTake("", 0, tune...), brushed, "", "chord"},
		"guessed key":      {sungTake("", 0, tune...), playedNotes(tune...), "The key, C minor, was guessed", ""},
		"as sung":          {sungTake("", 0, tune...), playedNotes(tune...), "", "the whole answer"},
	} {
		t.Run(name, func(t *testing.T) {
			r := judge(t, Options{}, c.answer, c.take)
			if !hasRemark(r, c.want) {
				t.Errorf("no remark with %q in %q", c.want, r.Remarks)
			}
			if c.absent != "" && hasRemark(r, c.absent) {
				t.Errorf("a remark with %q in %q", c.absent, r.Remarks)
			}
		})
	}
}

func TestTakeOneSettles(t *testing.T) {
	first, second := sungTake("1.wav", 0, tune...), sungTake("2.wav", 0, tune...)
	n := &second.Voice.Notes[3]
	n.Chance, n.Unclear, n.Confidence = [3]float64{0.02, 0.55, 0.43}, true, 0.6
	r := judge(t, Options{Key: cMinor(t)}, playedNotes(tune...), first, second)
	if !reflect.DeepEqual(r.Settled, []int{3}) || !hasRemark(r, "Take 1 settled note 4 (F3)") {
		t.Errorf("settled %v, remarks %q", r.Settled, r.Remarks)
	}
	if got := r.Alignment.Pairs[3].Verdict; got != match.Same {
		t.Errorf("the settled note is %q, want same", got)
	}
	alone := judge(t, Options{Key: cMinor(t)}, playedNotes(tune...), second)
	if alone.Settled != nil {
		t.Errorf("settled %v without take 1", alone.Settled)
	}
}

func TestChangeBetweenTakes(t *testing.T) {
	first, second := sungTake("", 0, tune...), sungTake("", 0, tune...)
	for i := range tune {
		first.Voice.Notes[i].CentreCents, first.Voice.Notes[i].SpreadCents = 20, 18
		second.Voice.Notes[i].CentreCents, second.Voice.Notes[i].SpreadCents = -12, 21
	}
	r := judge(t, Options{}, playedNotes(tune...), first, second)
	if c, s := r.Agreement.CentreChangeCents, r.Agreement.SpreadChangeCents; c != -8 || s != 3 {
		t.Errorf("centre changed by %v, spread by %v cents; want -8 and 3", c, s)
	}
}

func TestRefused(t *testing.T) {
	good := sungTake("good.wav", 0, tune...)
	silent := Take{File: "s.wav", Voice: voice.Take{Duration: 2, Frames: []voice.Frame{{Level: -90}}}}
	short := Take{File: "s.wav", Voice: voice.Take{Duration: 0.1, Frames: []voice.Frame{{Level: -20}}}, Remarks: []string{"s.wav: cut short."}}
	song := sungTake("s.wav", 0, tune...)
	song.Voice.Clarity = 0.3
	noise := Take{File: "s.wav", Voice: voice.Take{Duration: 2, Frames: []voice.Frame{{Level: -20}}}}
	answer := playedNotes(tune...)
	for name, c := range map[string]struct {
		takes  []Take
		answer []midiin.Note
		want   string
	}{
		"no take":        {nil, answer, "one or two takes, not 0"},
		"three takes":    {[]Take{good, good, good}, answer, "one or two takes, not 3"},
		"silent":         {[]Take{silent}, answer, "s.wav is silent"},
		"first is bad":   {[]Take{silent, good}, answer, "s.wav is silent"},
		"too short":      {[]Take{short}, answer, "too short (0.10 s) to hold a phrase: record from before the first note until after the last (cut short)"},
		"a song":         {[]Take{song}, answer, "does not sound like one voice alone"},
		"noise":          {[]Take{noise}, answer, "no singing that can be told from noise"},
		"unnamed":        {[]Take{good, {Voice: silent.Voice}}, answer, "take 2 is silent"},
		"empty MIDI":     {[]Take{WrittenTake("p.mid", nil)}, answer, "p.mid holds no notes"},
		"nothing played": {[]Take{good}, nil, "a.mid holds no played notes"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Judge(c.takes, Answer{File: "a.mid", Notes: c.answer}, Options{})
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
		})
	}
}

func TestWrittenTake(t *testing.T) {
	notes := playedNotes(60, 64)
	notes[1].Pitch = 64.4 // bent by 40 cents
	take := WrittenTake("p.mid", notes)
	got := take.Voice.Notes[1]
	if got.Semitone != 64 || math.Abs(got.CentreCents-40) > 1e-9 || got.Confidence != 1 || got.Chance != [3]float64{0, 1, 0} {
		t.Errorf("bent note is %+v", got)
	}
	r := judge(t, Options{}, playedNotes(60, 64), take)
	if want := []match.Verdict{match.Same, match.Same}; !reflect.DeepEqual(verdicts(r), want) {
		t.Errorf("verdicts %v, want %v", verdicts(r), want)
	}
	if hasRemark(r, "sharp") {
		t.Errorf("a written take is told off: %q", r.Remarks)
	}
}

func TestChordsOfTheLoop(t *testing.T) {
	chart, err := music.ParseChart("Cm7 | Fm7 | G7b9 | Cm7")
	if err != nil {
		t.Fatal(err)
	}
	l, err := loop.New(chart, 120, 0.1) // bars of 2 s: Fm7 from 2.1 s on
	if err != nil {
		t.Fatal(err)
	}
	starts := 4.0 // the answer's first note at 4.0 s still has Fm7, the second at 4.45 s has G7b9
	r := judge(t, Options{Key: cMinor(t), Loop: &l, AnswerStarts: &starts}, playedNotes(tune...), sungTake("", 0, tune...))
	for i, want := range []string{"Cm7 1", "Cm7 b3", "Cm7 5", "Cm7 11", "Fm7 b7"} {
		if symbol, degree := r.SungChord(0, i); symbol+" "+degree != want {
			t.Errorf("sung note %d: %s %s, want %s", i, symbol, degree, want)
		}
	}
	for i, want := range []string{"Fm7 5", "G7b9 b13"} {
		if symbol, degree := r.PlayedChord(i); symbol+" "+degree != want {
			t.Errorf("played note %d: %s %s, want %s", i, symbol, degree, want)
		}
	}
	r.AnswerStarts = nil
	if symbol, _ := r.PlayedChord(0); symbol != "" {
		t.Errorf("a chord %q for an answer whose start is not known", symbol)
	}
}

func TestSoundRemarks(t *testing.T) {
	quiet := sungTake("", 0, tune...).Voice
	for i := range quiet.Notes {
		quiet.Notes[i].Level = -58
	}
	noisy := sungTake("", 0, tune...).Voice
	noisy.Frames = nil
	for i := range 400 {
		noisy.Frames = append(noisy.Frames, voice.Frame{Time: float64(i) * 0.01, Level: -30}) // 10 dB under the notes
	}
	mixed := sungTake("", 0, tune...).Voice
	mixed.Clarity = 0.8
	for want, take := range map[string]voice.Take{
		"very quiet (-58 dBFS)": quiet, "only 10 dB softer than the voice": noisy, "Something else sounds with the voice": mixed,
	} {
		if got := soundRemarks(take); len(got) != 1 || !strings.Contains(got[0], want) {
			t.Errorf("remarks %q, want one with %q", got, want)
		}
	}
	if got := soundRemarks(sungTake("", 0, tune...).Voice); got != nil {
		t.Errorf("remarks on a good take: %q", got)
	}
}
