package command

import "github.com/spf13/cobra"

// newHelp replaces cobra's help command, which takes an unknown command for a question about all.
func newHelp() *cobra.Command {
	return &cobra.Command{
		Use:     "help [COMMAND]",
		Short:   "Explain a command",
		Example: "  larkhand help check",
		RunE: func(cmd *cobra.Command, args []string) error {
			about, rest, err := cmd.Root().Find(args)
			if err != nil {
				return wrongUse("%v", err)
			}
			if len(rest) > 0 {
				return noArguments(about, rest)
			}
			about.InitDefaultHelpFlag()
			return about.Help()
		},
	}
}
