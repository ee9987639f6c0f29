package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"larkhand/internal/data/sightsing"
	"larkhand/internal/metrics"
	"larkhand/voice/internal/front"
	"larkhand/voice/internal/marks"
	"larkhand/voice/internal/segment"
	"larkhand/voice/internal/track"
)

// foldOf gives each clip its fold: families stay together, the longest first to the smallest fold.
func foldOf(clips []sightsing.Clip, folds int) map[string]int {
	size := map[string]int{}
	for _, c := range clips {
		size[c.Family]++
	}
	var names []string
	for n := range size {
		names = append(names, n)
	}
	slices.Sort(names)
	slices.SortStableFunc(names, func(a, b string) int { return size[b] - size[a] })
	filled := make([]int, folds)
	at := map[string]int{}
	for _, n := range names {
		k := slices.Index(filled, slices.Min(filled))
		at[n] = k
		filled[k] += size[n]
	}
	out := map[string]int{}
	for _, c := range clips {
		out[c.ID] = at[c.Family]
	}
	return out
}

// report prints the scores of each fold's network on the clips it has not seen.
func report(clips []sightsing.Clip, fold map[string]int, folds, first int, dir string) error {
	var all, sung scores
	for k := first; k < folds; k++ {
		n, err := load(filepath.Join(dir, fmt.Sprintf("fold%d.bin", k)))
		if err != nil {
			return err
		}
		var part []sightsing.Clip
		for _, c := range clips {
			if fold[c.ID] == k {
				part = append(part, c)
			}
		}
		s, err := score(part, n)
		if err != nil {
			return err
		}
		fmt.Printf("fold %d: %d clips, %s\n", k, len(part), s)
		all = all.plus(s)
		sung = sung.plus(scoreSingers(n))
	}
	fmt.Println("all clips:", all)
	fmt.Println("other rendered singers:", sung)
	return nil
}

func load(path string) (*marks.Network, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return marks.Read(f)
}

// scores pools the counts of several clips.
type scores struct {
	ref, est          int
	on, pitched, full int // notes found by COn, COnP, COnPOff
	edits             int // of the note sequences
	anatomy           metrics.Anatomy
}

func (s scores) String() string {
	a := s.anatomy
	return fmt.Sprintf("%d notes: COn %.3f COnP %.3f COnPOff %.3f NSER %.3f; per 100: split %.1f spurious %.1f merged change %.1f repeat %.1f (%.0f %%) off %.1f octave %.1f missed %.1f",
		s.ref, f(s.on, s.ref, s.est), f(s.pitched, s.ref, s.est), f(s.full, s.ref, s.est), float64(s.edits)/float64(s.ref),
		a.Per100(a.Split), a.Per100(a.Spurious), a.Per100(a.MergedChange), a.Per100(a.MergedRepeat), 100*a.RepeatsLost(), a.Per100(a.PitchOff), a.Per100(a.Octave), a.Per100(a.Missed))
}

func (s scores) plus(o scores) scores {
	return scores{s.ref + o.ref, s.est + o.est, s.on + o.on, s.pitched + o.pitched, s.full + o.full, s.edits + o.edits, s.anatomy.Add(o.anatomy)}
}

func f(hit, ref, est int) float64 { return metrics.FromCounts(hit, ref, est).F }

func score(clips []sightsing.Clip, n *marks.Network) (scores, error) {
	each := make([]scores, len(clips))
	errs := make([]error, len(clips))
	parallel(len(clips), func(i int) { each[i], errs[i] = scoreClip(clips[i], n) })
	var sum scores
	for i, s := range each {
		if errs[i] != nil {
			return sum, errs[i]
		}
		sum = sum.plus(s)
	}
	return sum, nil
}

func scoreClip(c sightsing.Clip, n *marks.Network) (scores, error) {
	s, err := clipSound(c)
	if err != nil {
		return scores{}, err
	}
	var ref []metrics.Note
	for i, x := range c.Notes {
		ref = append(ref, metrics.Note{Onset: x.Onset, Offset: x.Offset, Pitch: c.Truth(i)})
	}
	return scoreNotes(ref, notesOf(s, n)), nil
}

// notesOf finds the notes of a take by a network.
func notesOf(s sound, n *marks.Network) []metrics.Note {
	a := front.New(s.rate)
	a.Write(s.samples)
	frames := a.Finish()
	path := track.Find(frames)
	var out []metrics.Note
	for _, x := range segment.Find(path, n.Run(marks.Inputs(frames, path))) {
		pitch, _ := segment.Pitch(x, path)
		out = append(out, metrics.Note{Onset: x.Onset, Offset: x.Offset, Pitch: pitch})
	}
	return out
}

// sequenceTolerance is the distance in semitones below which two notes of a sequence count as equal.
const sequenceTolerance = 0.6

func scoreNotes(ref, est []metrics.Note) scores {
	matched := func(t metrics.Tolerance) int { return metrics.Transcription(ref, est, t).Matched }
	return scores{len(ref), len(est), matched(metrics.COn), matched(metrics.COnP), matched(metrics.COnPOff),
		metrics.EditDistance(ref, est, sequenceTolerance), metrics.Errors(ref, est)}
}
