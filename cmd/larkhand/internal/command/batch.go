package command

import (
	"context"
	"fmt"
	"io"
	"iter"
	"runtime"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"larkhand/internal/journal"
	"larkhand/internal/report"
	"larkhand/internal/round"
)

// outcome is what became of one round of a batch.
type outcome struct {
	found
	round round.Round
	entry *journal.Entry // for the journal; nil where the round is not to be kept, and once it is
	err   error
}

// checkBatch checks all rounds in dir on all cores. Each is told in one line, in the order of the names, as soon as it and
// those before it are done; a table follows. Rounds that cannot be checked are told too, and make the exit code 1.
func checkBatch(cmd *cobra.Command, dir string, flags settings, out outputs) error {
	if out.svg != "" {
		return wrongUse("--svg draws one round; leave out --batch and name the files of the round")
	}
	if _, err := flags.options(); err != nil {
		return err
	}
	if _, err := flags.backing.options(); err != nil {
		return err
	}
	rounds, err := findRounds(dir)
	if err != nil {
		return err
	}
	k, err := newKeeper(flags.saving)
	if err != nil {
		return err
	}
	defer k.close()
	done, err := checkAll(cmd, rounds, k, flags, out)
	if err != nil {
		k.tellKept(cmd.ErrOrStderr())
		return err
	}
	if !out.json {
		if err := table(cmd.OutOrStdout(), done); err != nil {
			return err
		}
	}
	if err := k.tell(out.beside(cmd)); err != nil {
		return err
	}
	broken := 0
	for _, o := range done {
		if o.err != nil {
			broken++
		}
	}
	if broken > 0 {
		return fmt.Errorf("%d of %s could not be checked; the reasons stand beside their names", broken, counted(len(done), "round"))
	}
	return nil
}

// checkAll checks the rounds, keeps them if wanted, and tells each.
func checkAll(cmd *cobra.Command, rounds []found, k *keeper, flags settings, out outputs) ([]outcome, error) {
	p := newBar(cmd.ErrOrStderr(), len(rounds))
	defer p.clear()
	done := make([]outcome, 0, len(rounds))
	check := func(ctx context.Context, f found) outcome { return checkFound(ctx, f, flags) }
	for o := range inOrder(cmd.Context(), rounds, check) {
		p.clear()
		if o.entry != nil {
			if _, err := k.save(cmd.Context(), *o.entry); err != nil {
				return nil, fmt.Errorf("%s: %w", o.name, err)
			}
			o.entry = nil
		}
		if err := tell(cmd, o, out); err != nil {
			return nil, err
		}
		done = append(done, o)
		p.show(len(done))
	}
	return done, cmd.Context().Err()
}

// inOrder does the work on all items on all cores and yields the results in the order of the list. When the caller stops or ctx is
// cancelled, items not yet begun are left out; it returns only when no worker is left.
func inOrder[T, R any](ctx context.Context, items []T, work func(context.Context, T) R) iter.Seq[R] {
	return func(yield func(R) bool) {
		ctx, cancel := context.WithCancel(ctx)
		var workers sync.WaitGroup
		defer workers.Wait()
		defer cancel()
		next := make(chan int)
		results := make([]chan R, len(items))
		for i := range results {
			results[i] = make(chan R, 1)
		}
		for range min(runtime.GOMAXPROCS(0), len(items)) {
			workers.Go(func() {
				for i := range next {
					results[i] <- work(ctx, items[i])
				}
			})
		}
		workers.Go(func() {
			defer close(next)
			for i := range items {
				select {
				case next <- i:
				case <-ctx.Done():
					return
				}
			}
		})
		for _, result := range results {
			select {
			case r := <-result:
				if !yield(r) {
					return
				}
			case <-ctx.Done():
				return
			}
		}
	}
}

// checkFound checks one round of a batch with its own settings.
func checkFound(ctx context.Context, f found, flags settings) outcome {
	o := outcome{found: f, err: f.fault}
	if o.err == nil && f.settings != "" {
		o.err = readSettings(f.settings, &flags)
	}
	if sounds := f.sounds(); len(sounds) > 0 {
		flags.backing.sounds = sounds
	}
	if o.err == nil {
		o.round, o.err = checkFiles(ctx, f.files(), flags)
	}
	if o.err == nil && flags.save {
		var e journal.Entry
		if e, o.err = entryOf(f.files(), o.round, flags); o.err == nil {
			o.entry = &e
		}
	}
	return o
}

// tell writes one line about a round: to standard output, or, beside JSON, faults to standard error.
func tell(cmd *cobra.Command, o outcome, out outputs) error {
	w := cmd.OutOrStdout()
	switch {
	case o.err != nil:
		if out.json {
			w = cmd.ErrOrStderr()
		}
		_, err := fmt.Fprintf(w, "%s: could not be checked: %s\n", o.name, oneLine(o.err))
		return err
	case out.json:
		return report.JSON(w, o.round)
	}
	_, err := fmt.Fprintf(w, "%s: %s\n", o.name, report.Summary(o.round))
	return err
}

// table lists all rounds with their counts.
func table(w io.Writer, done []outcome) error {
	const shortestName, longestName = len("round"), 28 // characters; the widest line then has 80
	width := shortestName
	for _, o := range done {
		width = min(max(width, len([]rune(o.name))), longestName)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "\n%-*s  same of  diff  left  uncl  added  finding   response\n", width, "round")
	for _, o := range done {
		fmt.Fprintf(&b, "%-*s  %s\n", width, shortened(o.name, width), tableRow(o))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// tableRow is the part of a line after the name.
func tableRow(o outcome) string {
	if o.err != nil {
		return "could not be checked"
	}
	n := report.Count(o.round)
	response := "-"
	if o.round.ResponseSeconds != nil {
		response = fmt.Sprintf("%.1f s", *o.round.ResponseSeconds)
	}
	return fmt.Sprintf("%4d %2d  %4d  %4d  %4d  %5d  %-8s  %8s",
		n.Same, len(o.round.Phrase), n.Different, n.LeftOut, n.Unclear, n.Added, o.round.Finding.Label, response)
}

// shortened keeps the end of a long name, where names differ.
func shortened(name string, width int) string {
	letters := []rune(name)
	if len(letters) <= width {
		return name
	}
	return "…" + string(letters[len(letters)-width+1:])
}
