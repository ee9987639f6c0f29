// Ladder draws how internal/ladder leads simulated players: testdata/ladder.svg of the developers' page.
//
//	go run ./testdata/ladder [-out FILE] [-players N] [-seed N]
//
// Each player answers by a logistic curve around a true ability; three kinds of players, the mean over many of each.
package main

import (
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strings"

	"larkhand/internal/ladder"
)

// kind is one kind of player.
type kind struct {
	name             string
	ability, perPlay float64 // difficulty at which half the answers are known at first, and what each round adds
	dash             string
}

var kinds = []kind{
	{"stays at 4", 4, 0, ""},
	{"stays at 7", 7, 0, "7 3"},
	{"starts at 4, gains 3 in 100", 4, 0.03, "2 3"},
}

const (
	rounds = 120
	window = 10 // rounds whose share of known answers is one point
	slope  = 0.9
)

// course is the mean over players: the difficulty proposed in each round, and the share of known answers.
type course struct{ difficulty, known [rounds]float64 }

func play(k kind, players int, seed uint64) course {
	var c course
	for p := range players {
		rng, l, ability := rand.New(rand.NewPCG(seed, uint64(p))), ladder.New(ladder.Standard), k.ability
		for r := range rounds {
			size := ladder.Rungs[l.Rung()].Size
			d := ladder.Standard.Difficulty(size)
			known := rng.Float64() < 1/(1+math.Exp((d-ability)/slope))
			l.Add(ladder.Try{Size: size, Known: known})
			c.difficulty[r] += d / float64(players)
			if known {
				c.known[r] += 1 / float64(players)
			}
			ability += k.perPlay
		}
	}
	return c
}

func main() {
	out := flag.String("out", "testdata/ladder.svg", "file to write")
	players := flag.Int("players", 400, "players of each kind")
	seed := flag.Uint64("seed", 1, "number that the answers depend on")
	flag.Parse()
	if err := run(*out, *players, *seed); err != nil {
		fmt.Fprintln(os.Stderr, "ladder:", err)
		os.Exit(1)
	}
}

func run(out string, players int, seed uint64) error {
	var courses []course
	for _, k := range kinds {
		c := play(k, players, seed)
		sum := 0.0
		for _, share := range c.known[40:] {
			sum += share / float64(rounds-40)
		}
		fmt.Printf("%-42s known in rounds 41 to %d: %.1f %%\n", k.name, rounds, 100*sum)
		courses = append(courses, c)
	}
	var b strings.Builder
	draw(&b, courses)
	return os.WriteFile(out, []byte(b.String()), 0o644)
}

// The picture, in pixels.
const (
	left, width   = 52.0, 620.0
	top, each     = 36.0, 150.0
	between       = 46.0
	mostDifficult = 8.0
)

func x(round float64) float64 { return left + width*round/rounds }

// draw writes the picture: the proposed difficulty above, the share of known answers below.
func draw(w io.Writer, courses []course) {
	fmt.Fprintf(w, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 700 440" font-family="sans-serif" font-size="12" role="img">
<title>How the ladder leads three kinds of simulated players over %d rounds</title>
<style>text{fill:#333}path{fill:none;stroke:#1b6a72;stroke-width:2}.grid{stroke:#bbb;stroke-width:1}.aim{fill:#1b6a7222}@media(prefers-color-scheme:dark){text{fill:#ddd}path{stroke:#7ac7cf}.grid{stroke:#555}.aim{fill:#7ac7cf33}}</style>
`, rounds)
	difficulty := func(v float64) float64 { return top + each*(1-v/mostDifficult) }
	share := func(v float64) float64 { return top + each + between + each*(1-v) }
	fmt.Fprintf(w, `<text x="%g" y="%g">difficulty of the phrase proposed</text>`+"\n", left, top-12)
	fmt.Fprintf(w, `<text x="%g" y="%g">share of answers known (%d rounds); the band is 80 to 90 %%</text>`+"\n", left, top+each+between-12, window)
	fmt.Fprintf(w, `<rect class="aim" x="%g" y="%.1f" width="%g" height="%.1f"/>`+"\n", left, share(0.9), width, share(0.8)-share(0.9))
	for v := 0.0; v <= mostDifficult; v += 2 {
		grid(w, difficulty(v), fmt.Sprint(v))
	}
	for v := 0.0; v <= 1; v += 0.5 {
		grid(w, share(v), fmt.Sprintf("%.0f %%", 100*v))
	}
	for r := 0.0; r <= rounds; r += 20 {
		fmt.Fprintf(w, `<text x="%.1f" y="%.1f" text-anchor="middle">%.0f</text>`+"\n", x(r), share(0)+18, r)
	}
	for i, c := range courses {
		line(w, kinds[i].dash, c.difficulty[:], 1, difficulty)
		line(w, kinds[i].dash, c.known[:], window, share)
		y := share(0) + 38
		at := left + 170*float64(i)
		fmt.Fprintf(w, `<path stroke-dasharray="%s" d="M%.0f %.1fh28"/><text x="%.0f" y="%.1f">%s</text>`+"\n", kinds[i].dash, at, y-4, at+34, y, kinds[i].name)
	}
	fmt.Fprintln(w, "</svg>")
}

func grid(w io.Writer, y float64, label string) {
	fmt.Fprintf(w, `<path class="grid" d="M%g %.1fh%g"/><text x="%g" y="%.1f" text-anchor="end">%s</text>`+"\n", left, y, width, left-6, y+4, label)
}

// line draws the means of so many rounds each.
func line(w io.Writer, dash string, values []float64, mean int, y func(float64) float64) {
	var d strings.Builder
	for r := 0; r+mean <= len(values); r += mean {
		sum := 0.0
		for _, v := range values[r : r+mean] {
			sum += v / float64(mean)
		}
		command := "L"
		if r == 0 {
			command = "M"
		}
		fmt.Fprintf(&d, "%s%.1f %.1f", command, x(float64(r)+float64(mean)/2), y(sum))
	}
	fmt.Fprintf(w, `<path stroke-dasharray="%s" d="%s"/>`+"\n", dash, d.String())
}
