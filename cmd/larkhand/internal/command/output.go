package command

import (
	"fmt"
	"io"
	"os"

	"golang.org/x/term"

	"larkhand/internal/safefile"
)

// writeFile writes a whole file or nothing. inputs are files that the command reads; path may be none of them.
func writeFile(path string, inputs []string, write func(io.Writer) error) error {
	if err := notAnInput(path, inputs); err != nil {
		return err
	}
	const everyoneReads = 0o644
	if err := safefile.Write(path, everyoneReads, write); err != nil {
		return fmt.Errorf("cannot write %s: %w", path, plainCause(err))
	}
	return nil
}

// notAnInput refuses to write over a file that is being read.
func notAnInput(path string, inputs []string) error {
	there, err := os.Stat(path)
	if err != nil {
		return nil // not there yet, or the writing itself will say why not
	}
	if there.IsDir() {
		return fmt.Errorf("cannot write %s: it is a folder; name a file", path)
	}
	for _, in := range inputs {
		if info, err := os.Stat(in); err == nil && os.SameFile(there, info) {
			return fmt.Errorf("will not write over %s, which is being read; name another file", path)
		}
	}
	return nil
}

// plainCause is the system's own reason, without the operation and path that os errors put before it.
func plainCause(err error) error {
	switch e := err.(type) {
	case *os.PathError:
		return e.Err
	case *os.LinkError:
		return e.Err
	}
	return err
}

// inColour says whether w may be coloured: a terminal, unless the player asked for none (NO_COLOR set to anything,
// see no-color.org) or the terminal cannot (TERM=dumb).
func inColour(w io.Writer) bool {
	return isTerminal(w) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
