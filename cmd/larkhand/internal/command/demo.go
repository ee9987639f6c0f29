package command

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"larkhand/internal/demo"
	"larkhand/internal/report"
	"larkhand/internal/round"
	"larkhand/midiin"
)

func newDemo() *cobra.Command {
	var out outputs
	var keep string
	var plain bool
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Check a round that larkhand sings and plays itself",
		Long: `Check a made-up round: the program sings two takes with different faults and
plays an answer that was partly searched for, then judges them like any other
round. On a terminal the round goes by in real time on the screens of
'larkhand practice'; any key skips forward. With --plain or another flag, and
where the output goes elsewhere, its verdict is printed at once. With --keep the two takes and the answer are also written to a folder.`,
		Example: "  larkhand demo\n  larkhand demo --plain\n  larkhand demo --keep demo-round --svg demo.svg",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if cmd.Flags().NFlag() == 0 && drawsScreens(cmd) {
				return showDemo(cmd)
			}
			r, meta, err := demoRound(cmd.Context())
			if err != nil {
				return err
			}
			var kept []string
			if keep != "" {
				if kept, err = keepDemo(keep); err != nil {
					return err
				}
			}
			if !out.json {
				if err := report.Paragraph(cmd.OutOrStdout(), meta.Scenario); err != nil {
					return err
				}
			}
			if err := out.write(cmd, r, kept); err != nil || out.json || keep == "" {
				return err
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "The files are in %s. To check them again:\n  larkhand check --key %q --chart %q --tempo %g --loop-starts %g --answer-starts %g %s\n",
				keep, meta.Key, meta.Chart, meta.Tempo, meta.LoopStart, meta.AnswerStart, strings.Join(kept, " "))
			return err
		},
	}
	out.register(cmd)
	cmd.Flags().BoolVar(&plain, "plain", false, "print the verdict at once, on a terminal too")
	cmd.Flags().StringVar(&keep, "keep", "", "also write take1.wav, take2.wav and answer.mid to this `folder`")
	return cmd
}

// demoRound makes and judges the demo round.
func demoRound(ctx context.Context) (round.Round, demo.Meta, error) {
	first, second, rate, answer, meta := demo.Round()
	opt, err := settings{
		theory: theory{key: meta.Key, numbering: "scale"}, instrument: "keys",
		chart: meta.Chart, tempo: decimal(meta.Tempo), loopStarts: decimal(meta.LoopStart), answerStarts: decimal(meta.AnswerStart),
	}.options()
	if err != nil {
		return round.Round{}, meta, err
	}
	var takes []round.Take
	for _, take := range []struct {
		name    string
		samples []float32
	}{{demo.FirstName, first}, {demo.SecondName, second}} {
		if err := ctx.Err(); err != nil {
			return round.Round{}, meta, err
		}
		take, err := round.SungTake(take.name, take.samples, rate)
		if err != nil {
			return round.Round{}, meta, err
		}
		takes = append(takes, take)
	}
	file, err := midiin.Parse(answer)
	if err != nil {
		return round.Round{}, meta, err
	}
	notes, _ := midiin.Notes(file, midiin.Options{})
	r, err := round.Judge(takes, round.Answer{File: demo.AnswerName, Notes: notes}, opt)
	return r, meta, err
}

func decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// keepDemo writes the files of the demo round to a folder, which is made if needed, and returns their paths. Files that are there
// already are not written over.
func keepDemo(dir string) ([]string, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("cannot make the folder %s: %w", dir, plainCause(err))
	}
	var paths []string
	for _, name := range []string{demo.FirstName, demo.SecondName, demo.AnswerName} {
		path := filepath.Join(dir, name)
		if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("%s is already there; name another folder", path)
		}
		paths = append(paths, path)
	}
	if _, err := demo.Write(dir); err != nil {
		return nil, fmt.Errorf("cannot write to %s: %w", dir, err)
	}
	return paths, nil
}
