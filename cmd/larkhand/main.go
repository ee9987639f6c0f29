// Larkhand checks whether an improvising player can play at once what he or she sang: it listens to a phrase sung
// twice and to the answer on the instrument, and says note by note what was sung, what was played, and whether the
// answer was known or searched for.
package main

import (
	"os"

	"larkhand/cmd/larkhand/internal/command"
)

func main() { os.Exit(command.Main()) }
