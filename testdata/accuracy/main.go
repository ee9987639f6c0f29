// Accuracy measures larkhand on real singing and real playing and prints the tables of the README.
//
//	go run ./testdata/accuracy [-data DIR] [-set tune|kept|all] [-only voice,rounds,hunt] [-quick] [-markdown] [-seed N]
//
// The data is public but no part of the project. It is looked for in DIR, else where the environment variable LARKHAND_DATA says, else
// in ../shared/data beside the repository; without it the command says so and ends with 0.
//
// voice compares the sung notes with those of trained annotators. rounds cuts clips at rests into phrases, plays each back as a
// MIDI file with the timing of real pianists and at most one fault, sends sound and file through the whole program, and counts
// how often it blames without cause, misses a fault, or finds evidence of searching where there is none.
//
// hunt judges note lists without sound: real fluent performances, look-alikes, and generated searching in phrases of real solos.
//
// Constants of the program are chosen on the clips of the set "tune" only; "kept" is for reporting.
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
	flag.StringVar(&s.only, "only", "voice,rounds,hunt", "sections to print, with commas between")
	flag.BoolVar(&s.quick, "quick", false, "take every fourth clip, performance and solo phrase only")
	flag.BoolVar(&s.markdown, "markdown", false, "print Markdown tables")
	flag.Uint64Var(&s.seed, "seed", 1, "number that the random answers depend on")
	flag.Parse()
	if err := run(os.Stdout, s); err != nil {
		fmt.Fprintln(os.Stderr, "accuracy:", err)
		os.Exit(1)
	}
}

// run prints the sections.
func run(w io.Writer, s settings) error {
	sections := strings.Split(s.only, ",")
	for _, section := range sections {
		if !slices.Contains([]string{"voice", "rounds", "hunt"}, section) {
			return fmt.Errorf("section %q is unknown: use voice, rounds, hunt, or several with commas between", section)
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
	which := fmt.Sprintf("%s, %d clips", s.set, len(clips))
	if slices.Contains(sections, "voice") {
		if err := printVoice(w, root, clips, which, s.markdown); err != nil {
			return err
		}
	}
	if slices.Contains(sections, "rounds") {
		count, err := rounds(root, clips, s.seed)
		if err != nil {
			return err
		}
		printTables(w, roundTables(count, which), s.markdown)
	}
	if slices.Contains(sections, "hunt") {
		tables, err := hunting(root, s.seed, s.step())
		if err != nil {
			return err
		}
		printTables(w, tables, s.markdown)
	}
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

// printVoice prints the section of notes. The song is analysed first, alone, since it is timed.
func printVoice(w io.Writer, root string, clips []sightsing.Clip, which string, markdown bool) error {
	song, err := singSong(root)
	if err != nil {
		return err
	}
	sounding, labelled, err := sightSinging(clips)
	if err != nil {
		return err
	}
	printTables(w, voiceTables(sounding, labelled, song, which), markdown)
	return nil
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
