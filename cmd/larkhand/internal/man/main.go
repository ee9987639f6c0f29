// Man writes the manual pages of larkhand, one a command, to a folder:
//
//	go run ./cmd/larkhand/internal/man build/man
//
// It is for those who package the program; the program itself does not carry the writer of manual pages.
package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra/doc"

	"larkhand/cmd/larkhand/internal/command"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: go run ./cmd/larkhand/internal/man FOLDER")
		os.Exit(2)
	}
	if err := write(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "man:", err)
		os.Exit(1)
	}
}

// write makes the folder if needed and fills it.
func write(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	root := command.New()
	root.DisableAutoGenTag = true // no date and no name of the generator, so that equal programs have equal pages
	return doc.GenManTree(root, &doc.GenManHeader{Title: "LARKHAND", Section: "1", Source: "larkhand", Manual: "User commands"}, dir)
}
