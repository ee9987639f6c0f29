// Command bigjournal makes a journal as large as a life of practice: invented players, invented phrases, judged by the same code as
// real rounds. Takes and answers are not kept as files.
//
//	go run ./testdata/bigjournal -dir /tmp/big                 100,000 rounds, 1.2 million sung notes
//	go run ./testdata/bigjournal -dir /tmp/big -measure        the times that a player waits, in the journal that is there
//
// The same -seed gives the same rounds.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"time"

	"larkhand/internal/journal"
)

// batch is how many rounds are saved in one transaction: with many more the log of the database grows large.
const batch = 5000

func main() {
	dir := flag.String("dir", "", "folder of the journal")
	rounds := flag.Int("rounds", 100_000, "rounds to make")
	players := flag.Int("players", 3, "players who take turns")
	seed := flag.Uint64("seed", 1, "of the random numbers")
	only := flag.Bool("measure", false, "measure the journal that is there, make nothing")
	flag.Parse()
	if *dir == "" {
		fmt.Fprintln(os.Stderr, "bigjournal: name a folder with -dir")
		os.Exit(2)
	}
	err := error(nil)
	if *only {
		err = measure(*dir)
	} else {
		err = fill(*dir, *rounds, *players, *seed)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "bigjournal:", err)
		os.Exit(1)
	}
}

// fill makes the journal.
func fill(dir string, rounds, players int, seed uint64) error {
	j, err := journal.Open(dir)
	if err != nil {
		return err
	}
	defer j.Close()
	start := time.Now()
	s, err := newSeason(seed, players)
	if err != nil {
		return err
	}
	for made := 0; made < rounds; {
		n, err := j.Load(context.Background(), s.entries(min(batch, rounds-made)))
		if err != nil {
			return err
		}
		made += n
	}
	fmt.Printf("%d rounds in %.0f s, in %s\n", rounds, time.Since(start).Seconds(), j.Where().Database)
	return nil
}
