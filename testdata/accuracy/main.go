// Accuracy measures larkhand on real singing and real playing and prints the tables of the README.
//
//	go run ./testdata/accuracy [-data DIR] [-set tune|kept|all] [-only SECTIONS] [-quick] [-markdown] [-seed N]
//
// The data is public but no part of the project. It is looked for in DIR, else where the environment variable LARKHAND_DATA says, else
// in ../shared/data beside the repository; without it the command says so and ends with 0.
//
// The sections:
//
//   - peers: the clips heard by larkhand and by general-purpose pitch trackers with a plain fit, with the CPU time of each. It
//     comes first, alone, since it is timed.
//   - voice: the sung notes against those of trained annotators.
//   - frames: voicing in rests, pitch of tones with vibrato and breath in a room, octaves of clean tones.
//   - degraded: copies of the clips with noise, hum, clipping, a small microphone, a room, a hall.
//   - rendered: phrases of real solos sung by general-purpose synthesizers (internal/render), slow and fast, in ten styles.
//   - bleed: clips sung beside a loudspeaker in simulated rooms, the known loop taken out, against the clean voice.
//   - rounds: clips cut at rests into phrases, each played back as a MIDI file with the timing of real pianists and at most one
//     fault; sound and file go through the whole program. Counted are blame without cause, missed faults, and false evidence of searching.
//   - takes: the same with two takes against one.
//   - steps: players who fail in one or two links between voice and fingers, and whether that link is named.
//   - hunt: note lists without sound: real performances and their real errors, look-alikes, generated searching.
//
// At the end stands one table with all targets. What needs a program that is not installed says so and is left out.
//
// Constants of the program are chosen on the clips of the set "tune" only; "kept" is for reporting. So it is with the solos that are
// rendered: every second one belongs to either set.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"larkhand/internal/data/datadir"
	"larkhand/internal/data/sightsing"
)

// quickStep: the quick mode takes every fourth clip, performance and phrase of a solo.
const quickStep = 4

// settings are the command's flags.
type settings struct {
	data, set, only string
	quick, markdown bool
	seed            uint64
}

func main() {
	var s settings
	flag.StringVar(&s.data, "data", "", "folder with the recordings (default: $"+datadir.Variable+", else ../shared/data)")
	flag.StringVar(&s.set, "set", "kept", "clips to measure on: tune, kept or all")
	flag.StringVar(&s.only, "only", strings.Join(sectionNames, ","), "sections to print, with commas between")
	flag.BoolVar(&s.quick, "quick", false, "take every fourth clip, performance and solo phrase only")
	flag.BoolVar(&s.markdown, "markdown", false, "print Markdown tables")
	flag.Uint64Var(&s.seed, "seed", 1, "number that the random answers depend on")
	flag.Parse()
	if err := run(os.Stdout, s); err != nil {
		fmt.Fprintln(os.Stderr, "accuracy:", err)
		os.Exit(1)
	}
}

// sectionNames in the order of the report.
var sectionNames = []string{"peers", "voice", "frames", "degraded", "rendered", "bleed", "rounds", "takes", "steps", "hunt"}

// report is what the sections share.
type report struct {
	settings
	root  string
	clips []sightsing.Clip
	which string // of the clips, for titles
	goals goals
}

// section measures one section.
func (r *report) section(name string) ([]table, error) {
	switch name {
	case "peers":
		rows, err := peers(r.root, r.clips)
		if err != nil {
			return nil, err
		}
		return peerTables(rows, r.which, &r.goals), nil
	case "voice":
		return r.voice()
	case "frames":
		return r.frames()
	case "degraded":
		counts, err := degraded(r.clips, r.seed)
		if err != nil {
			return nil, err
		}
		return degradedTables(counts, r.which, &r.goals), nil
	case "rendered":
		count := renderedPhrases
		if r.quick {
			count = renderedQuickPhrases
		}
		heard, err := rendered(r.root, r.set, r.seed, count)
		if err != nil {
			return nil, err
		}
		return renderedTables(heard, r.set+" solos", &r.goals), nil
	case "bleed":
		return r.bleed()
	case "rounds":
		count, err := rounds(r.root, r.clips, r.seed)
		if err != nil {
			return nil, err
		}
		return roundTables(count, r.which, &r.goals), nil
	case "takes":
		hand, err := realHand(r.root)
		if err != nil {
			return nil, err
		}
		counts, err := twoTakes(r.clips, hand, r.seed)
		if err != nil {
			return nil, err
		}
		return takeTables(counts, r.which, &r.goals), nil
	case "steps":
		hand, err := realHand(r.root)
		if err != nil {
			return nil, err
		}
		counts, err := stepping(r.clips, hand, r.seed)
		if err != nil {
			return nil, err
		}
		return stepTables(counts, r.which, &r.goals), nil
	default:
		return r.hunt()
	}
}

// voice measures the notes.
func (r *report) voice() ([]table, error) {
	song, err := singSong(r.root)
	if err != nil {
		return nil, err
	}
	sounding, labelled, err := sightSinging(r.clips)
	if err != nil {
		return nil, err
	}
	return voiceTables(sounding, labelled, song, r.which, &r.goals), nil
}

// frames measures voicing and pitch of frames.
func (r *report) frames() ([]table, error) {
	song, err := singSong(r.root)
	if err != nil {
		return nil, err
	}
	count, err := framesOf(r.clips, r.seed)
	if err != nil {
		return nil, err
	}
	return frameTables(count, song.melody, r.which, &r.goals), nil
}

// hunt measures the finding on notes.
func (r *report) hunt() ([]table, error) {
	played, err := real(r.root, r.seed, r.step())
	if err != nil {
		return nil, err
	}
	tables := realTables(played, &r.goals)
	generated, err := hunting(r.root, r.seed, r.step())
	if err != nil {
		return nil, err
	}
	together, err := pool(r.root, r.seed, r.step())
	if err != nil {
		return nil, err
	}
	return append(append(tables, generated...), poolTables(together, &r.goals)...), nil
}

// run prints the sections.
func run(w io.Writer, s settings) error {
	wanted := strings.Split(s.only, ",")
	for _, section := range wanted {
		if !slices.Contains(sectionNames, section) {
			return fmt.Errorf("section %q is unknown: use %s, or several with commas between", section, strings.Join(sectionNames, ", "))
		}
	}
	root, ok := s.data, s.data != ""
	if !ok {
		root, ok = datadir.Find()
	}
	if _, err := os.Stat(filepath.Join(root, "sightsing")); !ok || err != nil {
		fmt.Fprintf(w, "skipped: no data. Name its folder with -data or %s; it should hold sightsing, vocadito, piano and solos.\n", datadir.Variable)
		return nil
	}
	clips, err := chosen(root, s)
	if err != nil {
		return err
	}
	r := report{settings: s, root: root, clips: clips, which: fmt.Sprintf("%s, %d clips", s.set, len(clips))}
	for _, name := range sectionNames {
		if !slices.Contains(wanted, name) {
			continue
		}
		tables, err := r.section(name)
		if err != nil {
			return fmt.Errorf("section %s: %w", name, err)
		}
		printTables(w, tables, s.markdown)
	}
	printTables(w, []table{r.goals.table(s.set)}, s.markdown)
	return nil
}

// printTables prints tables one below the other.
func printTables(w io.Writer, tables []table, markdown bool) {
	for _, t := range tables {
		t.write(w, markdown)
	}
}

// step is 1, or quickStep in the quick mode.
func (s settings) step() int {
	if s.quick {
		return quickStep
	}
	return 1
}

// chosen are the clips that the flags ask for.
func chosen(root string, s settings) ([]sightsing.Clip, error) {
	if !slices.Contains([]string{"tune", "kept", "all"}, s.set) {
		return nil, fmt.Errorf("set %q is unknown: use tune, kept or all", s.set)
	}
	clips, err := sightsing.Load(filepath.Join(root, "sightsing"))
	if err != nil {
		return nil, err
	}
	clips = slices.DeleteFunc(clips, func(c sightsing.Clip) bool { return s.set != "all" && string(c.Side) != s.set })
	var some []sightsing.Clip
	for i := 0; i < len(clips); i += s.step() {
		some = append(some, clips[i])
	}
	return some, nil
}
