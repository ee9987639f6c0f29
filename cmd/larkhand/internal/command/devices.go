package command

import (
	"errors"
	"io"

	"github.com/spf13/cobra"

	"larkhand/internal/sound"
)

// newDevices makes the command that lists devices; list is sound.Devices, or what a test puts in its place.
func newDevices(list func() (sound.List, error)) *cobra.Command {
	var asJSON bool
	var logPath string
	cmd := &cobra.Command{
		Use:   "devices",
		Short: "List microphones, speakers and MIDI ports",
		Long: `List the microphones, speakers and MIDI ports of this machine, with channels,
sampling rates and the latency that each device suggests. A machine that has none
is told so and is no error: the exit code is 0. It is 1 where the devices could
not be asked for, or where this build of larkhand has no devices.`,
		Example: "  larkhand devices\n  larkhand devices --json\n  larkhand devices --log sound.log",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			found, err := list()
			if logPath != "" {
				write := func(w io.Writer) error { _, err := io.WriteString(w, found.Log); return err }
				if err := writeFile(logPath, nil, write); err != nil {
					return err
				}
			}
			if err != nil && found.Empty() {
				return err
			}
			show := found.Text
			if asJSON {
				show = found.JSON
			}
			return errors.Join(show(cmd.OutOrStdout()), err)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON (schema "+sound.Schema+")")
	cmd.Flags().StringVar(&logPath, "log", "", "write what the sound libraries complained of to this file")
	return cmd
}
