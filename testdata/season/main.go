// Command season makes a season of practice of four invented players: 80 sessions over two months, sung and played into files, judged and
// kept by larkhand itself, and exported as one bundle a player.
//
//	go run ./testdata/season -dir /tmp/season
//
// then lie in /tmp/season: rounds/ (the files, as "larkhand check --batch" takes them), journal/, and class/ with a bundle a player:
//
//	larkhand progress --journal /tmp/season/journal --player Ilvane
//	larkhand class /tmp/season/class --out class.html
//
// With -pictures FOLDER the report of a player and the class table are drawn there as report.png and class.png, by Chromium:
//
//	go run ./testdata/season -dir /tmp/season -pictures testdata
//
// Each player has one habit and one story, which players.go tells. In three sessions of each the takes are sound, sung by package singer;
// in the others they are MIDI files, so that a season is made in two minutes. The same -seed makes the same files.
package main

import (
	"cmp"
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
)

func main() {
	dir := flag.String("dir", "", "folder to write, which must not be there")
	seed := flag.Uint64("seed", 1, "of the random numbers")
	larkhand := flag.String("larkhand", "", "the program to judge with; built from this source if not given")
	pictures := flag.String("pictures", "", "`folder` for report.png and class.png, as the README shows them; needs Chromium")
	flag.Parse()
	if *dir == "" {
		fmt.Fprintln(os.Stderr, "season: name a folder with -dir")
		os.Exit(2)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	err := run(ctx, *dir, whole(*seed), *larkhand, os.Stdout)
	if err == nil && *pictures != "" {
		err = draw(ctx, *dir, cmp.Or(*larkhand, built(*dir)), *pictures, shots)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "season:", err)
		os.Exit(1)
	}
}

// size is how long a season is.
type size struct {
	seed     uint64
	sessions int          // of each player
	rounds   int          // of each session
	sound    map[int]bool // the sessions, from 0, whose takes are sound
}

// whole is the usual size: 80 sessions. 36 rounds of sound are a little more than what a claim on takes needs.
func whole(seed uint64) size {
	return size{seed: seed, sessions: 20, rounds: 12, sound: map[int]bool{1: true, 10: true, 19: true}}
}

// The folders of a season.
const (
	roundsDir  = "rounds"
	journalDir = "journal"
	classDir   = "class"
)

// built is the program, where none was named.
func built(dir string) string { return filepath.Join(dir, "larkhand") }

// run makes the files and lets larkhand judge, keep and export them.
func run(ctx context.Context, dir string, s size, larkhand string, out io.Writer) error {
	if err := os.Mkdir(dir, 0o755); err != nil {
		return err
	}
	if larkhand == "" {
		larkhand = built(dir)
		if text, err := exec.CommandContext(ctx, "go", "build", "-o", larkhand, "larkhand/cmd/larkhand").CombinedOutput(); err != nil {
			return fmt.Errorf("larkhand cannot be built: %s", text)
		}
	}
	n, err := s.write(filepath.Join(dir, roundsDir))
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%d rounds written\n", n)
	if err := os.Mkdir(filepath.Join(dir, classDir), 0o755); err != nil {
		return err
	}
	journal := filepath.Join(dir, journalDir)
	calls := [][]string{{"check", "--save", "--journal", journal, "--batch", filepath.Join(dir, roundsDir)}}
	for _, p := range players {
		zip := filepath.Join(dir, classDir, strings.ToLower(p.name)+".zip")
		calls = append(calls, []string{"export", "--journal", journal, "--player", p.name, "--out", zip})
	}
	for _, args := range calls {
		if _, err := call(ctx, larkhand, args...); err != nil {
			return err
		}
		fmt.Fprintln(out, "larkhand", args[0], "done")
	}
	return nil
}

// call runs larkhand and gives what it prints.
func call(ctx context.Context, larkhand string, args ...string) (string, error) {
	text, err := exec.CommandContext(ctx, larkhand, args...).Output()
	if err != nil {
		detail := ""
		if exit, ok := err.(*exec.ExitError); ok {
			detail = string(exit.Stderr)
		}
		return "", fmt.Errorf("larkhand %s: %w: %s", args[0], err, detail)
	}
	return string(text), nil
}
