// Bleed measures how well the known backing is taken out of real voices in simulated rooms, and prints one table.
//
//	go run ./testdata/bleed [-data DIR] [-set tune|kept|all] [-step N] [-only TEXT] [-seed N]
//
// The recordings are public but no part of the project. They are looked for in DIR, else where the environment variable LARKHAND_DATA
// says, else in ../shared/data beside the repository; without them the command says so and ends with 0. Constants are chosen on the
// set "tune" only; "kept" is for reporting.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"larkhand/internal/bleed/trial"
	"larkhand/internal/data/datadir"
	"larkhand/internal/data/sightsing"
)

func main() {
	data := flag.String("data", "", "folder with the recordings (default: $"+datadir.Variable+", else ../shared/data)")
	set := flag.String("set", "kept", "clips to measure on: tune, kept or all")
	step := flag.Int("step", 1, "take every so many-th clip only")
	only := flag.String("only", "", "conditions whose name holds this text")
	seed := flag.Uint64("seed", 1, "number that the simulated loops and noises depend on")
	flag.Parse()
	if err := run(os.Stdout, *data, *set, *only, *step, *seed); err != nil {
		fmt.Fprintln(os.Stderr, "bleed:", err)
		os.Exit(1)
	}
}

// run prints the table.
func run(w io.Writer, data, set, only string, step int, seed uint64) error {
	if !slices.Contains([]string{"tune", "kept", "all"}, set) || step < 1 {
		return fmt.Errorf("set %q, step %d: use tune, kept or all, and a step of at least 1", set, step)
	}
	root, ok := data, data != ""
	if !ok {
		root, ok = datadir.Find()
	}
	if _, err := os.Stat(filepath.Join(root, "sightsing")); !ok || err != nil {
		fmt.Fprintf(w, "skipped: no data. Name its folder with -data or %s; it should hold sightsing.\n", datadir.Variable)
		return nil
	}
	clips, err := sightsing.Load(filepath.Join(root, "sightsing"))
	if err != nil {
		return err
	}
	clips = slices.DeleteFunc(clips, func(c sightsing.Clip) bool { return set != "all" && string(c.Side) != set })
	var some []sightsing.Clip
	for i := 0; i < len(clips); i += step {
		some = append(some, clips[i])
	}
	conditions := slices.DeleteFunc(trial.Conditions(), func(c trial.Condition) bool { return !strings.Contains(c.Name, only) })
	rows, err := trial.Run(some, conditions, seed)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "Known backing taken out of the take (%s, %d clips)\n", set, len(some))
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, strings.Join(trial.Head(), "\t"))
	for _, row := range trial.Cells(rows) {
		fmt.Fprintln(table, strings.Join(row, "\t"))
	}
	if err := table.Flush(); err != nil {
		return err
	}
	seconds, work := 0.0, 0.0
	for _, r := range rows {
		seconds, work = seconds+r.Seconds, work+r.CPU
	}
	fmt.Fprintf(w, "Taking out took %.3f s per s of take, with all cores at work.\n", work/max(seconds, 1))
	return nil
}
