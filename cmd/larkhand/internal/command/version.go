package command

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"larkhand/internal/sound"
)

func newVersion() *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "Print the version of larkhand and of the Go that built it",
		Example: "  larkhand version",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprintln(cmd.OutOrStdout(), versionLine())
			return err
		},
	}
}

// programVersion is the version that the Go tool stamped into the program, and the commit where it knows one.
func programVersion() string {
	version, commit := "not stamped", ""
	if info, ok := debug.ReadBuildInfo(); ok {
		if info.Main.Version != "" {
			version = info.Main.Version
		}
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				commit = ", commit " + s.Value
			}
		}
	}
	return version + commit
}

// versionLine tells all that a report on a fault needs.
func versionLine() string {
	devices := "without devices"
	if sound.Built {
		devices = "with devices"
	}
	return fmt.Sprintf("larkhand %s, %s, %s/%s, %s", programVersion(), runtime.Version(), runtime.GOOS, runtime.GOARCH, devices)
}
