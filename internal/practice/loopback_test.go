package practice

import (
	"math"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/loop"
	"larkhand/internal/round"
	"larkhand/internal/sound/synth"
	"larkhand/internal/soundfile"
	"larkhand/match"
)

// tape is a speaker whose whole sound is known beforehand. It is a Reference.
type tape struct {
	speaker
	sent []float32
}

func (p *tape) Sent(dst []float32, from int64) error {
	n := copy(dst, p.sent[min(from, int64(len(p.sent))):])
	clear(dst[n:])
	return nil
}

// playedLoop is the loop of a session in which the first round begins by itself, as the plain sounds play it.
func playedLoop(t *testing.T, setup round.Setup, rate int, seconds float64) []float32 {
	t.Helper()
	var l loop.Loop
	for _, c := range round.NewMachine(setup).Handle(round.Event{Kind: round.Pressed, Action: round.GoOn}) {
		if c.Kind == round.StartLoop {
			l = c.Loop
		}
	}
	backing, err := loop.Arrange(l, loop.Options{})
	if err != nil {
		t.Fatal(err)
	}
	sounds, err := synth.Plain(rate)
	if err != nil {
		t.Fatal(err)
	}
	player, err := synth.NewPlayer(sounds, rate, 0)
	if err != nil {
		t.Fatal(err)
	}
	player.SetVolume(-6)
	player.Play(backing, 0)
	out := make([]float32, int(seconds*float64(rate)))
	player.Render(out)
	return out
}

// inRoom is what of a sound comes back through a microphone half a metre away: a direct sound, two echoes and a tail of 0.1 s.
func inRoom(sent []float32, rate int, gain float64) []float32 {
	out := make([]float32, len(sent))
	for _, echo := range []struct{ delay, gain float64 }{{0.021, 1}, {0.026, -0.4}, {0.035, 0.3}, {0.061, 0.15}, {0.11, -0.08}} {
		by := int(echo.delay * float64(rate))
		for i := by; i < len(out); i++ {
			out[i] += float32(gain*echo.gain) * sent[i-by]
		}
	}
	return out
}

func level(samples []float32) float64 {
	sum := 0.0
	for _, x := range samples {
		sum += float64(x) * float64(x)
	}
	return 10 * math.Log10(sum/float64(len(samples)))
}

// sameVerdict is true where two rounds were judged alike, to the last sentence.
func sameVerdict(a, b round.Round) bool {
	return reflect.DeepEqual(a.Alignment, b.Alignment) && reflect.DeepEqual(a.Finding, b.Finding) && reflect.DeepEqual(a.Phrase, b.Phrase) && slices.Equal(a.Remarks, b.Remarks)
}

// The demo round is sung beside a loudspeaker: the loop is learned while it plays alone, taken out of the takes, and the verdict is that of the
// round without it. The files that are kept give the same.
func TestLoopIsTakenOutOfTheTakes(t *testing.T) {
	d := theDemo()
	setup := d.setup
	setup.LeadIn = true
	at1, at2, _ := FirstRound(setup)
	sent := playedLoop(t, setup, d.rate, at2+20)
	gain := math.Pow(10, (level(d.take2)-6-level(sent))/20) // 6 dB softer than the voice
	sounds := []Placed{{at1 - d.meta.LoopStart, d.take1}, {at2 - d.meta.LoopStart, d.take2}, {0, inRoom(sent, d.rate, gain)}}
	files := NewFiles(sounds, d.rate, Messages(d.answer, at2-d.meta.LoopStart+d.meta.AnswerStart), 30, true)
	k := &keeper{}
	var again Finished
	k.look = func(f Finished) error {
		again = f
		again.Judge()
		for i, path := range f.Backings {
			sound, err := soundfile.Read(path)
			if err != nil {
				return err
			}
			take := f.Facts.Takes[i]
			if got, want := float64(len(sound.Samples))/float64(sound.Rate), BackingLead+take.To-take.From; math.Abs(got-want) > 0.001 {
				t.Errorf("%s lasts %g s, want %g", path, got, want)
			}
		}
		return nil
	}
	speaker := &tape{sent: sent, speaker: speaker{statuses: make(chan Status)}}
	practise(t, Config{Setup: setup, Folder: t.TempDir(), Saver: k, Start: true, Rounds: 1, Speaker: speaker}, files)
	if len(k.rounds) != 1 || k.rounds[0].Judged == nil {
		t.Fatalf("%d rounds: %+v", len(k.rounds), k.rounds)
	}
	f := k.rounds[0]
	if len(f.Backings) != 2 || filepath.Base(f.Path) != "path.json" {
		t.Errorf("beside the takes lie %q and %q", f.Backings, f.Path)
	}
	for i, take := range f.Judged.Takes {
		if b := take.Bleed; b == nil || !b.Present || b.LevelDB < -12 || b.LevelDB > 0 || b.LeftDB > -20 {
			t.Errorf("take %d: %+v", i+1, b)
		}
	}
	same := 0
	for _, p := range f.Judged.Alignment.Pairs {
		if p.Verdict == match.Same {
			same++
		}
	}
	if same != 7 { // as without the loop: the demo's verdict
		t.Errorf("%d notes are the same: %+v", same, f.Judged.Alignment.Pairs)
	}
	if again.Judged == nil || !sameVerdict(*f.Judged, *again.Judged) {
		t.Errorf("the files give another verdict: %s", again.Reason)
	}
	if f.Response == nil || again.Response == nil || *f.Response != *again.Response {
		t.Errorf("response %+v, by the files %+v", f.Response, again.Response)
	}
}

// Where the loop cannot be heard, as with headphones, takes are judged as they are.
func TestHeadphonesLeaveTakesAlone(t *testing.T) {
	d := theDemo()
	setup := d.setup
	setup.LeadIn = true
	k := &keeper{}
	speaker := &tape{sent: playedLoop(t, setup, d.rate, 40), speaker: speaker{statuses: make(chan Status)}}
	folder := t.TempDir()
	practise(t, Config{Setup: setup, Folder: folder, Saver: k, Start: true, Rounds: 1, Speaker: speaker}, d.onForm(setup, true))
	if len(k.rounds) != 1 || k.rounds[0].Judged == nil || k.rounds[0].Judged.Takes[1].Bleed != nil || k.rounds[0].Path != "" {
		t.Errorf("%+v", k.rounds)
	}
}

// A loop that drowns the voice is told before anybody sings in vain, and by key press it gets softer.
func TestLoudLoopIsTold(t *testing.T) {
	const rate = 16000
	setup := theDemo().setup
	setup.LeadIn = true
	at1, _, _ := FirstRound(setup)
	sent := playedLoop(t, setup, rate, at1+3)
	heard := inRoom(sent, rate, math.Pow(10, (-12-level(sent))/20)) // 13 dB above the usual voice: 30 dB less is still too much
	speaker := &tape{sent: sent}
	e := drive(t, Config{Setup: setup, Start: true, Speaker: speaker, Volume: -10}, rate, []string{"m"}, []string{"p"})
	for at := 0; at+160 <= len(heard); at += 160 {
		e.block(0, Block{Time: float64(at) / rate, Samples: heard[at:][:160]})
		if e.part == round.PartTake1 && !e.ears[0].loop.known {
			e.heed(<-e.reports) // it comes within a fraction of a second
		}
	}
	mic := e.ears[0]
	if mic.loop.path == nil || math.Abs(mic.loop.level+12) > 3 {
		t.Fatalf("level %g, path %v", mic.loop.level, mic.loop.path != nil)
	}
	e.changeVolume(-100)
	if s := e.snapshot(); !s.HasVolume || s.Volume != synth.MinVolume || speaker.asked[len(speaker.asked)-1] != "volume -60" {
		t.Errorf("volume %g, asked %q", s.Volume, speaker.asked)
	}
	told := false
	for _, n := range e.notices {
		told = told || n.Warning == round.Bleed && strings.Contains(n.Text, "use headphones")
	}
	if !told {
		t.Errorf("notices %+v; the way leaves %.1f dB", e.notices, 10*math.Log10(mic.loop.path.Leak))
	}
}

// From the sound to the newest point of the pitch pass at most 60 ms, with the loop taken out as well; what the sound card's buffer and the screen's frame take
// comes on top.
func TestPitchFollowsTheSound(t *testing.T) {
	const most = 0.06 // s
	d := theDemo()
	for name, gain := range map[string]float64{"headphones": 0, "a speaker": 0.5} {
		setup := d.setup
		setup.LeadIn = true
		at1, _, _ := FirstRound(setup)
		sent := playedLoop(t, setup, d.rate, at1+10)
		heard := inRoom(sent, d.rate, gain)
		for i, x := range d.take1 {
			if at := i + int((at1-d.meta.LoopStart)*float64(d.rate)); at < len(heard) {
				heard[at] += x
			}
		}
		e := drive(t, Config{Setup: setup, Start: true, Speaker: &tape{sent: sent}}, d.rate, []string{"m"}, []string{"p"})
		worst, points := 0.0, 0
		block := d.rate / 375 // 128 samples at 48 kHz
		for at := 0; at+block <= len(heard); at += block {
			e.block(0, Block{Time: float64(at) / float64(d.rate), Samples: heard[at:][:block]})
			if e.part == round.PartTake1 && !e.ears[0].loop.known {
				e.heed(<-e.reports)
			}
			if e.part == round.PartTake1 && e.now > at1+0.5 {
				worst = math.Max(worst, e.now-e.pitch.Time)
				points++
			}
		}
		cleaned := e.ears[0].loop.live != nil
		t.Logf("with %s: at most %.0f ms, cleaned: %v", name, 1000*worst, cleaned)
		if worst > most || points < 1000 || cleaned != (gain > 0) {
			t.Errorf("with %s: %.3f s in %d blocks, cleaned: %v", name, worst, points, cleaned)
		}
	}
}
