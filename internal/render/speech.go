package render

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sync"
)

// Speech sings by espeak-ng's syllables, retuned by praat.
type Speech struct{}

// Name of the renderer.
func (Speech) Name() string { return "espeak-ng + praat PSOLA" }

// Missing says what is not installed.
func (Speech) Missing() string { return missingPrograms("espeak-ng", "praat") }

// Sings every style.
func (Speech) Sings(Style) bool { return true }

// speakers are voices of espeak-ng with the pitch at which they say the syllables (0 to 99), high so that less is left to change.
var speakers = [...]struct {
	name  string
	pitch int
}{{"en-us", 85}, {"en-us+m3", 85}, {"en-us+f3", 40}, {"en-us+f5", 40}}

// spoken is one syllable as espeak-ng says it, without the silence around it.
type spoken struct {
	samples []float64
	vowel   int // first sample of the vowel
}

// The bank of spoken syllables is made once a process.
var (
	bankOnce sync.Once
	bank     [len(speakers)]map[string]spoken
	bankErr  error
)

const (
	wordsAMinute = 140
	levelWindow  = 0.010  // s
	vowelDB      = 9.0    // dB below the loudest: after a stop, the vowel starts where the level first comes so near
	soundDB      = 35.0   // dB below the loudest: what lies lower at either end is cut off
	seamSeconds  = 0.004  // s of crossfade between syllables
	longestVowel = 0.30   // s of a spoken vowel that are used
	longestHum   = 0.80   // s of a hum
	mostStretch  = 2.8    // of a whole phrase
	stretchEdge  = 0.0005 // s in which praat moves from one stretch to the next
	lengthSlack  = 0.05   // s that a retuned phrase may differ from what was asked
	lowestPulse  = 60     // Hz, where praat looks for pitch periods in speech
	highestPulse = 400    // Hz
)

func fillBank(ctx context.Context) error {
	folder, err := os.MkdirTemp("", "larkhand-speech-")
	if err != nil {
		return fmt.Errorf("render: %w", err)
	}
	defer os.RemoveAll(folder)
	for k, speaker := range speakers {
		bank[k] = map[string]spoken{}
		for name, s := range syllables {
			err := program(ctx, folder, "espeak-ng", "-v", speaker.name, "-s", fmt.Sprint(wordsAMinute), "-p", fmt.Sprint(speaker.pitch),
				"-w", "s.wav", "[["+s.phonemes+"]]")
			if err != nil {
				return err
			}
			samples, err := readBack(filepath.Join(folder, "s.wav"))
			if err != nil {
				return err
			}
			bank[k][name] = trim(samples, s)
		}
	}
	return nil
}

// trim cuts silence off and finds the vowel.
func trim(samples []float64, s syllable) spoken {
	window := int(math.Round(levelWindow * Rate))
	var levels []float64
	for i := 0; i+window <= len(samples); i += window / 2 {
		sum := 0.0
		for _, x := range samples[i : i+window] {
			sum += x * x
		}
		levels = append(levels, 10*math.Log10(sum/float64(window)+1e-12))
	}
	top := slices.Max(levels)
	first := slices.IndexFunc(levels, func(l float64) bool { return l > top-soundDB })
	last := len(levels) - 1
	for levels[last] < top-soundDB {
		last--
	}
	loud := slices.IndexFunc(levels, func(l float64) bool { return l > top-vowelDB })
	from, to := first*window/2, min(len(samples), last*window/2+window)
	vowel := int(s.consonant * Rate)
	if s.start == stop {
		vowel = max(loud*window/2-from, window)
	}
	longest := longestVowel
	if s.start == bare {
		longest = longestHum
	}
	to = min(to, from+vowel+int(longest*Rate))
	return spoken{samples[from:to], min(vowel, (to-from)/2)}
}

// piece is a stretch of the spoken source and how long it becomes.
type piece struct {
	from, to float64 // s in the source
	length   float64 // s in the song
}

// speechSource lays the spoken syllables of a phrase one after another, with the silences between.
func speechSource(notes []Note, voice map[string]spoken) (source []float64, pieces []piece) {
	at := 0.0 // in the song
	add := func(samples []float64, until float64) {
		if len(samples) == 0 || until-at < 1/float64(Rate) {
			return
		}
		from := float64(len(source)) / Rate
		seam(&source, samples)
		pieces = append(pieces, piece{from, float64(len(source)) / Rate, until - at})
		at = until
	}
	silence := func(until float64) {
		if until > at {
			add(make([]float64, int((until-at)*Rate)), until)
		}
	}
	for i := 0; i < len(notes); {
		last := i
		for last+1 < len(notes) && notes[last+1].Syllable == "" {
			last++
		}
		s := voice[notes[i].Syllable]
		silence(consonantStart(notes, i))
		add(s.samples[:s.vowel], notes[i].Onset)
		add(s.samples[s.vowel:], voiceEnd(notes, last))
		i = last + 1
	}
	// praat makes nothing longer than three times its source: the last silence fills up what is missing.
	least := length(notes)/mostStretch - float64(len(source))/Rate
	add(make([]float64, int(math.Max(tailSeconds, least)*Rate)), length(notes))
	return source, pieces
}

// seam appends samples; the first of them fade in, so that there is no click.
func seam(source *[]float64, samples []float64) {
	fade := min(int(math.Round(seamSeconds*Rate)), len(samples))
	start := len(*source)
	*source = append(*source, samples...)
	if start == 0 {
		return
	}
	last := (*source)[start-1]
	for i := range fade {
		share := float64(i) / float64(fade)
		(*source)[start+i] = share*(*source)[start+i] + (1-share)*last*(1-share)
	}
}

// retune is praat's script: pitch and duration of each source are replaced.
const retune = `form jobs
  integer count 1
endform
random_initializeWithSeedUnsafelyButPredictably (1)
for i to count
  sound = Read from file: "s" + string$ (i) + ".wav"
  manipulation = To Manipulation: 0.01, %d, %d
  pitch = Read from file: "p" + string$ (i) + ".PitchTier"
  selectObject: manipulation, pitch
  Replace pitch tier
  duration = Read from file: "d" + string$ (i) + ".DurationTier"
  selectObject: manipulation, duration
  Replace duration tier
  selectObject: manipulation
  song = Get resynthesis (overlap-add)
  Save as WAV file: "o" + string$ (i) + ".wav"
  removeObject: sound, manipulation, pitch, duration, song
endfor
`

// Render sings the phrases, each with another speaker.
func (Speech) Render(ctx context.Context, phrases [][]Note) ([]Sound, error) {
	bankOnce.Do(func() { bankErr = fillBank(ctx) })
	if bankErr != nil {
		return nil, bankErr
	}
	folder, err := os.MkdirTemp("", "larkhand-speech-")
	if err != nil {
		return nil, fmt.Errorf("render: %w", err)
	}
	defer os.RemoveAll(folder)
	for i, notes := range phrases {
		if err := check(notes); err != nil {
			return nil, err
		}
		if err := writeJob(folder, i+1, notes, bank[i%len(speakers)]); err != nil {
			return nil, err
		}
	}
	script := filepath.Join(folder, "retune.praat")
	if err := os.WriteFile(script, fmt.Appendf(nil, retune, lowestPulse, highestPulse), 0o600); err != nil {
		return nil, fmt.Errorf("render: %w", err)
	}
	if err := program(ctx, folder, "praat", "--run", script, fmt.Sprint(len(phrases))); err != nil {
		return nil, err
	}
	var out []Sound
	for i, notes := range phrases {
		samples, err := readBack(filepath.Join(folder, fmt.Sprintf("o%d.wav", i+1)))
		if err != nil {
			return nil, err
		}
		if want := length(notes); math.Abs(float64(len(samples))/Rate-want) > lengthSlack {
			return nil, fmt.Errorf("render: praat made %.2f s of a phrase of %.2f s", float64(len(samples))/Rate, want)
		}
		for k := range samples {
			t := float64(k) / Rate
			samples[k] *= gain(levelAt(notes, t, false))
		}
		out = append(out, Sound{finish(samples, uint64(i)), notes})
	}
	return out, nil
}
