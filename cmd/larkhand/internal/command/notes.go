package command

import (
	"io"

	"github.com/spf13/cobra"

	"larkhand/internal/report"
	"larkhand/internal/round"
)

func newNotes() *cobra.Command {
	var flags theory
	var asCSV, asJSON bool
	var midiPath string
	cmd := &cobra.Command{
		Use:   "notes FILE",
		Short: "Print the sung notes of a take, with degree, letter, centre and spread",
		Long: `Print the notes of one take. FILE is a sound file (WAV, FLAC, Ogg Vorbis, MP3) or
a MIDI file. Degree and letter belong to the key; without --key it is guessed
from the notes. Centre is how far a note lies from the tempered pitch, on the
take's own tuning; spread is the interquartile range of its pitch.`,
		Example: "  larkhand notes --key \"C minor\" take1.wav\n  larkhand notes --midi phrase.mid take1.wav",
		Args:    between(1, 1, "one file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			opt, err := flags.options()
			if err != nil {
				return err
			}
			take, err := readTake(args[0])
			if err != nil {
				return err
			}
			if err := round.CheckTake(take, take.Name(0)); err != nil {
				return err
			}
			if midiPath != "" {
				err := writeFile(midiPath, args, func(w io.Writer) error { return report.MIDI(w, take.Voice.Notes) })
				if err != nil {
					return err
				}
			}
			view := report.NotesView{Take: take, Numbering: opt.Numbering}
			view.Key, view.KeyGuessed = round.KeyOf(take, opt.Key)
			out := cmd.OutOrStdout()
			switch {
			case asJSON:
				return view.JSON(out)
			case asCSV:
				return view.CSV(out)
			}
			return view.Text(out, inColour(out))
		},
	}
	flags.register(cmd)
	cmd.Flags().BoolVar(&asCSV, "csv", false, "print comma-separated values")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON (schema larkhand.notes/1)")
	cmd.Flags().StringVar(&midiPath, "midi", "", "also write the notes to this MIDI `file`")
	exclusive(cmd, "csv", "json")
	return cmd
}
