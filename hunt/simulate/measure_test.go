package simulate_test

import (
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"larkhand/hunt"
	"larkhand/hunt/simulate"
	"larkhand/internal/data/datadir"
	"larkhand/internal/data/piano"
	"larkhand/internal/data/solos"
	"larkhand/match"
)

// The measurements print their tables with
//
//	go test -v -run Measure ./hunt/simulate
//
// Their bounds are the figures that were reached, with room for another seed: they guard against a change for the worse.

// pianoSet is the piano performances, with the piece as its median player plays it.
type pianoSet struct {
	all       []piano.Performance
	faultless [][]match.Played
	pianists  []int // who played each of the faultless ones
	song      []match.Sung
}

func loadPiano(t *testing.T) pianoSet {
	t.Helper()
	root, ok := datadir.Find()
	if !ok {
		t.Skip("skipped: no data")
	}
	folder := filepath.Join(root, "piano")
	all, err := piano.Load(folder)
	if err != nil {
		t.Fatal(err)
	}
	ideal, err := piano.Ideal(folder)
	if err != nil {
		t.Fatal(err)
	}
	set := pianoSet{all: all}
	var paces []float64
	for _, p := range all {
		if p.Distance == 0 {
			set.faultless = append(set.faultless, p.Notes)
			set.pianists = append(set.pianists, p.Subject)
			paces = append(paces, (p.Notes[len(p.Notes)-1].Onset-p.Notes[0].Onset)/float64(len(p.Notes)-1))
		}
	}
	slices.Sort(paces)
	pace := paces[len(paces)/2]
	rhythm := append(simulate.MedianRhythm(set.faultless), 1)
	at := 0.0
	for i, key := range ideal {
		set.song = append(set.song, match.Sung{
			Onset: at, Offset: at + 0.9*pace*rhythm[i], Pitch: float64(key), Semitone: key,
			Chance: [3]float64{0.02, 0.96, 0.02}, Confidence: 0.95,
		})
		at += pace * rhythm[i]
	}
	return set
}

// tally counts findings.
type tally struct {
	n, notKnown, searched, shown int
	kinds                        map[hunt.Kind]int // cases that show this kind
}

func (c *tally) add(f hunt.Finding) {
	c.n++
	if f.Searched >= 0.5 {
		c.notKnown++
	}
	if f.Searched > 0.8 {
		c.searched++
	}
	if len(f.Evidence) > 0 {
		c.shown++
	}
	if c.kinds == nil {
		c.kinds = map[hunt.Kind]int{}
	}
	seen := map[hunt.Kind]bool{}
	for _, e := range f.Evidence {
		if !seen[e.Kind] {
			seen[e.Kind] = true
			c.kinds[e.Kind]++
		}
	}
}

// percent is the share of x in all cases, in percent.
func (c *tally) percent(x int) float64 { return 100 * float64(x) / float64(max(c.n, 1)) }

func (c *tally) String() string {
	return fmt.Sprintf("n %5d   over .5 %6.2f %%   over .8 %6.2f %%   evidence shown %6.2f %%",
		c.n, c.percent(c.notKnown), c.percent(c.searched), c.percent(c.shown))
}

func judge(sung []match.Sung, played []match.Played, opt hunt.Options) hunt.Finding {
	return hunt.Find(sung, played, match.Align(sung, played), opt)
}

// TestMeasureFluent cuts the faultless performances into phrases of 3 to 12 notes; the singer is the median rhythm with
// onset noise.
func TestMeasureFluent(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	set := loadPiano(t)
	most := map[int]float64{20: 0.1, 30: 0.3, 40: 1} // percent over .5
	for _, ms := range []int{20, 30, 40} {
		rng := rand.New(rand.NewPCG(1, uint64(ms)))
		var c tally
		for _, notes := range set.faultless {
			for start := 0; start+3 <= len(notes); {
				end := min(start+3+rng.IntN(10), len(notes))
				c.add(judge(simulate.Blur(rng, set.song[start:end], float64(ms)/1000), notes[start:end], hunt.Options{}))
				start = end
			}
		}
		t.Logf("onset noise %d ms: %v", ms, &c)
		if c.percent(c.notKnown) > most[ms] {
			t.Errorf("onset noise %d ms: %.2f %% of faultless phrases are not known, want at most %v", ms, c.percent(c.notKnown), most[ms])
		}
	}
}

// window is one real error with the notes around it.
type window struct {
	class  string
	sung   []match.Sung
	played []match.Played
}

// TestMeasureRealErrors judges the real errors of trained pianists, each with four right notes before and after (twelve
// after, where the piece was started twice). They play a prepared piece, so most errors are slips of the hand.
func TestMeasureRealErrors(t *testing.T) {
	set := loadPiano(t)
	counts := map[string]*tally{}
	for _, p := range set.all {
		if p.Distance == 0 || p.Distance > 20 {
			continue
		}
		for _, w := range windows(set.song, p.Notes) {
			if counts[w.class] == nil {
				counts[w.class] = &tally{}
			}
			f := judge(w.sung, w.played, hunt.Options{})
			counts[w.class].add(f)
			if f.Label != hunt.Known {
				t.Logf("%s in %s: p %.2f %s", w.class, p.ID, f.Searched, texts(f))
			}
		}
	}
	for _, class := range []string{slipped, struckAgain, laid, several, fromTop, other} {
		if counts[class] == nil {
			t.Fatalf("no errors of the class %q", class)
		}
		t.Logf("%-24s %v", class, counts[class])
	}
	if c := counts[slipped]; c.percent(c.notKnown) > 5 {
		t.Errorf("slips: %v", c)
	}
	if c := counts[laid]; c.notKnown > 1 {
		t.Errorf("laid fingers: %v", c)
	}
	if c := counts[fromTop]; c.searched < c.n {
		t.Errorf("restarts from the top: %v", c)
	}
}

// Classes of real extra notes.
const (
	slipped     = "within 70 ms of a right note"
	struckAgain = "right key again"
	laid        = "soft, far from right notes"
	several     = "several extra keys"
	fromTop     = "from the top again"
	other       = "another single key"
)

// windows cuts out each group of extra notes of a performance.
func windows(song []match.Sung, notes []match.Played) []window {
	pairs := match.Align(song, notes).Pairs
	var list []window
	for i := 0; i < len(pairs); i++ {
		if pairs[i].Verdict != match.Added {
			continue
		}
		end := i
		for end+1 < len(pairs) && pairs[end+1].Verdict == match.Added {
			end++
		}
		before, after := 4, 4
		if i == 0 {
			after = 12
		}
		w := window{class: classOf(pairs, i, end, notes)}
		for k := reach(pairs, i, -1, before); k <= reach(pairs, end, 1, after); k++ {
			if pairs[k].Sung != match.None {
				w.sung = append(w.sung, song[pairs[k].Sung])
			}
			if pairs[k].Played != match.None {
				w.played = append(w.played, notes[pairs[k].Played])
			}
		}
		list = append(list, w)
		i = end
	}
	return list
}

// reach walks from place i over n sung notes.
func reach(pairs []match.Pair, i, step, n int) int {
	for n > 0 && i+step >= 0 && i+step < len(pairs) {
		i += step
		if pairs[i].Sung != match.None {
			n--
		}
	}
	return i
}

func classOf(pairs []match.Pair, from, to int, notes []match.Played) string {
	extra := notes[pairs[from].Played]
	switch {
	case from == 0 && to > 1:
		return fromTop
	case to > from:
		return several
	}
	nearest, again, velocity := 1e9, false, 0.0
	for _, k := range []int{from - 1, to + 1} {
		if k < 0 || k >= len(pairs) || pairs[k].Played == match.None {
			continue
		}
		right := notes[pairs[k].Played]
		nearest = min(nearest, max(right.Onset-extra.Onset, extra.Onset-right.Onset))
		again = again || right.Pitch == extra.Pitch
		velocity = max(velocity, float64(right.Velocity))
	}
	switch {
	case nearest < 0.070:
		return slipped
	case nearest > 0.190 && float64(extra.Velocity) < 0.4*velocity:
		return laid
	case again:
		return struckAgain
	}
	return other
}

func texts(f hunt.Finding) string {
	var list []string
	for _, e := range f.Evidence {
		list = append(list, fmt.Sprintf("%s (%.1f)", e.Text, e.Weight))
	}
	return strings.Join(list, " ")
}

// loadPhrases gives the phrases of 3 to 12 notes of the solos.
func loadPhrases(t *testing.T) [][]solos.Note {
	t.Helper()
	return loadPhrasesOf(t, func(string) bool { return true })
}

// loadPhrasesOf gives those of the solos that are wanted.
func loadPhrasesOf(t *testing.T, wanted func(id string) bool) [][]solos.Note {
	t.Helper()
	root, ok := datadir.Find()
	if !ok {
		t.Skip("skipped: no data")
	}
	list, err := solos.Load(filepath.Join(root, "solos"))
	if err != nil {
		t.Fatal(err)
	}
	var phrases [][]solos.Note
	for _, solo := range list {
		for _, p := range solo.Phrases() {
			if wanted(solo.ID) && len(p) >= 3 && len(p) <= 12 {
				phrases = append(phrases, p)
			}
		}
	}
	return phrases
}

// bench makes cases out of real phrases with real timing.
type bench struct {
	phrases [][]solos.Note
	timing  simulate.Timing
}

const heardNoise = 0.030 // s, standard deviation of sung onsets as a voice tracker reports them

// each judges one case a phrase. put makes the case from the fluent one; a case without the fault that it should hold,
// because the phrase is too short, is left out.
func (b bench) each(seed uint64, opt hunt.Options, faulty bool, put func(*rand.Rand, simulate.Case) simulate.Case, see func(hunt.Finding)) {
	rng := rand.New(rand.NewPCG(seed, 4))
	for _, phrase := range b.phrases {
		var keys []int
		var onsets, durations []float64
		for _, n := range phrase {
			keys = append(keys, n.Key)
			onsets = append(onsets, n.Onset)
			durations = append(durations, n.Duration)
		}
		c := put(rng, simulate.Answer(rng, simulate.Sing(rng, keys, onsets, durations, 0), b.timing))
		if faulty && len(c.Faults) == 0 {
			continue
		}
		see(judge(simulate.Blur(rng, c.Sung, heardNoise), c.Played, opt))
	}
}

var allKinds = []hunt.Kind{hunt.Correction, hunt.Creep, hunt.Hesitation, hunt.Restart, hunt.Touch}

// TestMeasureGenerated puts generated search and look-alikes into phrases of real solos that are played with real timing.
func TestMeasureGenerated(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	b := bench{loadPhrases(t), simulate.NewRecorded(loadPiano(t).faultless)}
	least := map[hunt.Kind][3]float64{ // percent over .5 at strength 1, 2, 3
		hunt.Correction: {72, 96, 98}, hunt.Creep: {96, 98, 98}, hunt.Hesitation: {36, 77, 81}, hunt.Restart: {93, 95, 97},
		hunt.Touch: {86, 97, 97},
	}
	for _, kind := range allKinds {
		for strength := 1; strength <= 3; strength++ {
			var c tally
			b.each(3, hunt.Options{}, true, func(rng *rand.Rand, fluent simulate.Case) simulate.Case {
				return simulate.Put(rng, fluent, kind, strength)
			}, c.add)
			t.Logf("%-30s %v   this kind shown %5.1f %%", fmt.Sprintf("%s, strength %d", kind, strength), &c, c.percent(c.kinds[kind]))
			if want := least[kind][strength-1]; c.percent(c.notKnown) < want {
				t.Errorf("%s at strength %d: %.1f %% over .5, want at least %v", kind, strength, c.percent(c.notKnown), want)
			}
		}
	}
	most := map[simulate.Look]float64{ // percent over .5, where more than 2 is known
		simulate.LostSung: 10, simulate.LongShort: 4, simulate.Rubato: 3.5,
	}
	var together tally
	for _, look := range simulate.Looks {
		var c tally
		opt := hunt.Options{Guitar: look == simulate.Ghost}
		b.each(5, opt, false, func(rng *rand.Rand, fluent simulate.Case) simulate.Case {
			return simulate.LookAlike(rng, fluent, look)
		}, func(f hunt.Finding) { c.add(f); together.add(f) })
		t.Logf("%-30s %v", look, &c)
		if want := max(most[look], 2); c.percent(c.notKnown) > want {
			t.Errorf("%s: %.1f %% over .5, want at most %v", look, c.percent(c.notKnown), want)
		}
	}
	t.Logf("%-30s %v", "all look-alikes", &together)
}

// inHalfA splits pianists ("pianist 7") and solos (their ID) in two by the FNV-1a hash of the name: what package hunt says
// was set on half A was set there, and reported from half B.
func inHalfA(name string) bool {
	h := fnv.New32a()
	h.Write([]byte(name))
	return h.Sum32()%2 == 0
}

// TestMeasureHalves gives the sums over all kinds for each half of the pianists and solos by itself.
func TestMeasureHalves(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	set := loadPiano(t)
	for _, half := range []string{"A", "B"} {
		var runs [][]match.Played
		for i, notes := range set.faultless {
			if inHalfA(fmt.Sprintf("pianist %d", set.pianists[i])) == (half == "A") {
				runs = append(runs, notes)
			}
		}
		b := bench{loadPhrasesOf(t, func(id string) bool { return inHalfA(id) == (half == "A") }), simulate.NewRecorded(runs)}
		var light, strong, looks tally
		for round := range uint64(4) {
			for _, kind := range allKinds {
				for strength := 1; strength <= 3; strength++ {
					c := &strong
					if strength == 1 {
						c = &light
					}
					b.each(30+round, hunt.Options{}, true, func(rng *rand.Rand, fluent simulate.Case) simulate.Case {
						return simulate.Put(rng, fluent, kind, strength)
					}, c.add)
				}
			}
			for _, look := range simulate.Looks {
				b.each(40+round, hunt.Options{Guitar: look == simulate.Ghost}, false, func(rng *rand.Rand, fluent simulate.Case) simulate.Case {
					return simulate.LookAlike(rng, fluent, look)
				}, looks.add)
			}
		}
		t.Logf("half %s, strength 1:       %v", half, &light)
		t.Logf("half %s, strength 2 and 3: %v", half, &strong)
		t.Logf("half %s, look-alikes:      %v", half, &looks)
		if light.percent(light.notKnown) < 79 || strong.percent(strong.searched) < 93 || looks.percent(looks.searched) > 0.5 {
			t.Errorf("half %s is worse than it was", half)
		}
	}
}

// TestMeasureReliability compares the probability with the truth, one half of the cases searched for (all kinds and
// strengths alike), the other known (half of them look-alikes).
func TestMeasureReliability(t *testing.T) {
	b := bench{loadPhrases(t), simulate.NewRecorded(loadPiano(t).faultless)}
	edges := []float64{0.2, 0.35, 0.5, 0.65, 0.8, 0.95, 1}
	type bin struct{ n, searched, sum float64 }
	bins := make([]bin, len(edges))
	see := func(searched float64) func(hunt.Finding) {
		return func(f hunt.Finding) {
			i := 0
			for f.Searched > edges[i] {
				i++
			}
			bins[i].n++
			bins[i].sum += f.Searched
			bins[i].searched += searched
		}
	}
	for round := range uint64(3) {
		b.each(10+round, hunt.Options{}, true, func(rng *rand.Rand, c simulate.Case) simulate.Case {
			return simulate.Put(rng, c, allKinds[rng.IntN(len(allKinds))], 1+rng.IntN(3))
		}, see(1))
		b.each(20+round, hunt.Options{}, false, func(rng *rand.Rand, c simulate.Case) simulate.Case {
			if look := simulate.Looks[rng.IntN(len(simulate.Looks))]; rng.IntN(2) == 0 && look != simulate.Ghost {
				return simulate.LookAlike(rng, c, look)
			}
			return c
		}, see(0))
	}
	for i, b := range bins {
		t.Logf("p up to %.2f: n %5.0f, mean p %.3f, searched %.3f", edges[i], b.n, b.sum/b.n, b.searched/b.n)
	}
	if first, last := bins[0], bins[len(bins)-1]; first.searched/first.n > 0.2 || last.searched/last.n < 0.98 {
		t.Errorf("the ends are off: %+v %+v", first, last)
	}
}
