package main

import (
	"fmt"
	"math"
	"path/filepath"
	"time"

	"larkhand/internal/data/sightsing"
	"larkhand/internal/data/vocadito"
	"larkhand/internal/metrics"
	"larkhand/internal/soundfile"
	"larkhand/voice"
)

// noteCount pools the notes of several recordings.
type noteCount struct {
	clips, ref, est int
	on, pitch, off  int // matched notes: COn, COnP, COnPOff
	edits           int
	anatomy         metrics.Anatomy
	unclear         tally
}

// addClip compares the notes of one recording.
func (c *noteCount) addClip(ref []metrics.Note, notes []voice.Note) {
	for _, n := range notes {
		c.unclear.count(n.Unclear)
	}
	c.addNotes(ref, plain(notes))
}

// addNotes compares plain notes of one recording.
func (c *noteCount) addNotes(ref, est []metrics.Note) {
	matched := func(tol metrics.Tolerance) int { return len(metrics.MatchNotes(ref, est, tol)) }
	c.add(noteCount{clips: 1, ref: len(ref), est: len(est),
		on: matched(metrics.COn), pitch: matched(metrics.COnP), off: matched(metrics.COnPOff),
		edits: metrics.EditDistance(ref, est, metrics.SameNoteSemitones), anatomy: metrics.Errors(ref, est)})
}

func (c *noteCount) add(o noteCount) {
	c.clips, c.ref, c.est = c.clips+o.clips, c.ref+o.ref, c.est+o.est
	c.on, c.pitch, c.off, c.edits = c.on+o.on, c.pitch+o.pitch, c.off+o.off, c.edits+o.edits
	c.anatomy = c.anatomy.Add(o.anatomy)
	c.unclear.add(o.unclear)
}

// noteErrorRate is NSERtol over all notes.
func (c noteCount) noteErrorRate() float64 { return float64(c.edits) / float64(max(c.ref, 1)) }

// clipCount is one sight-singing clip against both truths.
type clipCount struct{ sounding, labelled noteCount }

// sightSinging analyses the clips.
func sightSinging(clips []sightsing.Clip) (sounding, labelled noteCount, err error) {
	parts, err := inParallel(clips, func(clip sightsing.Clip) (clipCount, error) {
		var c clipCount
		sound, err := soundfile.Read(clip.Sound)
		if err != nil {
			return c, err
		}
		take, err := voice.Analyse(sound.Samples, sound.Rate)
		if err != nil {
			return c, fmt.Errorf("clip %s: %w", clip.ID, err)
		}
		c.sounding.addClip(soundingNotes(clip), take.Notes)
		c.labelled.addClip(labelledNotes(clip), take.Notes)
		return c, nil
	})
	for _, part := range parts {
		sounding.add(part.sounding)
		labelled.add(part.labelled)
	}
	return sounding, labelled, err
}

// soundingNotes have the pitch that sounded.
func soundingNotes(clip sightsing.Clip) []metrics.Note {
	var out []metrics.Note
	for i, n := range clip.Notes {
		if pitch := clip.Truth(i); !math.IsNaN(pitch) {
			out = append(out, metrics.Note{Onset: n.Onset, Offset: n.Offset, Pitch: pitch})
		}
	}
	return out
}

// labelledNotes have the annotators' pitch without the clip's constant difference from the F0 medians.
func labelledNotes(clip sightsing.Clip) []metrics.Note {
	var out []metrics.Note
	for _, n := range clip.Notes {
		if pitch := n.Label - clip.Bias(); !math.IsNaN(pitch) {
			out = append(out, metrics.Note{Onset: n.Onset, Offset: n.Offset, Pitch: pitch})
		}
	}
	return out
}

// songCount is the vocadito clip against both annotators and its F0, with the speed of the analysis.
type songCount struct {
	against [2]noteCount
	people  noteCount // annotator 2 against annotator 1
	melody  metrics.MelodyScores
	speed   float64 // seconds of sound per second of analysis, one call, nothing else running
	seconds float64
}

// singSong analyses the vocadito clip.
func singSong(root string) (songCount, error) {
	var s songCount
	clip, err := vocadito.Load(filepath.Join(root, "vocadito"))
	if err != nil {
		return s, err
	}
	sound, err := soundfile.Read(clip.Sound)
	if err != nil {
		return s, err
	}
	start := time.Now()
	take, err := voice.Analyse(sound.Samples, sound.Rate)
	if err != nil {
		return s, err
	}
	s.seconds = sound.Duration()
	s.speed = s.seconds / time.Since(start).Seconds()
	for a := range clip.Notes {
		s.against[a].addClip(clip.Notes[a], take.Notes)
	}
	s.people.add(betweenPeople(clip))
	s.melody, err = metrics.Melody(clip.F0, contour(take.Frames), metrics.DefaultMelodyCents)
	return s, err
}

// betweenPeople scores annotator 2 as if it were a program.
func betweenPeople(clip vocadito.Clip) noteCount {
	var c noteCount
	c.addNotes(clip.Notes[0], clip.Notes[1])
	return c
}

// contour turns frames into a contour: 0 Hz where unvoiced.
func contour(frames []voice.Frame) metrics.Contour {
	var c metrics.Contour
	for _, f := range frames {
		hz := f.F0
		if math.IsNaN(hz) {
			hz = 0
		}
		c.Times, c.F0 = append(c.Times, f.Time), append(c.F0, hz)
	}
	return c
}

// voiceTables lays out the outcome.
func voiceTables(sounding, labelled noteCount, s songCount, which string, g *goals) []table {
	voiceGoals(sounding, s, g)
	columns := []struct {
		name string
		c    noteCount
	}{
		{"sight-singing (" + which + "), pitch as it sounded", sounding},
		{"the same, pitch as labelled", labelled},
		{"song with words, against annotator 1", s.against[0]},
		{"song with words, against annotator 2", s.against[1]},
		{"(annotator 2 against annotator 1)", s.people},
	}
	scores := table{title: "Voice: notes", head: []string{"against", "clips", "notes", "heard", "COn", "COnP", "COnPOff", "NSERtol"}}
	anatomy := table{title: "Voice: errors per 100 notes",
		head: []string{"against", "split", "spurious", "repeats merged", "(of repeats)", "changes merged", "> 50 cents off", "octave", "missed"}}
	for _, col := range columns {
		c, a := col.c, col.c.anatomy
		f := c.f
		scores.add(col.name, fmt.Sprint(c.clips), fmt.Sprint(c.ref), fmt.Sprint(c.est), f(c.on), f(c.pitch), f(c.off), fmt.Sprintf("%.3f", c.noteErrorRate()))
		per := func(count int) string { return fmt.Sprintf("%.1f", a.Per100(count)) }
		anatomy.add(col.name, per(a.Split), per(a.Spurious), per(a.MergedRepeat), fmt.Sprintf("%.1f %%", 100*a.RepeatsLost()),
			per(a.MergedChange), per(a.PitchOff), per(a.Octave), per(a.Missed))
	}
	scores.add("for comparison: a hand-made score, 121 other clips", "121", "4975", "", "0.879", "0.846", "0.690", "0.104")
	scores.add("for comparison: a small network, the same clips", "121", "4975", "", "0.945", "0.930", "0.900", "0.047")
	scores.notes = []string{
		"F of all notes pooled: onset within 50 ms; and pitch within 50 cents; and offset within the larger of 50 ms and 20 %. NSERtol: note edit distance over notes (0.6 semitone).",
		"The two rows for comparison are this project's own experiment on clips of the same set that are not at hand here (pitch as it sounded).",
		"The network was trained on clips of the set tune; only the set kept says how it does on voices that it has not met.",
		fmt.Sprintf("Notes called unclear in whole clips: %s (%s).", sounding.unclear.share(), sounding.unclear.counts()),
	}
	m := s.melody
	frames := table{title: "Voice: frames of the song with words, and speed",
		head: []string{"voicing recall", "voicing false alarm", "raw pitch", "raw chroma", "overall", "times real time", "target"}}
	frames.add(fmt.Sprintf("%.3f", m.VoicingRecall), fmt.Sprintf("%.3f", m.VoicingFalseAlarm), fmt.Sprintf("%.3f", m.RawPitch),
		fmt.Sprintf("%.3f", m.RawChroma), fmt.Sprintf("%.3f", m.Overall), fmt.Sprintf("%.0f", s.speed), "at least 150 times")
	frames.notes = []string{fmt.Sprintf("Speed: one call on %.1f s of sound, this machine, one core.", s.seconds)}
	return []table{scores, anatomy, frames}
}

// voiceGoals adds the targets for notes.
func voiceGoals(c noteCount, s songCount, g *goals) {
	f := func(n noteCount, matched int) float64 { return metrics.FromCounts(matched, n.ref, n.est).F }
	g.least("sight-singing: COn", f(c, c.on), 0.94, rateFormat)
	g.least("sight-singing: COnP", f(c, c.pitch), 0.92, rateFormat)
	g.least("sight-singing: COnPOff", f(c, c.off), 0.89, rateFormat)
	g.most("sight-singing: NSERtol", c.noteErrorRate(), 0.04, rateFormat)
	g.most("sight-singing: repeated notes merged", 100*c.anatomy.RepeatsLost(), 5, percentFormat)
	g.most("sight-singing: spurious notes per 100", c.anatomy.Per100(c.anatomy.Spurious), 0.8, "%.1f")
	g.most("sight-singing: same-pitch splits per 100", c.anatomy.Per100(c.anatomy.Split), 1.5, "%.1f")
	for a, n := range s.against {
		g.least(fmt.Sprintf("song with words: COn, annotator %d", a+1), f(n, n.on), 0.88, rateFormat)
		g.least(fmt.Sprintf("song with words: COnP, annotator %d", a+1), f(n, n.pitch), 0.86, rateFormat)
	}
}
