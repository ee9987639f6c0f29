package practice

import (
	"math"
	"slices"
	"testing"

	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/match"
	"larkhand/voice"
)

// playing is a speaker by which things are heard again.
type playing struct {
	speaker
	played [][]float32
	rates  []int
	hushed int
}

func newPlaying() *playing { return &playing{speaker: speaker{statuses: make(chan Status)}} }

func (p *playing) Play(samples []float32, rate int, _ float64) {
	p.played, p.rates = append(p.played, samples), append(p.rates, rate)
}
func (p *playing) Hush() { p.hushed++ }

// atNumbers is an engine without a loop at the end of two takes of a tone, where numbers are to be written; until lets silence pass up to a time.
func atNumbers(t *testing.T, speaker Speaker) (e *engine, until func(float64)) {
	t.Helper()
	const rate = 16000
	key, err := music.ParseKey("D minor")
	if err != nil {
		t.Fatal(err)
	}
	e = drive(t, Config{Setup: round.Setup{Timing: round.NoLoop, Key: &key, Steps: true}, Start: true, Speaker: speaker}, rate, []string{"m"}, []string{"p"})
	at := 0.0
	give := func(samples []float32) {
		for len(samples) > 0 {
			n := min(len(samples), rate/100)
			e.block(0, Block{Time: at, Samples: samples[:n]})
			samples = samples[n:]
			at += float64(n) / rate
		}
	}
	until = func(t float64) {
		for at < t {
			give(make([]float32, rate/100))
		}
	}
	sung := sungTone(rate)
	give(slices.Concat(sung, make([]float32, 3*rate), sung, make([]float32, 3*rate)))
	if e.part != round.PartNumbers {
		t.Fatalf("in %s", e.part)
	}
	return e, until
}

// sungTone is a voice-like tone of one second, soft, with silence around it.
func sungTone(rate int) []float32 {
	return slices.Concat(make([]float32, rate/2), tone(1, 220, -40, rate), make([]float32, rate/2))
}

// heedUnderstood lets the engine take the reports up to the one of something understood.
func heedUnderstood(e *engine) {
	for {
		r := <-e.reports
		e.heed(r)
		if _, ok := r.(understood); ok {
			return
		}
	}
}

func hear(e *engine, a round.Action, amount int) {
	e.act(round.Event{Kind: round.Pressed, Action: a, Amount: amount})
}

// strength is how much of a frequency there is in samples: the amplitude of a sine.
func strength(samples []float32, hz float64, rate int) float64 {
	var re, im float64
	for i, x := range samples {
		at := 2 * math.Pi * hz * float64(i) / float64(rate)
		re, im = re+float64(x)*math.Cos(at), im+float64(x)*math.Sin(at)
	}
	return 2 * math.Hypot(re, im) / float64(len(samples))
}

func peak(samples []float32) (top float64) {
	for _, x := range samples {
		top = math.Max(top, math.Abs(float64(x)))
	}
	return top
}

// A take is heard as it was recorded, raised to the loop's peak, and its length is known to the machine.
func TestTakeIsHeardAgain(t *testing.T) {
	p := newPlaying()
	e, until := atNumbers(t, p)
	hear(e, round.HearTake, 1)
	take := e.kept.takes[0]
	if len(p.played) != 1 || p.rates[0] != take.rate || len(p.played[0]) != take.length {
		t.Fatalf("%d sounds", len(p.played))
	}
	if top := peak(p.played[0]); math.Abs(top-heardPeak) > 1e-6 {
		t.Errorf("peak %g, want %g", top, heardPeak)
	}
	recorded := take.sound()
	gain := heardPeak / peak(recorded)
	for i := take.rate / 10; i < len(recorded)-take.rate/10; i++ {
		if math.Abs(float64(p.played[0][i])-gain*float64(recorded[i])) > 1e-5 {
			t.Fatalf("sample %d is %g, recorded %g", i, p.played[0][i], recorded[i])
		}
	}
	if p.played[0][0] != 0 || p.played[0][take.length-1] != 0 {
		t.Error("it does not begin and end in silence")
	}
	if v := e.snapshot().View; v.Sounding != "take 1" || v.Sound.Take != 1 {
		t.Errorf("sounding %q", v.Sounding)
	}
	until(e.now + float64(take.length)/float64(take.rate) + 0.1)
	if v := e.snapshot().View; v.Sounding != "" {
		t.Errorf("still sounding %q", v.Sounding)
	}
	hear(e, round.HearTake, 0)
	hear(e, round.HearTake, 0)
	if len(p.played) != 2 || p.hushed != 1 || e.snapshot().View.Sounding != "" {
		t.Errorf("%d sounds, hushed %d times", len(p.played), p.hushed)
	}
}

// Silence is raised no further than by mostRaised.
func TestSilenceIsNotRaisedToNoise(t *testing.T) {
	soft := raised([]float32{1e-4, -1e-4}, heardPeak)
	if top := peak(soft); math.Abs(top-1e-4*math.Pow(10, mostRaised/20)) > 1e-8 {
		t.Errorf("raised to %g", top)
	}
	if loud := raised([]float32{1, -0.5}, heardPeak); math.Abs(peak(loud)-heardPeak) > 1e-9 {
		t.Errorf("lowered to %g", peak(loud))
	}
	if got := raised([]float32{0, 0}, heardPeak); peak(got) != 0 {
		t.Errorf("silence became %v", got)
	}
}

// What was understood sounds as tones beside the voice: at the pitch that was understood, also where that is wrong.
func TestUnderstoodIsHeardBesideTheVoice(t *testing.T) {
	p := newPlaying()
	e, _ := atNumbers(t, p)
	if e.snapshot().Understood[1] != nil {
		t.Error("something is shown before it was asked for")
	}
	hear(e, round.HearNotes, 0)
	if v := e.snapshot().View; v.Sounding != "what was understood of take 2" || v.SoundFor != 0 {
		t.Errorf("asked for: %q for %g s", v.Sounding, v.SoundFor)
	}
	heedUnderstood(e)
	notes := e.snapshot().Understood[1]
	if len(p.played) != 1 || len(notes) != 1 || notes[0].Semitone != 57 { // 220 Hz
		t.Fatalf("%d sounds, notes %+v", len(p.played), notes)
	}
	if top := peak(p.played[0]); top > heardPeak || top < heardPeak/2 {
		t.Errorf("peak %g", top)
	}
	const rate = 16000
	misheard := slices.Clone(notes)
	misheard[0].Semitone = 60
	samples := alongside(e.kept.takes[1].sound(), rate, misheard)
	from, to := int((notes[0].Onset+0.1)*rate), int((notes[0].Offset-0.1)*rate)
	wrong := 440 * math.Exp2((60+notes[0].ReferenceCents/100-69)/12)
	if got := strength(samples[from:to], wrong, rate); got < 0.5*(1-voiceShare)*heardPeak {
		t.Errorf("the tone of the misheard note has %g", got)
	}
	if got := strength(p.played[0][from:to], wrong, rate); got > 0.01 {
		t.Errorf("a note that was not understood has %g", got)
	}
}

// What comes too late, since something else was asked for or ended, is not heard; it is shown.
func TestUnderstoodTooLate(t *testing.T) {
	p := newPlaying()
	e, _ := atNumbers(t, p)
	hear(e, round.HearNotes, 1)
	hear(e, round.HearKey, 0)
	heedUnderstood(e)
	if len(p.played) != 1 || e.snapshot().View.Sounding != "the key note D" || len(e.snapshot().Understood[0]) != 1 {
		t.Errorf("%d sounds, sounding %q", len(p.played), e.snapshot().View.Sounding)
	}
}

// The key note is the tonic, a chord all of its notes over its bass; no more than the loop's peak.
func TestKeyNoteAndChord(t *testing.T) {
	const rate = 16000
	key, err := music.ParseKey("Eb major")
	if err != nil {
		t.Fatal(err)
	}
	chord, err := music.ParseChord("Cm7/Bb")
	if err != nil {
		t.Fatal(err)
	}
	hz := func(p float64) float64 { return 440 * math.Exp2((p-69)/12) }
	for _, c := range []struct {
		sound   round.Sound
		seconds float64
		there   []float64
		not     []float64
	}{
		{round.Sound{What: round.KeySound, Key: key}, keySeconds, []float64{63}, []float64{60, 62, 64, 65}},
		{round.Sound{What: round.ChordSound, Chord: chord}, chordSeconds, []float64{46, 60, 63, 55, 58}, []float64{48, 57, 61, 64}},
	} {
		samples := tones(c.sound, rate)
		if len(samples) != int(c.seconds*rate) || peak(samples) > heardPeak || samples[0] != 0 {
			t.Errorf("%s: %d samples, peak %g", c.sound, len(samples), peak(samples))
		}
		for _, p := range c.there {
			if got := strength(samples, hz(p), rate); got < 0.04 {
				t.Errorf("%s: %g has only %g", c.sound, p, got)
			}
		}
		for _, p := range c.not {
			if got := strength(samples, hz(p), rate); got > 0.01 {
				t.Errorf("%s: %g has %g", c.sound, p, got)
			}
		}
	}
}

// Without a speaker of its own the program says so, each time, and nothing is thought to sound.
func TestNothingToHearBy(t *testing.T) {
	for name, s := range map[string]Speaker{"none": nil, "one that cannot": &speaker{statuses: make(chan Status)}} {
		e, _ := atNumbers(t, s)
		before := len(e.notices)
		hear(e, round.HearKey, 0)
		hear(e, round.HearTake, 2)
		if n := e.notices; len(n) != before+2 || n[before].Warning != round.NotSounded || n[before].Text != noPlayer || e.snapshot().View.Sounding != "" {
			t.Errorf("%s: notices %+v, sounding %q", name, n, e.snapshot().View.Sounding)
		}
	}
}

// At the verdict the takes are heard although their files are gone, and the notes are those of the verdict.
func TestHeardAtTheVerdict(t *testing.T) {
	p := newPlaying()
	e, until := atNumbers(t, p)
	e.act(round.Event{Kind: round.Pressed, Action: round.GoOn})
	until(e.now + 1)
	at := e.now
	e.message(0, midi(at, 0x90, 57, 70))
	e.message(0, midi(at+0.5, 0x80, 57, 0))
	until(at + 5)
	for over := false; !over; {
		r := <-e.reports
		e.heed(r)
		_, over = r.(saved)
	}
	if e.part != round.PartVerdict || e.result == nil || e.result.Judged == nil {
		t.Fatalf("in %s, result %+v", e.part, e.result)
	}
	hear(e, round.HearTake, 1)
	if len(p.played) != 1 || math.Abs(peak(p.played[0])-heardPeak) > 1e-6 {
		t.Errorf("%d sounds", len(p.played))
	}
	hear(e, round.HearNotes, 2)
	heedUnderstood(e)
	if len(p.played) != 2 || len(e.snapshot().Understood[1]) != 1 || e.result.Judged.Helped != (round.Helped{}) {
		t.Errorf("%d sounds, understood %+v, helped %+v", len(p.played), e.snapshot().Understood, e.result.Judged.Helped)
	}
	decided := decidedNotes([]voice.Note{{Semitone: 57, Onset: 1}}, []match.Sung{{Semitone: 59}})
	if len(decided) != 1 || decided[0].Semitone != 59 || decided[0].Onset != 1 {
		t.Errorf("decided %+v", decided)
	}
}
