package command

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"larkhand/internal/bundle"
	"larkhand/internal/journal"
	"larkhand/midiin"
)

func newImport() *cobra.Command {
	var dir journalDir
	cmd := &cobra.Command{
		Use:   "import BUNDLE...",
		Short: "Read exported rounds into the journal",
		Long: `Read the rounds of bundles, zip files or folders that "larkhand export" wrote, into the
journal. Each is checked, judged by this version of the program, and kept whole or
not at all. A round that is in the journal already is not put in twice.`,
		Example: "  larkhand import anna.zip\n  larkhand import --journal other anna.zip rounds",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return wrongUse("%s takes one or more bundles; see '%s --help'", cmd.CommandPath(), cmd.CommandPath())
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			open, rounds, err := openBundles(args)
			defer closeBundles(open)
			if err != nil {
				return err
			}
			k, err := newKeeper(saving{save: true, dir: dir})
			if err != nil {
				return err
			}
			defer k.close()
			return importRounds(cmd, k, rounds)
		},
	}
	dir.register(cmd)
	return cmd
}

// arrival is a round of a bundle made ready for the journal.
type arrival struct {
	entry journal.Entry
	there journal.ID // the round in the journal that it is; 0 where it is new
	err   error
}

// importRounds puts the rounds into the journal, in their order, and says what became of them. One that cannot be read does not hold up
// the others.
func importRounds(cmd *cobra.Command, k *keeper, rounds []bundled) error {
	bar := newBar(cmd.ErrOrStderr(), max(len(rounds), 1))
	defer bar.clear()
	done, failed := 0, 0
	work := func(ctx context.Context, b bundled) arrival { return arrive(ctx, k, b) }
	for a := range inOrder(cmd.Context(), rounds, work) {
		done++
		switch {
		case a.err != nil && cmd.Context().Err() != nil:
			continue
		case a.err != nil:
			failed++
			bar.clear()
			fmt.Fprintln(cmd.ErrOrStderr(), oneLine(a.err))
		case a.there != 0:
			k.known++
		default:
			if _, err := k.save(cmd.Context(), a.entry); err != nil {
				bar.clear()
				k.tellKept(cmd.ErrOrStderr())
				return err
			}
		}
		bar.show(done)
	}
	bar.clear()
	if err := cmd.Context().Err(); err != nil {
		k.tellKept(cmd.ErrOrStderr())
		return err
	}
	if err := k.tell(cmd.OutOrStdout()); err != nil {
		return err
	}
	if failed > 0 {
		return fmt.Errorf("%d of %s could not be read; the reasons stand above", failed, counted(len(rounds), "round"))
	}
	return nil
}

// arrive reads and judges a round, unless it is in the journal already.
func arrive(ctx context.Context, k *keeper, b bundled) arrival {
	if !b.Whole() {
		return arrival{err: fmt.Errorf("%s was exported without its takes and its answer, so that it cannot be judged and kept", b.named())}
	}
	c, err := b.from.Round(b.Round)
	if err != nil {
		return arrival{err: err}
	}
	e := journal.Entry{At: b.At, Sang: b.Sang, Played: b.Played, Program: programVersion(), Takes: c.Takes, Answer: c.Answer, Backings: c.Backings, Path: c.Path,
		Misheard: b.Misheard, PhraseName: b.PhraseName}
	if there, err := k.find(ctx, e); there != 0 || err != nil {
		return arrival{there: there, err: err}
	}
	if e.Round, err = b.judge(ctx, c); err != nil {
		return arrival{err: err}
	}
	if c.Hearing != nil {
		if err := json.Unmarshal(c.Hearing, &e.Hearing); err != nil {
			return arrival{err: fmt.Errorf("%s: %w", b.named(), err)} // judging has read it
		}
	}
	if e.Instrument, err = midiin.ParseInstrument(b.Instrument); err != nil {
		return arrival{err: err}
	}
	e.Document, err = documentOf(e.Round)
	return arrival{entry: e, err: err}
}

// bundleName is how a teacher calls a bundle: its file's name without the ending.
func bundleName(r *bundle.Reader) string {
	name := r.Name
	if cut := strings.LastIndexAny(strings.TrimRight(name, `/\`), `/\`); cut >= 0 {
		name = strings.TrimRight(name, `/\`)[cut+1:]
	}
	return strings.TrimSuffix(strings.TrimSuffix(strings.TrimRight(name, `/\`), ".zip"), ".ZIP")
}
