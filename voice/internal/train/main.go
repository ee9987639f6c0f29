// Command train makes the weights of the networks that mark where sung notes
// begin and end:
//
//	go run ./voice/internal/train -data DIR -recipe steady -out voice/internal/marks/steady.bin
//	go run ./voice/internal/train -data DIR -recipe runs -out voice/internal/marks/runs.bin
//
// It learns from the tuning side of the sight-singing clips under the MIT
// licence and from singers rendered by internal/singer; the seed is fixed. With
// -folds N it trains N times, each time without a part of the clips' families,
// and prints the scores on that part: figures to choose constants by.
package main

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"larkhand/internal/data/datadir"
	"larkhand/internal/data/sightsing"
	"larkhand/voice/internal/marks"
)

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "train:", err)
		os.Exit(1)
	}
}

func run() error {
	found, _ := datadir.Find()
	data := flag.String("data", found, "folder with the sight-singing clips")
	out := flag.String("out", "", "file for the weights; with -folds a folder for those of each fold")
	folds := flag.Int("folds", 0, "train so many times, each without a part of the clips")
	first := flag.Int("first", 0, "with -folds: the fold to begin with; fold 0 holds the largest family")
	only := flag.Bool("score", false, "with -folds: do not train, score the weights that lie in the folder")
	name := flag.String("recipe", recipes[0].name, "which weights to make: "+recipeNames())
	steps := flag.Int("steps", 0, "training steps, where they shall be others than the recipe's")
	singers := flag.Int("singers", 240, "takes of rendered singers")
	seed := flag.Uint64("seed", 1, "seed of everything random")
	flag.Parse()
	if *data == "" {
		return errors.New("no data: give the folder with the sight-singing clips by -data")
	}
	if *out == "" {
		return errors.New("say by -out where the weights go")
	}
	r := findRecipe(*name)
	if r == nil {
		return fmt.Errorf("-recipe %q is unknown: use %s", *name, recipeNames())
	}
	clips, err := realClips(*data)
	if err != nil {
		return err
	}
	if *folds > 0 && *only {
		return report(clips, foldOf(clips, *folds), *folds, *first, *out)
	}
	t := trainer{clips: clips, recipe: *r, fit: r.fit}
	t.fit.seed = *seed
	if *steps > 0 {
		t.fit.steps = *steps
	}
	if err := t.prepare(*singers); err != nil {
		return err
	}
	if *folds > 0 {
		return t.crossValidate(*folds, *first, *out)
	}
	return t.train(func(sightsing.Clip) bool { return true }, *out)
}

type trainer struct {
	clips    []sightsing.Clip
	recipe   recipe
	examples [][][]example // of each clip, by kind
	singers  []example
	fit      fitOptions
}

// prepare makes all examples.
func (t *trainer) prepare(singers int) error {
	start := time.Now()
	var err error
	if t.examples, err = clipExamples(t.clips, t.recipe, t.fit.seed); err != nil {
		return err
	}
	t.singers = singerExamples(singers, t.fit.seed)
	fmt.Fprintf(os.Stderr, "%d clips and %d rendered singers prepared in %.0f s\n", len(t.clips), singers, time.Since(start).Seconds())
	return nil
}

// diet is what is learned from the singers and from the clips that use allows.
func (t *trainer) diet(use func(sightsing.Clip) bool) []portion {
	var diet []portion
	for _, share := range t.recipe.shares {
		diet = append(diet, portion{share: share})
	}
	diet[0].examples = slices.Clone(t.singers)
	for i, c := range t.clips {
		if !use(c) {
			continue
		}
		for k, copies := range t.examples[i] {
			p := &diet[t.recipe.kinds[k].portion]
			p.examples = append(p.examples, copies...)
		}
	}
	return diet
}

// train fits a network to the clips that use allows and to the singers, and stores it.
func (t *trainer) train(use func(sightsing.Clip) bool, out string) error {
	start := time.Now()
	n, loss := fit(t.diet(use), t.fit)
	fmt.Fprintf(os.Stderr, "loss %.4f, %.0f s\n", loss, time.Since(start).Seconds())
	return store(n, out)
}

func store(n *marks.Network, path string) error {
	f, err := os.Create(path + ".new")
	if err != nil {
		return err
	}
	if err := errors.Join(n.Write(f), f.Close()); err != nil {
		return err
	}
	return os.Rename(path+".new", path)
}

// crossValidate trains on all but one fold at a time; families stay together.
func (t *trainer) crossValidate(folds, first int, dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	fold := foldOf(t.clips, folds)
	for k := first; k < folds; k++ {
		if err := t.train(func(c sightsing.Clip) bool { return fold[c.ID] != k }, filepath.Join(dir, fmt.Sprintf("fold%d.bin", k))); err != nil {
			return err
		}
	}
	return report(t.clips, fold, folds, first, dir)
}
