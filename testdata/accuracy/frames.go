package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"larkhand/internal/data/sightsing"
	"larkhand/internal/metrics"
	"larkhand/internal/singer"
	"larkhand/internal/soundfile"
	"larkhand/voice"
)

// How frames are measured; own.
const (
	restLeast     = 0.20 // s of silence between two labels that are looked at
	restMargin    = 0.05 // s at either end of a rest that are not, since labels are that unsure
	toneRate      = 44100
	toneSeconds   = 1.0
	toneLow       = 65.0   // Hz
	toneHigh      = 1050.0 // Hz
	toneEdge      = 0.06   // s at either end of a tone that are not looked at
	octaveOff     = 6.0    // semitones; a frame further off has the wrong octave
	trackedCents  = 25.0
	vibratoTones  = 60
	voicingTarget = 3.0 // percent
	pitchTarget   = 0.98
)

// frameCount is what was measured on frames.
type frameCount struct {
	rests    tally // frames in rests of the clips that are called voiced
	tracked  tally // frames of tones with vibrato, breath and room within 25 cents
	octave   tally // frames of clean tones in the wrong octave
	unvoiced tally // frames of clean tones called unvoiced
	tones    tally // clean tones with a note in the wrong octave
}

// framesOf measures the frames of the clips' rests and of tones.
func framesOf(clips []sightsing.Clip, seed uint64) (frameCount, error) {
	var all frameCount
	rests, err := inParallel(clips, restFrames)
	if err != nil {
		return all, err
	}
	for _, r := range rests {
		all.rests.add(r)
	}
	tracked, err := inParallel(indices(vibratoTones), func(i int) (tally, error) { return vibratoFrames(generator(seed, "vibrato", i, faultless)) })
	if err != nil {
		return all, err
	}
	for _, t := range tracked {
		all.tracked.add(t)
	}
	return all, all.addTones()
}

// restFrames counts the frames between labels that are called voiced.
func restFrames(clip sightsing.Clip) (tally, error) {
	var t tally
	sound, err := soundfile.Read(clip.Sound)
	if err != nil {
		return t, err
	}
	take, err := voice.Analyse(sound.Samples, sound.Rate)
	if err != nil {
		return t, err
	}
	for i := 1; i < len(clip.Notes); i++ {
		from, to := clip.Notes[i-1].Offset, clip.Notes[i].Onset
		if to-from < restLeast {
			continue
		}
		for _, f := range take.Frames {
			if f.Time > from+restMargin && f.Time < to-restMargin {
				t.count(!math.IsNaN(f.F0))
			}
		}
	}
	return t, nil
}

// spectra of tones: amplitude of each harmonic.
var spectra = [][]float64{
	nil,                                // 1/k
	{0.3},                              // a whistle
	{0.1, 0.3, 0.2, 0.05, 0.1, 0.05},   // second harmonic strongest, as in an open vowel
	{0.3, 0.02, 0.02, 0.08, 0.05, .02}, // as in "oo"
}

// vibratoFrames makes one tone with vibrato, breath and a room and counts the frames within 25 cents.
func vibratoFrames(rng *rand.Rand) (tally, error) {
	var t tally
	const seconds = 3.0
	centre := 43 + 34*rng.Float64() // MIDI number
	rate, extent, drift := 4.5+2.5*rng.Float64(), 0.2+0.6*rng.Float64(), 0.4*(rng.Float64()-0.5)
	truth := func(at float64) float64 {
		return 440 * math.Exp2((centre+extent*math.Sin(2*math.Pi*rate*at)+drift*at/seconds-69)/12)
	}
	dry := singer.Tone(truth, seconds, toneRate, spectra[rng.IntN(len(spectra))]...)
	breath := mixed(doubles(dry), white(rng, len(dry)), voiceLevel(doubles(dry), toneRate)*fromDB(-breathDB))
	room := singer.Room{RT60: 0.25 + 0.3*rng.Float64(), WetDB: -14, NoiseDBFS: -55, LowHz: 80, HighHz: 9000, ReflectMs: 3 + 6*rng.Float64(), ReflectDB: -12}
	take, err := voice.Analyse(room.Record(singles(breath), toneRate, rng.Uint64()), toneRate)
	if err != nil {
		return t, err
	}
	for _, f := range take.Frames {
		if f.Time > toneEdge && f.Time < seconds-toneEdge {
			t.count(math.Abs(1200*math.Log2(f.F0/truth(f.Time))) < trackedCents)
		}
	}
	return t, nil
}

// breathDB is how far the breath noise lies below the tone.
const breathDB = 20.0

// addTones counts octave errors on clean tones, one a semitone from 65 to 1050 Hz, in each spectrum.
func (c *frameCount) addTones() error {
	var frequencies []float64
	for hz := toneLow; hz <= toneHigh; hz *= math.Exp2(1.0 / 12) {
		frequencies = append(frequencies, hz)
	}
	parts, err := inParallel(append(frequencies, toneHigh), func(hz float64) (frameCount, error) {
		var part frameCount
		for _, spectrum := range spectra {
			if err := part.addTone(hz, spectrum); err != nil {
				return part, err
			}
		}
		return part, nil
	})
	for _, p := range parts {
		c.octave.add(p.octave)
		c.unvoiced.add(p.unvoiced)
		c.tones.add(p.tones)
	}
	return err
}

func (c *frameCount) addTone(hz float64, spectrum []float64) error {
	take, err := voice.Analyse(singer.Tone(func(float64) float64 { return hz }, toneSeconds, toneRate, spectrum...), toneRate)
	if err != nil {
		return err
	}
	for _, f := range take.Frames {
		if f.Time > toneEdge && f.Time < toneSeconds-toneEdge {
			c.octave.count(math.Abs(12*math.Log2(f.F0/hz)) > octaveOff)
			c.unvoiced.count(math.IsNaN(f.F0))
		}
	}
	wrong := false
	for _, n := range take.Notes {
		wrong = wrong || math.Abs(n.Pitch-69-12*math.Log2(hz/440)) > octaveOff
	}
	c.tones.count(wrong)
	return nil
}

// frameTables lays out the outcome; song is what was measured on the vocadito clip.
func frameTables(c frameCount, song metrics.MelodyScores, which string, g *goals) []table {
	t := table{title: "Frames (" + which + ")", head: []string{"frames", "share", "counts"}}
	t.add("rests of the clips: called voiced", c.rests.share(), c.rests.counts())
	t.add("unvoiced frames of the song with words: called voiced", fmt.Sprintf("%.1f %%", 100*song.VoicingFalseAlarm), "")
	t.add("tones with vibrato, breath and a room: within 25 cents", c.tracked.share(), c.tracked.counts())
	t.add("clean tones, 65 to 1050 Hz: wrong octave", c.octave.share(), c.octave.counts())
	t.add("clean tones, 65 to 1050 Hz: called unvoiced", c.unvoiced.share(), c.unvoiced.counts())
	t.add("clean tones with a note in the wrong octave", c.tones.share(), c.tones.counts())
	t.notes = []string{fmt.Sprintf("Rests: at least %.1f s between two labels, without %.0f ms at either end. Tones: four spectra, every semitone.", restLeast, 1000*restMargin)}
	g.most("voicing false alarm, rests of the clips", c.rests.percent(), voicingTarget, percentFormat)
	g.most("voicing false alarm, song with words", 100*song.VoicingFalseAlarm, voicingTarget, percentFormat)
	g.least("raw pitch within 25 cents, tones with vibrato, breath and room", c.tracked.percent()/100, pitchTarget, rateFormat)
	g.most("octave errors on clean tones, 65 to 1050 Hz, frames", c.octave.percent(), 0, percentFormat)
	return []table{t}
}
