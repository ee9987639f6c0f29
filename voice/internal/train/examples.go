package main

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"runtime"
	"strings"
	"sync"

	"larkhand/internal/data/sightsing"
	"larkhand/internal/resample"
	"larkhand/internal/soundfile"
	"larkhand/voice/internal/front"
	"larkhand/voice/internal/marks"
	"larkhand/voice/internal/track"
)

// markSpread is the standard deviation of the bell around a beginning or an
// end in the targets, in frames: labels agree within about 20 ms.
const markSpread = 1.5

// learn turns a take into an example.
func learn(s sound) example {
	a := front.New(s.rate)
	a.Write(s.samples)
	frames := a.Finish()
	e := example{rows: marks.Inputs(frames, track.Find(frames)), targets: make([]target, len(frames))}
	for _, l := range s.labels {
		on, off := l.onset/front.Hop, l.offset/front.Hop
		bell(e.targets, 0, on)
		bell(e.targets, 1, off)
		for t := max(int(math.Ceil(on)), 0); float64(t) < off && t < len(frames); t++ {
			e.targets[t][2] = 1
		}
	}
	return e
}

func bell(targets []target, output int, centre float64) {
	for t := max(int(centre)-6, 0); t < len(targets) && t < int(centre)+8; t++ {
		d := (float64(t) - centre) / markSpread
		targets[t][output] = max(targets[t][output], float32(math.Exp(-0.5*d*d)))
	}
}

// realClips loads the sight-singing clips that may be learned from: the tuning
// side of the split, and under the MIT licence.
func realClips(dir string) ([]sightsing.Clip, error) {
	clips, err := sightsing.Load(filepath.Join(dir, "sightsing"))
	if err != nil {
		return nil, err
	}
	var out []sightsing.Clip
	for _, c := range clips {
		if c.Side == sightsing.Tune && strings.HasPrefix(c.Licence, "MIT") {
			out = append(out, c)
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("no clips to learn from in %s: give the data folder by -data", dir)
	}
	return out, nil
}

func clipSound(c sightsing.Clip) (sound, error) {
	s, err := soundfile.Read(c.Sound)
	if err != nil {
		return sound{}, err
	}
	out := sound{samples: s.Samples, rate: s.Rate}
	for i, n := range c.Notes {
		out.labels = append(out.labels, label{n.Onset, n.Offset, c.Truth(i)})
	}
	return out, nil
}

// clipExamples makes the examples of each clip that a recipe asks for: by kind, then copy.
func clipExamples(clips []sightsing.Clip, r recipe, seed uint64) ([][][]example, error) {
	out := make([][][]example, len(clips))
	errs := make([]error, len(clips))
	parallel(len(clips), func(i int) {
		s, err := clipSound(clips[i])
		if err != nil {
			errs[i] = err
			return
		}
		s.reduce(r.rate)
		out[i] = make([][]example, len(r.kinds))
		copies := 0
		for k, kind := range r.kinds {
			for range kind.copies {
				v := s
				rng := rand.New(rand.NewPCG(seed, uint64(i*1000+copies)))
				copies++
				if kind.hurried {
					v = hurried(v, rng)
				}
				if kind.varied {
					v = varied(v, kind.by, rng)
				}
				out[i][k] = append(out[i][k], learn(v))
			}
		}
	})
	return out, errors.Join(errs...)
}

// reduce brings the sound to a lower rate; 0: it stays.
func (s *sound) reduce(rate int) {
	if rate == 0 || s.rate <= rate {
		return
	}
	s.samples = resample.Whole[float32, float32](s.samples, s.rate, rate, 0.9, resample.Short)
	s.rate = rate
}

// parallel runs f(0) to f(n-1) on all cores.
func parallel(n int, f func(int)) {
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
}
