package synth

import (
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"larkhand/internal/loop"
	"larkhand/internal/music"

	"pgregory.net/rapid"
)

// failer is a test or a property.
type failer interface {
	Helper()
	Fatal(...any)
}

func backingOf(t failer, name string, tempo float64) *loop.Backing {
	t.Helper()
	key, err := music.ParseKey("F")
	if err != nil {
		t.Fatal(err)
	}
	chart, err := loop.Named(name, key)
	if err != nil {
		t.Fatal(err)
	}
	l, err := loop.New(chart, tempo, 0)
	if err != nil {
		t.Fatal(err)
	}
	b, err := loop.Arrange(l, loop.Options{Feel: loop.DefaultSwing(tempo)})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func mustPlayer(t failer, s Synth, keep float64) *Player {
	t.Helper()
	p, err := NewPlayer(s, testRate, keep)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// notes is a source of given notes.
type notes []loop.Event

func (n notes) AppendEvents(dst []loop.Event, from, to float64) []loop.Event {
	for _, e := range n {
		if e.Time >= from && e.Time < to {
			dst = append(dst, e)
		}
	}
	return dst
}

func (n notes) Longest() (longest float64) {
	for _, e := range n {
		longest = max(longest, e.Duration)
	}
	return longest
}

// level is a synthesizer whose notes have the constant value velocity/1000 for their duration, so that what the player makes of them can be seen.
type level struct{}

func (level) Name() string    { return "level" }
func (level) NewVoice() Voice { return &levelVoice{} }

type levelVoice struct {
	value float32
	left  int
}

func (v *levelVoice) Start(e loop.Event) {
	v.value, v.left = float32(e.Velocity)/1000, samplesOf(e.Duration, testRate)
}

func (v *levelVoice) Add(dst []float32) bool {
	for i := range min(len(dst), v.left) {
		dst[i] += v.value
	}
	v.left -= min(len(dst), v.left)
	return v.left > 0
}

// opened is a player of constant notes that has risen to full volume.
func opened(t failer, source Source) *Player {
	t.Helper()
	p := mustPlayer(t, level{}, 10)
	p.SetVolume(MaxVolume)
	p.Render(make([]float32, samplesOf(RiseTime, testRate)+1))
	p.Play(source, p.Position())
	return p
}

// after gives a constant note that begins so many samples after a position.
func after(p int64, samples int, duration float64, velocity int) loop.Event {
	return loop.Event{Time: float64(p+int64(samples)) / testRate, Duration: duration, Velocity: velocity, Part: loop.Bass}
}

// The same music comes out whatever the sizes of the blocks.
func TestAnyBlocksGiveTheSame(t *testing.T) {
	for name, s := range bothSynths(t) {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				b := backingOf(t, rapid.SampledFrom(loop.Names()).Draw(t, "chart"), rapid.Float64Range(60, 300).Draw(t, "tempo"))
				want := make([]float32, rapid.IntRange(1, testRate).Draw(t, "samples"))
				got := make([]float32, len(want))
				change := int64(rapid.IntRange(0, len(want)).Draw(t, "change"))
				render := func(dst []float32, block func() int) {
					p := mustPlayer(t, s, 1)
					p.SetVolume(MaxVolume)
					p.Play(b, 0)
					p.Render(dst[:1])
					p.Play(backingOf(t, "minor vamp", 111), change)
					for left := dst[1:]; len(left) > 0; {
						n := min(block(), len(left))
						p.Render(left[:n])
						left = left[n:]
					}
				}
				render(want, func() int { return len(want) })
				render(got, func() int { return rapid.IntRange(1, 3000).Draw(t, "block") })
				if !slices.Equal(got, want) {
					t.Fatal("the blocks change the sound")
				}
			})
		})
	}
}

// A note begins at the sample nearest to its time, wherever blocks begin.
func TestNotesBeginOnTheirSample(t *testing.T) {
	for _, block := range []int{1, 7, 64, 256, 480, 5000} {
		p := opened(t, nil)
		first := p.Position()
		p.Play(notes{after(first, 1000, 0.001, 100), {Time: (float64(first) + 2000.4) / testRate, Duration: 0.001, Velocity: 100, Part: loop.Bass}}, first)
		out := make([]float32, 5000)
		for left := out; len(left) > 0; {
			n := min(block, len(left))
			p.Render(left[:n])
			left = left[n:]
		}
		var begins []int
		for i, s := range out {
			if s != 0 && (i == 0 || out[i-1] == 0) {
				begins = append(begins, i)
			}
		}
		if !slices.Equal(begins, []int{1000, 2000}) {
			t.Errorf("blocks of %d: notes begin at %v", block, begins)
		}
	}
}

// The player starts in silence, rises slowly to a low volume and stays there.
func TestStartsLowAndStays(t *testing.T) {
	p := mustPlayer(t, level{}, 1)
	p.Play(notes{after(0, 0, 20, 100)}, 0)
	out := make([]float32, 10*testRate)
	p.Render(out)
	const low = 0.1 * 0.0631 // the note at StartVolume: 24 dB are a factor of 0.0631
	if out[0] > low/1000 {
		t.Errorf("the first sample is %v", out[0])
	}
	if !slices.IsSorted(out) || math.Abs(float64(out[len(out)-1])-low) > low/1000 {
		t.Errorf("it does not rise evenly to %v but to %v", low, out[len(out)-1])
	}
	for i := 1; i < len(out); i++ {
		if out[i]-out[i-1] > 0.1/(RiseTime*testRate)*1.01 {
			t.Fatalf("it rises by %v in one sample", out[i]-out[i-1])
		}
	}
}

func TestVolume(t *testing.T) {
	for db, want := range map[float64]float64{0: 0.1, 20: 0.1, -20: 0.01, -40: 0.001, MinVolume: 0, -1000: 0, math.NaN(): 0} {
		p := opened(t, nil)
		p.SetVolume(db)
		p.Play(notes{after(p.Position(), 0, 20, 100)}, p.Position())
		out := make([]float32, 4*testRate)
		p.Render(out)
		if got := float64(out[len(out)-1]); math.Abs(got-want) > 1e-6 {
			t.Errorf("%v dB: %v, want %v", db, got, want)
		}
	}
}

// Muting a part takes muteTime and moves in small steps; the other parts stay.
func TestMuteIsSmooth(t *testing.T) {
	p := opened(t, nil)
	other := after(p.Position(), 0, 20, 50)
	other.Part = loop.Comping
	p.Play(notes{after(p.Position(), 0, 20, 100), other}, p.Position())
	p.Render(make([]float32, 1000))
	const samples = muteTime * testRate
	for _, tc := range []struct {
		mute bool
		to   float64
	}{{true, 0.05}, {false, 0.15}} {
		p.Mute(loop.Bass, tc.mute)
		out := make([]float32, int(samples)+1)
		p.Render(out)
		for i := 1; i < len(out); i++ {
			if step := math.Abs(float64(out[i] - out[i-1])); step > 0.1*1.6/samples { // the smooth curve is at most 1.5 times as steep as a line
				t.Fatalf("mute %v: a step of %v at sample %d", tc.mute, step, i)
			}
		}
		if got := float64(out[len(out)-1]); math.Abs(got-tc.to) > 1e-6 {
			t.Errorf("mute %v: ends at %v, want %v", tc.mute, got, tc.to)
		}
	}
}

func TestNothingPassesTheCeiling(t *testing.T) {
	var loud notes
	for i := range 40 {
		loud = append(loud, after(samplesAfterRise, 100*i, 20, 127))
	}
	p := opened(t, loud)
	out := make([]float32, testRate)
	p.Render(out)
	if got := peak(out); got > Ceiling {
		t.Errorf("the peak is %v", got)
	}
	if got := out[len(out)-1]; got < Ceiling*0.99 {
		t.Errorf("40 notes of 0.127 give %v; the limiter takes too much", got)
	}
}

const samplesAfterRise = int64(RiseTime*testRate) + 1

func TestLimiterMakesNumbers(t *testing.T) {
	l := newLimiter(testRate)
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got := l.next(x); got != 0 {
			t.Errorf("%v becomes %v", x, got)
		}
	}
	if got := l.next(math.MaxFloat64); got > Ceiling || got <= 0 {
		t.Errorf("a huge sample becomes %v", got)
	}
	for range testRate {
		l.next(0)
	}
	if got := l.next(0.25); math.Abs(got-0.25) > 0.001 {
		t.Errorf("after a second of silence 0.25 becomes %v", got)
	}
}

// At full volume no named chart needs the limiter: what comes out is what went in, and there is some headroom.
func TestNamedChartsStayBelowTheCeiling(t *testing.T) {
	for name, s := range bothSynths(t) {
		for _, chart := range loop.Names() {
			p := mustPlayer(t, s, 0)
			p.SetVolume(MaxVolume)
			p.gain.now = 1
			p.Play(backingOf(t, chart, 140), 0)
			out := make([]float32, 8*testRate)
			p.Render(out)
			t.Logf("%s, %s: peak %.3f", name, chart, peak(out))
			if got := peak(out); got >= Ceiling*0.98 || got < Ceiling/6 {
				t.Errorf("%s, %s: the peak is %.3f", name, chart, got)
			}
		}
	}
}

// A new source comes in on its sample, and what the old one plays fades within stopTime.
func TestPlayChangesOnItsSample(t *testing.T) {
	p := opened(t, nil)
	at := p.Position()
	p.Play(notes{after(at, 0, 20, 100), after(at, 500, 20, 100)}, at)
	p.Render(make([]float32, 10))
	p.Play(notes{after(at, 300, 20, 10), after(at, 400, 20, 20)}, at+400) // the first one comes before the change: left out
	out := make([]float32, testRate)
	p.Render(out)
	if out[389] != 0.1 || out[390] <= 0.1 || out[390] > 0.12 {
		t.Errorf("around the change: %v", out[388:392])
	}
	if end := 390 + int(stopTime*testRate) + 1; math.Abs(float64(out[end])-0.02) > 1e-6 {
		t.Errorf("after the fade: %v", out[end])
	}
	p.Play(nil, 0)
	p.Render(out)
	if got := out[len(out)-1]; got != 0 {
		t.Errorf("without a source: %v", got)
	}
}

func TestSentIsWhatWasRendered(t *testing.T) {
	p := mustPlayer(t, mustPlain(t, testRate), 1)
	p.SetVolume(MaxVolume)
	p.Play(backingOf(t, "12-bar blues", 200), 0)
	rendered := make([]float32, 3*testRate)
	for left := rendered; len(left) > 0; {
		n := min(700, len(left))
		p.Render(left[:n])
		left = left[n:]
	}
	got := make([]float32, testRate)
	if err := p.Sent(got, 2*testRate); err != nil || !slices.Equal(got, rendered[2*testRate:]) {
		t.Errorf("the last second differs, or %v", err)
	}
	seconds, err := p.Mono(2.25, 2.5)
	if err != nil || !slices.Equal(seconds, rendered[2.25*testRate:2.5*testRate]) {
		t.Errorf("the quarter of a second differs, or %v", err)
	}
	for from, says := range map[int64]string{-1: "0 on", 0: "no longer", 2*testRate - 1: "no longer", 2*testRate + 1: "not sent yet"} {
		if err := p.Sent(got, from); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("from %d: %v", from, err)
		}
	}
	for _, w := range [][2]float64{{-1, 1}, {2, 1}, {math.NaN(), 1}, {0, math.Inf(1)}, {2, 9}} {
		if _, err := p.Mono(w[0], w[1]); err == nil {
			t.Errorf("%v is given", w)
		}
	}
}

// What is asked for while the player goes on is either right or refused.
func TestSentWhilePlaying(t *testing.T) {
	p := mustPlayer(t, level{}, 0.02)
	p.SetVolume(MaxVolume)
	p.Play(notes{after(0, 0, 100, 100)}, 0)
	var done sync.WaitGroup
	done.Go(func() {
		block := make([]float32, 480)
		for range 300 {
			p.Render(block)
		}
	})
	got := make([]float32, 200)
	var asked int
	for p.Position() < 300*480 {
		from := max(p.Position()-900, 0)
		if p.Sent(got, from) != nil {
			continue
		}
		asked++
		for i, s := range got { // while the gain rises, sample n is in proportion to n+1
			want := 0.1 * min(float64(from+int64(i)+1)/(RiseTime*testRate), 1)
			if math.Abs(float64(s)-want) > 1e-6 {
				t.Fatalf("sample %d is %v, want %v", from+int64(i), s, want)
			}
		}
	}
	done.Wait()
	if asked == 0 {
		t.Skip("skipped: the machine was too busy to ask in time")
	}
}

func TestSkipTo(t *testing.T) {
	p := opened(t, nil)
	at := p.Position()
	p.Play(notes{after(at, 0, 20, 100), after(at, 6000, 20, 50)}, at)
	p.Render(make([]float32, 1000))
	p.SkipTo(at + 5000)
	p.SkipTo(at) // over: nothing happens
	out := make([]float32, samplesAfterRise+2000)
	p.Render(out)
	if out[0] != 0 || out[999] != 0 || out[1000] <= 0 || out[1000] > 0.001 {
		t.Errorf("after the gap: %v, %v, %v", out[0], out[999], out[1000])
	}
	if got := out[len(out)-1]; got != 0.05 {
		t.Errorf("later: %v", got)
	}
	gap := make([]float32, 4000)
	if err := p.Sent(gap, at+1000); err != nil || peak(gap) != 0 {
		t.Errorf("the gap holds %v, %v", peak(gap), err)
	}
}

func TestTooManyNotes(t *testing.T) {
	var many notes
	for i := range voices + 3 {
		many = append(many, after(samplesAfterRise, i, 20, 1))
	}
	p := opened(t, many)
	p.Render(make([]float32, 1000))
	if got := p.Dropped(); got != 3 {
		t.Errorf("%d notes were left out, want 3", got)
	}
}

// No named chart comes near the number of voices, even at the fastest tempo.
func TestVoicesSuffice(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	for name, s := range bothSynths(t) {
		for _, chart := range loop.Names() {
			p := mustPlayer(t, s, 0)
			p.Play(backingOf(t, chart, loop.MaxTempo), 0)
			p.Render(make([]float32, 6*testRate))
			if p.Dropped() != 0 {
				t.Errorf("%s, %s: %d notes were left out", name, chart, p.Dropped())
			}
		}
	}
}

func TestNewPlayerRefuses(t *testing.T) {
	s := mustPlain(t, testRate)
	for _, tc := range []struct {
		s    Synth
		rate int
		keep float64
	}{{nil, testRate, 1}, {s, 8000, 1}, {s, 1 << 20, 1}, {s, testRate, -1}, {s, testRate, math.NaN()}, {s, testRate, 1e9}} {
		if p, err := NewPlayer(tc.s, tc.rate, tc.keep); err == nil || p != nil {
			t.Errorf("%+v is taken", tc)
		}
	}
}

func TestRenderDoesNotAllocate(t *testing.T) {
	for name, s := range bothSynths(t) {
		p := mustPlayer(t, s, DefaultKeep)
		p.Play(backingOf(t, "12-bar jazz blues", 240), 0)
		block, back := make([]float32, 512), make([]float32, 512)
		p.Render(block)
		if n := testing.AllocsPerRun(1000, func() { p.Render(block) }); n != 0 {
			t.Errorf("%s: Render allocates %v times", name, n)
		}
		if n := testing.AllocsPerRun(100, func() { _ = p.Sent(back, p.Position()-512) }); n != 0 {
			t.Errorf("%s: Sent allocates %v times", name, n)
		}
	}
}
