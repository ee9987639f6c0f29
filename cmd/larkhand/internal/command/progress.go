package command

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/text/unicode/norm"

	"larkhand/internal/journal"
	over "larkhand/internal/progress"
	"larkhand/internal/report"
)

func newProgress() *cobra.Command {
	var dir journalDir
	var when period
	var player string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "progress",
		Short: "Say what a player's rounds show over time, and what to sing next",
		Long: `Say what a player's rounds in the journal show over time: how many answers were
known, how fast they came, whether the second take settles, where the trouble is,
and what to sing next, with the reason. Below 30 answers nothing is claimed: a few
rounds can look like anything. Where numbers and letters were written down between
singing and playing ("larkhand check --steps"), it says which link between voice and
fingers fails, and where.`,
		Example: "  larkhand progress\n  larkhand progress --player Anna --since 2026-09-01",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			from, to, err := when.bounds()
			if err != nil {
				return err
			}
			return dir.with(func(j *journal.Journal) error {
				name, err := onePlayer(cmd.Context(), j, player, cmd.Flags().Changed("player"))
				if err != nil {
					return err
				}
				rounds, err := j.Progress(cmd.Context(), name, from, to)
				if err != nil {
					return err
				}
				view := report.ProgressView{Player: name, Progress: over.Of(rounds)}
				out := cmd.OutOrStdout()
				if asJSON {
					return view.JSON(out)
				}
				return view.Text(out, inColour(out))
			})
		},
	}
	f := cmd.Flags()
	f.StringVar(&player, "player", "", "`name` of the player; may be left out where there is only one")
	when.register(cmd)
	f.BoolVar(&asJSON, "json", false, "print JSON (schema larkhand.progress/1)")
	dir.register(cmd)
	return cmd
}

// onePlayer is the player that was named, or the only one there is.
func onePlayer(ctx context.Context, j *journal.Journal, name string, named bool) (string, error) {
	players, err := j.Players(ctx)
	if err != nil {
		return "", err
	}
	if len(players) == 0 {
		return "", fmt.Errorf("the journal in %s holds no rounds yet; \"larkhand check --save\" keeps them", j.Where().Dir)
	}
	if !named && len(players) == 1 {
		return players[0].Name, nil
	}
	name = norm.NFC.String(strings.TrimSpace(name)) // as the journal keeps names
	var names []string
	for _, p := range players {
		if named && p.Name == name {
			return name, nil
		}
		names = append(names, fmt.Sprintf("%q", p.Name))
	}
	const most = 10 // names; more are not read
	there := strings.Join(names[:min(len(names), most)], ", ")
	if len(names) > most {
		there += fmt.Sprintf(" and %d more", len(names)-most)
	}
	if named {
		return "", fmt.Errorf("the journal has no rounds of a player %q; it has those of %s", name, there)
	}
	return "", wrongUse("name the player with --player; there are %s", there)
}
