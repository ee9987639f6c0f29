package delay

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const testRate = 48000

// room is what lies between speaker and microphone.
type room struct {
	rate   int
	delay  float64 // s
	gain   float64 // of the direct sound; less than nothing turns it upside down
	noise  float64 // standard deviation
	reverb float64 // power of the diffuse tail against the direct sound; it falls by 60 dB in tail
	tail   float64 // s
	echo   float64 // amplitude of a single echo against the direct sound, 5 ms later
	lacks  map[int]bool
}

// series plays a series in the room: every chirp at the schedule's place, from sample `lead` on.
func (r room) series(seed uint64) (recorded []float32, sent []int) {
	const lead = 100
	random := rand.New(rand.NewPCG(seed, 1))
	begins, length := Schedule(r.rate)
	recorded = make([]float32, lead+length)
	for i := range recorded {
		recorded[i] = float32(r.noise * random.NormFloat64())
	}
	tail, chirp := r.response(random), Chirp(r.rate)
	for k, at := range begins {
		sent = append(sent, at+lead)
		if r.lacks[k] {
			continue
		}
		direct := float64(sent[k]) + r.delay*float64(r.rate)
		r.add(recorded, direct, r.gain)
		if r.echo != 0 {
			r.add(recorded, direct+0.005*float64(r.rate), r.gain*r.echo)
		}
		for _, tap := range tail {
			from := int(direct) + tap.at
			for i := range min(len(chirp), max(0, len(recorded)-from)) {
				recorded[from+i] += tap.gain * chirp[i]
			}
		}
	}
	return recorded, sent
}

// tap is a reflection.
type tap struct {
	at   int // samples after the direct sound
	gain float32
}

// response is the room's tail. It is thin, 1 sample in 40, to be quick.
func (r room) response(random *rand.Rand) (taps []tap) {
	if r.reverb == 0 {
		return nil
	}
	count := int(r.tail * float64(r.rate) / 40)
	power := 0.0
	gains := make([]float64, count)
	for i := range gains {
		gains[i] = random.NormFloat64() * math.Pow(10, -3*float64(i)/float64(count))
		power += gains[i] * gains[i]
	}
	for i, g := range gains {
		taps = append(taps, tap{r.rate/500 + 40*i + random.IntN(40), float32(r.gain * g * math.Sqrt(r.reverb/power))})
	}
	return taps
}

// add adds a chirp that begins at any place between samples: the chirp's formula, not its samples moved.
func (r room) add(recorded []float32, at, gain float64) {
	n := int(chirpSeconds * float64(r.rate))
	first := int(math.Ceil(at))
	sweep := (chirpTo - chirpFrom) / chirpSeconds
	for i := first; i < min(first+n, len(recorded)); i++ {
		x := float64(i) - at
		t := x / float64(r.rate)
		window := 0.5 * (1 - math.Cos(2*math.Pi*(x+0.5)/float64(n)))
		recorded[i] += float32(gain * window * math.Sin(2*math.Pi*(chirpFrom*t+sweep*t*t/2)))
	}
}

func TestChirpIsFoundBetweenSamples(t *testing.T) {
	for _, rate := range []int{16000, 22050, 44100, 48000, 96000} {
		for _, want := range []float64{0, 0.0053333, 0.149, 0.4999} {
			recorded, sent := room{rate: rate, delay: want, gain: -0.01, noise: 1e-5}.series(1)
			for _, a := range Find(recorded, rate, sent) {
				// A tenth of a sample; at delay 0 the envelope has no left neighbour.
				if tolerance := 0.6 / float64(rate); !(math.Abs(a.Seconds-want) < tolerance) || a.Confidence < sure {
					t.Fatalf("%d Hz, %g s: found %+v", rate, want, a)
				}
			}
		}
	}
}

// In noise as loud as the chirp, in a reverberant room and with a third of the chirps missing the delay is right within the agreement, whatever the room.
func TestDelayIsRightInAnyRoom(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	rapid.Check(t, func(t *rapid.T) {
		gain := rapid.Float64Range(0.003, 0.5).Draw(t, "gain")
		r := room{
			rate: rapid.SampledFrom([]int{16000, 22050}).Draw(t, "rate"), delay: rapid.Float64Range(0, 0.45).Draw(t, "delay"),
			gain: gain * float64(rapid.SampledFrom([]int{-1, 1}).Draw(t, "polarity")), noise: gain * rapid.Float64Range(0, 0.5).Draw(t, "noise"),
			// The tail's single reflections lie below the direct sound, as they do where the microphone is nearer than the critical distance.
			reverb: rapid.Float64Range(0, 1).Draw(t, "reverb"), tail: rapid.Float64Range(0.1, 0.5).Draw(t, "tail"),
			echo: rapid.Float64Range(0, 1.5).Draw(t, "echo"), lacks: map[int]bool{},
		}
		for _, k := range rapid.SliceOfNDistinct(rapid.IntRange(0, SeriesChirps-1), 0, SeriesChirps/3, rapid.ID).Draw(t, "lacks") {
			r.lacks[k] = true
		}
		recorded, sent := r.series(rapid.Uint64().Draw(t, "seed"))
		s := ListenForChirps(recorded, r.rate, sent)
		seconds, spread, heard, fault := s.Estimate()
		if fault != None || math.Abs(seconds-r.delay) > 0.001 || spread > Agreement || heard < SeriesChirps-len(r.lacks) {
			t.Fatalf("delay %g s, found %g with spread %g and fault %d: %+v", r.delay, seconds, spread, fault, s.Arrivals)
		}
		for k, a := range s.Arrivals {
			if r.lacks[k] && !math.IsNaN(a.Seconds) && r.reverb == 0 {
				t.Fatalf("chirp %d was not played and was found: %+v", k, a)
			}
		}
	})
}

// Noise alone is no chirp: of 200 windows at most one is taken for it (more has a chance of 2 % at one in a thousand; the seed is fixed).
func TestNoiseIsNoChirp(t *testing.T) {
	f, random, wrong := newFilter(16000), rand.New(rand.NewPCG(3, 3)), 0
	samples := make([]float32, f.window)
	const windows = 200
	for range windows {
		for i := range samples {
			samples[i] = float32(0.1 * random.NormFloat64())
		}
		if a := f.find(samples); !math.IsNaN(a.Seconds) {
			wrong++
		}
	}
	if wrong > 1 {
		t.Errorf("%d of %d windows of noise hold a chirp", wrong, windows)
	}
}

func TestADelayBeyondTheMostIsRefused(t *testing.T) {
	for _, delay := range []float64{0.59, 0.65, 0.8, 1.1} {
		recorded, sent := room{rate: testRate, delay: delay, gain: 0.1, noise: 1e-4}.series(4)
		if seconds, _, _, fault := ListenForChirps(recorded, testRate, sent).Estimate(); fault == None {
			t.Errorf("a delay of %g s was taken for one of %g s", delay, seconds)
		}
	}
}

func TestOfTwoArrivalsTheFirstCounts(t *testing.T) {
	recorded, sent := room{rate: testRate, delay: 0.05, gain: 0.1, echo: 1.9}.series(5)
	if a := Find(recorded, testRate, sent)[0]; math.Abs(a.Seconds-0.05) > 1e-4 {
		t.Errorf("found %+v", a)
	}
}

func TestWindowsOutsideTheRecordingAreMissing(t *testing.T) {
	for _, a := range Find(make([]float32, 10*testRate), testRate, []int{-1, 9*testRate + testRate/2}) {
		if !math.IsNaN(a.Seconds) || a.Confidence != 0 {
			t.Errorf("found %+v", a)
		}
	}
}

// keys is a recording of strikes at known times, each a decaying burst of noise, with messages that come late.
func keys(late float64, jitter []float64, noise float64) (recorded []float32, messages []float64) {
	random := rand.New(rand.NewPCG(6, 6))
	recorded = make([]float32, int(float64(len(jitter)+1)*testRate))
	for i := range recorded {
		recorded[i] = float32(noise * random.NormFloat64())
	}
	for k, j := range jitter {
		at := 0.5 + float64(k)
		for i := range testRate / 5 {
			recorded[int(at*testRate)+i] += float32(0.05 * random.NormFloat64() * math.Exp(-float64(i)/(0.03*testRate)))
		}
		messages = append(messages, at+late+j)
	}
	return recorded, messages
}

func TestStrikesAreFound(t *testing.T) {
	jitter := []float64{0.001, -0.001, 0, 0.002, -0.002, 0, 0.001, 0}
	for _, late := range []float64{-0.05, -0.003, 0, 0.012, 0.1} {
		recorded, messages := keys(late, jitter, 1e-3)
		s := ListenForStrikes(recorded, testRate, messages)
		for i, a := range s.Arrivals {
			if math.Abs(a.Seconds-late-jitter[i]) > 0.001 || a.Confidence < 0.9 {
				t.Errorf("%g s late, strike %d: %+v, want %g", late, i, a, late+jitter[i])
			}
		}
		if seconds, spread, _, fault := s.Estimate(); fault != None || math.Abs(seconds-late) > 0.001 || math.Abs(spread-0.004) > 0.001 {
			t.Errorf("%g s late: %g, spread %g, fault %d", late, seconds, spread, fault)
		}
	}
}

func TestStrikesThatCannotBeHeard(t *testing.T) {
	recorded, messages := keys(0.01, make([]float64, 8), 0.05) // noise as loud as the strikes
	if _, _, _, fault := ListenForStrikes(recorded, testRate, messages).Estimate(); fault != Unheard {
		t.Errorf("in noise: fault %d", fault)
	}
	if _, _, _, fault := ListenForStrikes(make([]float32, 9*testRate), testRate, messages).Estimate(); fault != Silent {
		t.Errorf("in silence: fault %d", fault)
	}
	recorded, _ = keys(0.01, make([]float64, 2), 1e-3)
	close := Strikes(recorded, testRate, []float64{0.1, 0.51, 0.6, 5})
	for _, i := range []int{0, 2, 3} { // too early, too close to the one before, after the end
		if !math.IsNaN(close[i].Seconds) {
			t.Errorf("message %d: %+v", i, close[i])
		}
	}
	if math.IsNaN(close[1].Seconds) {
		t.Error("the strike between them was not found")
	}
}

// of makes a series of found delays, NaN for missing ones.
func of(level float64, clipped bool, delays ...float64) Series {
	s := Series{Within: Agreement, Level: level, Clipped: clipped}
	for _, d := range delays {
		s.Arrivals = append(s.Arrivals, Arrival{Seconds: d, Confidence: 1})
	}
	return s
}

func TestTrials(t *testing.T) {
	none := math.NaN()
	good := of(-40, false, 0.02, 0.0204, 0.0202, none, 0.4, 0.0202)
	moved := of(-40, false, 0.025, 0.025, 0.025, 0.025, 0.025, 0.025)
	wild := of(-40, false, 0.02, 0.03, 0.04, 0.05, 0.06, 0.07)
	deaf := of(-40, false, none, none, none, 0.02, none, none)
	for name, c := range map[string]struct {
		series []Series
		after  int     // series that were taken
		want   float64 // NaN for none
		why    string
	}{
		"agree":           {[]Series{good, good}, 2, 0.0202, ""},
		"second thoughts": {[]Series{good, moved, moved}, 3, 0.025, ""},
		"one bad":         {[]Series{good, deaf, good, good}, 4, 0.0202, ""},
		"back and forth":  {[]Series{good, moved, good, moved, good}, 5, none, "did not stay the same within 2 ms from one series to the next (20.2 ms, 25.0 ms, 20.2 ms, 25.0 ms, 20.2 ms)"},
		"wild":            {[]Series{wild, wild, wild, wild, wild}, 5, none, "lie 50 ms apart"},
		"silent":          {[]Series{of(-90, false, none, none, none), of(-90, false, none, none, none)}, 2, none, "the microphone is silent (-90 dBFS)"},
		"unheard":         {[]Series{deaf, deaf}, 2, none, "only 1 of 6 clicks were heard"},
		"clipped":         {[]Series{of(-3, true, none, none, none), of(-3, true, none, none, none)}, 2, none, "clipped and only 0 of 3 clicks"},
	} {
		t.Run(name, func(t *testing.T) {
			var trial Trial
			for i, s := range c.series {
				if over := trial.Add(s); over != (i+1 == c.after) {
					t.Fatalf("after %d series over is %v", i+1, over)
				}
			}
			r, ok := trial.Result()
			if ok == math.IsNaN(c.want) || ok && (math.Abs(r.Seconds-c.want) > 1e-4 || r.Series != c.after || r.Spread > Agreement) {
				t.Errorf("result %+v, %v, want %g", r, ok, c.want)
			}
			if why := trial.Why("clicks"); !strings.Contains(why, c.why) || ok && why != "" {
				t.Errorf("why: %q, want %q", why, c.why)
			}
		})
	}
}

func TestTheMeterOfASeries(t *testing.T) {
	loud := make([]float32, 1000)
	for i := range loud {
		loud[i] = 0.1
	}
	if s := heard(loud, nil, 0); math.Abs(s.Level+20) > 0.01 || s.Clipped {
		t.Errorf("constant 0.1: %+v, want -20 dBFS", s)
	}
	loud[5], loud[6], loud[7] = 1, 1, 1
	if s := heard(loud, nil, 0); !s.Clipped {
		t.Error("three samples at full scale are not clipped")
	}
	loud[6] = -1
	if s := heard(loud, nil, 0); s.Clipped {
		t.Error("alternating samples at full scale are clipped")
	}
}

// A series that is played by its own chirp and found again.
func Example() {
	const rate, late = 48000, 960 // 20 ms
	begins, length := Schedule(rate)
	recorded := make([]float32, length)
	for _, at := range begins {
		for i, x := range Chirp(rate) {
			recorded[at+late+i] += 0.1 * x
		}
	}
	var trial Trial
	for !trial.Add(ListenForChirps(recorded, rate, begins)) {
	}
	r, ok := trial.Result()
	fmt.Printf("%.2f ms after %d series, %v\n", 1000*r.Seconds, r.Series, ok)
	// Output: 20.00 ms after 2 series, true
}
