package trial

import (
	"errors"
	"fmt"
	"math"
	"runtime"
	"strings"
	"sync"

	"larkhand/internal/bleed"
	"larkhand/internal/bleed/roomsim"
	"larkhand/internal/data/sightsing"
	"larkhand/internal/metrics"
	"larkhand/internal/music"
	"larkhand/internal/soundfile"
	"larkhand/voice"
)

// What every take has in common.
const (
	longestClip = 20.0  // s
	voiceDBFS   = -22.0 // rms while singing
	noiseDBFS   = -50.0 // rms of the room
	drive       = 0.5   // of the speaker: a peak of 0.7 is bent by 4 %
	tailSeconds = 0.1   // kept after the last note
)

// Kind is what a condition has in common with others that have the same target.
type Kind int

// The kinds.
const (
	Still  Kind = iota // nothing moves
	Moving             // the microphone drifts
	Other              // a bad speaker, or voice-free stretches that are not told
	Broken             // automatic gain, lost samples
	ByEar              // the loop is not known but learned
)

// Condition is one way to record.
type Condition struct {
	Name   string
	Kind   Kind
	Rooms  []roomsim.Room // go round by clip
	Change func(*roomsim.Setup)
	Blind  bool    // the voice-free stretch is not told, it must be found
	Passes int     // of the loop before the voice from which it must be learned by ear, after one that is left out; 0: the backing is told
	Target float64 // how much NSERtol may rise above clean; 0: only that the take is marked or refused
}

// Conditions are the rows of the table.
func Conditions() []Condition {
	all := []roomsim.Room{roomsim.Small(), roomsim.Living(), roomsim.Large()}
	var out []Condition
	at := func(db float64) func(*roomsim.Setup) { return func(s *roomsim.Setup) { s.BleedDB = db } }
	for _, room := range all {
		for _, db := range []float64{-20, -12, -6, 0} {
			out = append(out, Condition{Name: fmt.Sprintf("%s room, %g dB", room.Name, db), Rooms: []roomsim.Room{room}, Change: at(db), Target: .03})
		}
	}
	fault := func(name string, kind Kind, target float64, change func(*roomsim.Setup)) {
		out = append(out, Condition{Name: name, Kind: kind, Rooms: all, Target: target, Change: func(s *roomsim.Setup) {
			s.BleedDB = -6
			change(s)
		}})
	}
	fault("-6 dB, microphone drifts 5 cm", Moving, .06, func(s *roomsim.Setup) { s.MoveMetres = .05 })
	fault("-6 dB, microphone drifts 10 cm", Moving, .06, func(s *roomsim.Setup) { s.MoveMetres = .10 })
	fault("-6 dB, microphone drifts 20 cm", Moving, .06, func(s *roomsim.Setup) { s.MoveMetres = .20 })
	fault("-6 dB, bad speaker", Other, .03, func(s *roomsim.Setup) { s.Drive = 2.5 })
	fault("-6 dB, automatic gain", Broken, 0, func(s *roomsim.Setup) { s.AGC = true })
	fault("-6 dB, 10 ms lost", Broken, 0, func(s *roomsim.Setup) { s.DropoutAt, s.DropoutMs = s.CountIn+8, 10 })
	fault("-6 dB, voice-free stretch not told", Other, .03, func(*roomsim.Setup) {})
	out[len(out)-1].Blind = true
	fault("-6 dB, loop by ear, one pass", ByEar, .03, func(s *roomsim.Setup) {})
	out[len(out)-1].Passes = 3
	fault("-6 dB, loop by ear, two passes", ByEar, .03, func(s *roomsim.Setup) {})
	out[len(out)-1].Passes = 4
	return out
}

// Count holds the notes of some takes against their reference.
type Count struct{ Ref, Est, Edits, Pitched int }

// NSER is the note error rate.
func (c Count) NSER() float64 { return float64(c.Edits) / float64(max(1, c.Ref)) }

// COnP is F of onset within 50 ms and pitch within 50 cents.
func (c Count) COnP() float64 { return metrics.FromCounts(c.Pitched, c.Ref, c.Est).F }

// Plus is the sum of two counts.
func (c Count) Plus(o Count) Count {
	c.add(o)
	return c
}

func (c *Count) add(o Count) {
	c.Ref, c.Est, c.Edits, c.Pitched = c.Ref+o.Ref, c.Est+o.Est, c.Edits+o.Edits, c.Pitched+o.Pitched
}

// Row is one condition over all clips.
type Row struct {
	Condition           Condition
	Takes               int
	Clean, Raw, Cleaned Count
	// Trusted and TrustedClean hold only the takes whose verdict lets their notes be judged as usual.
	Trusted, TrustedClean Count
	Unsaid                int // takes that are neither marked nor refused though more notes are wrong than in the clean voice
	Verdicts              map[bleed.Verdict]int
	Methods               map[bleed.Method]int
	BleedPower, LeftPower float64 // of the true bleed, before and after, sums over the sung parts
	Predicted             []float64
	True                  []float64 // residual over voice, dB, per take
	Seconds, CPU          float64   // s of take, and s of processor time that cleaning took
}

// Run measures every condition on every clip. The same seed gives the same table but for the time taken.
func Run(clips []sightsing.Clip, conditions []Condition, seed uint64) ([]Row, error) {
	voices := make([]singing, len(clips))
	err := each(len(clips), func(i int) (err error) {
		voices[i], err = load(clips[i])
		return err
	})
	if err != nil {
		return nil, err
	}
	rows := make([]Row, len(conditions))
	for i := range rows {
		rows[i] = Row{Condition: conditions[i], Verdicts: map[bleed.Verdict]int{}, Methods: map[bleed.Method]int{}}
	}
	var lock sync.Mutex
	err = each(len(voices)*len(conditions), func(i int) error {
		clip, condition := i/len(conditions), i%len(conditions)
		one, err := take(voices[clip], conditions[condition], clip, seed)
		lock.Lock()
		defer lock.Unlock()
		rows[condition].add(one)
		return err
	})
	return rows, err
}

// each runs work on all cores and joins the errors.
func each(n int, work func(int) error) error {
	errs := make([]error, n)
	next := make(chan int)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				errs[i] = work(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
	return errors.Join(errs...)
}

// singing is the first part of a clip.
type singing struct {
	id      string
	samples []float64 // at roomsim.Rate
	notes   []metrics.Note
	gainDB  float64
	minor   bool
	tonic   int // pitch class
}

func load(clip sightsing.Clip) (singing, error) {
	s := singing{id: clip.ID}
	sound, err := soundfile.Read(clip.Sound)
	if err != nil {
		return s, err
	}
	var pitches, weights []float64
	for i, n := range clip.Notes {
		if pitch := clip.Truth(i); !math.IsNaN(pitch) && n.Offset <= longestClip {
			s.notes = append(s.notes, metrics.Note{Onset: n.Onset, Offset: n.Offset, Pitch: pitch})
			pitches, weights = append(pitches, pitch), append(weights, n.Offset-n.Onset)
		}
	}
	if len(s.notes) == 0 {
		return s, fmt.Errorf("trial: clip %s has no notes in its first %g s", clip.ID, longestClip)
	}
	end := s.notes[len(s.notes)-1].Offset + tailSeconds
	s.samples = bleed.ToWorkRate(sound.Samples, sound.Rate)
	s.samples = s.samples[:min(len(s.samples), int(end*roomsim.Rate))]
	s.gainDB = voiceDBFS - roomsim.LoudDBFS(s.samples)
	key, _ := music.GuessKey(pitches, weights)
	classes := key.PitchClasses()
	s.tonic, s.minor = classes[0], (classes[2]-classes[0]+12)%12 == 3
	return s, nil
}

// Loops by degree, and tempos that go round by clip.
var (
	majorLoops = []string{"0 | 9m | 2m | 7:7", "0 | 5 | 7:7 | 0", "2m7 | 7:7 | 0maj7 | 9:7"}
	minorLoops = []string{"0m | 5m | 7:7 | 0m", "0m7 | 8maj7 | 5m7 | 7:7", "0m | 10 | 8 | 7:7"}
	tempos     = []float64{96, 112, 144}
	skews      = []float64{0, 20, 50, -50}
	delays     = []float64{20, 60, 100, 150}
	roots      = [12]string{"C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"}
)

// chart writes a loop in the singer's key.
func (s singing) chart(number int) string {
	loops := majorLoops
	if s.minor {
		loops = minorLoops
	}
	bars := strings.Split(loops[number%len(loops)], " | ")
	for i, bar := range bars {
		degree := 0
		rest := bar
		for rest != "" && rest[0] >= '0' && rest[0] <= '9' {
			degree, rest = 10*degree+int(rest[0]-'0'), rest[1:]
		}
		bars[i] = roots[(s.tonic+degree)%12] + strings.TrimPrefix(rest, ":")
	}
	return strings.Join(bars, " | ")
}

// setup is what clip number clip meets.
func (s singing) setup(c Condition, clip int, seed uint64, countIn float64) roomsim.Setup {
	out := roomsim.Setup{Room: c.Rooms[clip%len(c.Rooms)], DelayMs: delays[(clip/2)%len(delays)], SkewPPM: skews[clip%len(skews)],
		NoiseDBFS: noiseDBFS, Drive: drive, CountIn: countIn, Seed: seed + uint64(clip), VoiceGainDB: s.gainDB}
	c.Change(&out)
	return out
}

// outcome is one take.
type outcome struct {
	clean, raw, cleaned   Count
	result                bleed.Result
	bleedPower, leftPower float64
	trueDB                float64
	seconds, cpu          float64
}

func take(s singing, c Condition, clip int, seed uint64) (outcome, error) {
	var o outcome
	loop, err := roomsim.Backing(s.chart(clip), tempos[clip%len(tempos)], seed+uint64(clip))
	if err != nil {
		return o, err
	}
	countIn := float64(len(loop)) / roomsim.BackingRate
	lead := countIn * float64(max(1, c.Passes))
	setup := s.setup(c, clip, seed, lead)
	length := lead + float64(len(s.samples))/roomsim.Rate + 1
	rec := setup.Record(s.samples, roomsim.Repeat(loop, int(length*roomsim.BackingRate)))
	silent := setup
	silent.BleedDB, silent.AGC, silent.DropoutAt = math.Inf(-1), false, 0
	quiet := silent.Record(s.samples, nil)
	o.cpu = processorTime(func() { o.result, err = clean(rec.Take, loop, countIn, lead, c) })
	o.seconds = float64(len(rec.Take)) / roomsim.Rate
	if err != nil {
		return o, fmt.Errorf("clip %s, %s: %w", s.id, c.Name, err)
	}
	for _, part := range []struct {
		to      *Count
		samples []float32
	}{{&o.clean, quiet.Take}, {&o.raw, rec.Take}, {&o.cleaned, o.result.Samples}} {
		if *part.to, err = s.count(part.samples[rec.Sung.From:]); err != nil {
			return o, err
		}
	}
	o.powers(rec)
	return o, nil
}

// freeMargin is the time before the voice that is not told as free of it.
const freeMargin = 0.1

func clean(take, loop []float32, period, lead float64, c Condition) (bleed.Result, error) {
	if c.Passes > 0 {
		r, _, err := bleed.CleanLearned(take, roomsim.Rate, bleed.LearnedOptions{VoiceFree: bleed.Span{From: period, To: lead - freeMargin}})
		return r, err
	}
	free := []bleed.Span{{From: 0, To: lead - freeMargin}}
	if c.Blind {
		free = nil
	}
	return bleed.Clean(take, loop, roomsim.Rate, bleed.Options{BackingRate: roomsim.BackingRate, Loops: true, VoiceFree: free})
}

// count compares what the voice package hears with the reference.
func (s singing) count(samples []float32) (Count, error) {
	heard, err := voice.Analyse(samples, roomsim.Rate)
	if err != nil {
		return Count{}, err
	}
	est := make([]metrics.Note, len(heard.Notes))
	for i, n := range heard.Notes {
		est[i] = metrics.Note{Onset: n.Onset, Offset: n.Offset, Pitch: n.Pitch}
	}
	return Count{Ref: len(s.notes), Est: len(est), Edits: metrics.EditDistance(s.notes, est, metrics.SameNoteSemitones),
		Pitched: len(metrics.MatchNotes(s.notes, est, metrics.COnP))}, nil
}

// powers compares what is left with the dry voice; the room's noise is taken off by its known power.
func (o *outcome) powers(rec roomsim.Recording) {
	voicePower, left := 0.0, 0.0
	for n := rec.Sung.From; n < rec.Sung.To; n++ {
		d := float64(o.result.Samples[n]) - rec.Voice[n]
		left += d * d
		voicePower += rec.Voice[n] * rec.Voice[n]
		o.bleedPower += rec.Bleed[n] * rec.Bleed[n]
	}
	left -= math.Pow(10, noiseDBFS/10) * float64(rec.Sung.To-rec.Sung.From)
	o.leftPower = math.Max(left, 0)
	o.trueDB = 10 * math.Log10(math.Max(o.leftPower/voicePower, 1e-6))
}

func (r *Row) add(o outcome) {
	r.Takes++
	r.Clean.add(o.clean)
	r.Raw.add(o.raw)
	r.Cleaned.add(o.cleaned)
	if o.result.Verdict <= bleed.SomeBleed {
		r.Trusted.add(o.cleaned)
		r.TrustedClean.add(o.clean)
		if o.cleaned.Edits > o.clean.Edits {
			r.Unsaid++
		}
	}
	r.Verdicts[o.result.Verdict]++
	r.Methods[o.result.Method]++
	r.BleedPower += o.bleedPower
	r.LeftPower += o.leftPower
	r.Predicted = append(r.Predicted, o.result.ResidualDB)
	r.True = append(r.True, o.trueDB)
	r.Seconds += o.seconds
	r.CPU += o.cpu
}
