package command

import (
	"github.com/spf13/cobra"

	"larkhand/internal/report"
)

func newPitch() *cobra.Command {
	var asCSV, asJSON bool
	cmd := &cobra.Command{
		Use:   "pitch FILE",
		Short: "Print the pitch of a sung take, frame by frame",
		Long: `Print time, F0, pitch, voicing and level of a sung take every 10 ms. FILE is a
sound file: WAV, FLAC, Ogg Vorbis or MP3. Unvoiced frames have no F0.`,
		Example: "  larkhand pitch take1.wav\n  larkhand pitch --csv take1.wav > pitch.csv",
		Args:    between(1, 1, "one sound file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			take, err := readTake(args[0])
			if err != nil {
				return err
			}
			if take.Written {
				return wrongUse("%s is a MIDI file, which has no pitch frames; name a sound file, or see 'larkhand notes'", args[0])
			}
			view := report.PitchView{Take: take}
			switch {
			case asJSON:
				return view.JSON(cmd.OutOrStdout())
			case asCSV:
				return view.CSV(cmd.OutOrStdout())
			}
			return view.Text(cmd.OutOrStdout())
		},
	}
	cmd.Flags().BoolVar(&asCSV, "csv", false, "print comma-separated values")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON (schema larkhand.pitch/1)")
	exclusive(cmd, "csv", "json")
	return cmd
}
