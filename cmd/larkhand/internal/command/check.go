package command

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"larkhand/internal/report"
	"larkhand/internal/round"
)

// fewestFiles and mostFiles of a round: one or two takes, and the answer.
const (
	fewestFiles = 2
	mostFiles   = 3
)

func newCheck() *cobra.Command {
	var flags settings
	var out outputs
	var batch string
	var asks bool
	cmd := &cobra.Command{
		Use:   "check TAKE1 [TAKE2] ANSWER",
		Short: "Check an answer against the phrase that was sung",
		Long: `Check an answer against the phrase that was sung. A take is a sound file (WAV,
FLAC, Ogg Vorbis, MP3), or a MIDI file for a phrase that is already known. The
answer is a MIDI file. The last take counts; the first shows what changed, and
settles notes that the last one leaves unclear.

With --batch, many rounds are checked at once. Their files are found by name, in
either of two ways, which may be mixed: one folder a round, or one prefix a round.

    DIR/monday/take1.wav  DIR/monday/take2.wav  DIR/monday/answer.mid
    DIR/monday-take1.wav  DIR/monday-take2.wav  DIR/monday-answer.mid

The words take1, take2 and answer may stand anywhere in the name, in any case;
take2 may be missing. A text file round.txt in the folder, or monday-round.txt,
may hold settings of that round, one a line, such as "key: C minor"; the names
are those of the flags. With --json, each round is one line.

With --backing, takes may be sung beside a speaker: the loop's sound, or a recording
of it, is taken out of them first. Where too much of it is left, notes become unclear
or the take is refused. It helps much if the loop plays alone for a few bars before
the singing. In a batch, a file with backing in its name (or backing1 and backing2)
belongs to its round.

With --steps, you are asked for the numbers and the letters that you had in mind
before you played (or give them by --numbers and --letters): the check then says
which link is weak, from voice to numbers, to letters, to fingers. What you wrote
down is kept with the round.

With --save, rounds go into the journal: takes, answer and all that was said of
them. "larkhand history" lists them, "larkhand progress" says what they show.`,
		Example: `  larkhand check --key "C minor" take1.wav take2.wav answer.mid
  larkhand check --chart "Cm7 | Fm7 | G7b9 | Cm7" --tempo 96 take.wav answer.mid
  larkhand check --svg round.svg --answer-starts 7.5 take1.wav take2.wav answer.mid
  larkhand check --backing loop.wav --backing-loops take1.wav take2.wav answer.mid
  larkhand check --numbers "1 1 2 b3" --letters "C C D Eb" take1.wav take2.wav answer.mid
  larkhand check --save --sang Anna --phrase Rain --key "Eb minor" take.wav answer.mid
  larkhand check --save --sang Anna take1.wav take2.wav answer.mid
  larkhand check --batch lessons/november`,
		Args: func(cmd *cobra.Command, args []string) error {
			if batch == "" {
				return between(fewestFiles, mostFiles, "one or two takes and an answer")(cmd, args)
			}
			if len(args) > 0 {
				return wrongUse("--batch finds its files by itself; leave out %q", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := flags.saving.check(cmd, batch != ""); err != nil {
				return err
			}
			if batch != "" && flags.phrase != "" {
				return wrongUse("--phrase is for one round; leave it out of a batch")
			}
			if asks {
				if batch != "" {
					return wrongUse("--steps asks about one round; in a batch write \"numbers: 1 1 2 b3\" and \"letters: C C D Eb\" into each round.txt")
				}
				if err := askSteps(cmd, &flags); err != nil {
					return err
				}
			}
			if batch != "" {
				return checkBatch(cmd, batch, flags, out)
			}
			return checkOne(cmd, args, flags, out)
		},
	}
	flags.register(cmd)
	flags.saving.register(cmd)
	flags.backing.register(cmd)
	out.register(cmd)
	cmd.Flags().BoolVar(&asks, "steps", false, "ask for numbers and letters first, and say which link is weak")
	cmd.Flags().StringVar(&batch, "batch", "", "check all rounds in this `folder`")
	return cmd
}

// checkOne checks a round, keeps it if wanted, and prints it.
func checkOne(cmd *cobra.Command, files []string, flags settings, out outputs) error {
	k, err := newKeeper(flags.saving)
	if err != nil {
		return err
	}
	defer k.close()
	r, err := checkFiles(cmd.Context(), files, flags)
	if err != nil {
		return err
	}
	try, err := besideKept(&r, flags)
	if err != nil {
		return err
	}
	kept, due := "", ""
	if k != nil {
		e, err := entryOf(files, r, flags)
		if err != nil {
			return err
		}
		if try != nil {
			e.PhraseName = try.name
		}
		if kept, err = k.save(cmd.Context(), e); err != nil {
			return err
		}
		if try != nil {
			if due, err = try.note(); err != nil {
				return err
			}
		}
	}
	if err := out.write(cmd, r, files); err != nil {
		return err
	}
	for _, sentence := range []string{kept, due} {
		if sentence != "" {
			fmt.Fprintln(out.beside(cmd), sentence)
		}
	}
	return nil
}

// checkFiles reads and judges one round. The last file is the answer.
func checkFiles(ctx context.Context, files []string, flags settings) (round.Round, error) {
	opt, err := flags.options()
	if err != nil {
		return round.Round{}, err
	}
	if err := flags.backing.check(); err != nil {
		return round.Round{}, err
	}
	return judgeFiles(ctx, files, opt, flags.backing)
}

// judgeFiles is checkFiles with options that were read already.
func judgeFiles(ctx context.Context, files []string, opt round.Options, b backing) (round.Round, error) {
	last := len(files) - 1
	answer, err := readAnswer(files[last], opt.Instrument) // the short one first: a wrong order of files is said at once
	if err != nil {
		return round.Round{}, err
	}
	var takes []round.Take
	for i, path := range files[:last] {
		if err := ctx.Err(); err != nil {
			return round.Round{}, err
		}
		take, err := readTakeBeside(path, i, b)
		if err != nil {
			return round.Round{}, err
		}
		takes = append(takes, take)
	}
	if err := ctx.Err(); err != nil {
		return round.Round{}, err
	}
	return round.Judge(takes, answer, opt)
}

// outputs is the flags on what becomes of a judged round.
type outputs struct {
	json bool
	svg  string
}

func (o *outputs) register(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&o.json, "json", false, "print JSON (schema larkhand.round/1)")
	cmd.Flags().StringVar(&o.svg, "svg", "", "also draw the round to this SVG `file`")
}

// beside is where sentences go that are no part of the result: beside JSON, to standard error.
func (o outputs) beside(cmd *cobra.Command) io.Writer {
	if o.json {
		return cmd.ErrOrStderr()
	}
	return cmd.OutOrStdout()
}

// write draws the picture if wanted and prints the round. inputs are the files that the round was read from.
func (o outputs) write(cmd *cobra.Command, r round.Round, inputs []string) error {
	if o.svg != "" {
		if err := writeFile(o.svg, inputs, func(w io.Writer) error { return report.SVG(w, r) }); err != nil {
			return err
		}
	}
	out := cmd.OutOrStdout()
	if o.json {
		return report.JSON(out, r)
	}
	if err := report.Text(out, r, inColour(out)); err != nil {
		return err
	}
	if o.svg != "" {
		_, err := fmt.Fprintln(out, "The picture is in "+o.svg+".")
		return err
	}
	return nil
}
