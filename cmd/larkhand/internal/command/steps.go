package command

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/entry"
)

// askSteps lets the player write down numbers and letters, one line each, and times it. What was given by flags is not asked for;
// an empty line leaves a step out.
func askSteps(cmd *cobra.Command, flags *settings) error {
	opt, err := flags.theory.options()
	if err != nil {
		return err
	}
	a := stepAsker{in: bufio.NewReader(cmd.InOrStdin()), out: cmd.ErrOrStderr(), reader: entry.Reader{Numbering: opt.Numbering}}
	if opt.Key != nil {
		a.reader.Key, a.keyKnown = *opt.Key, true
	}
	for _, step := range []struct {
		kind    entry.Kind
		typed   *string
		seconds **float64
	}{
		{entry.Numbers, &flags.written.Numbers, &flags.written.NumbersSeconds},
		{entry.Letters, &flags.written.Letters, &flags.written.LettersSeconds},
	} {
		if *step.typed != "" {
			continue
		}
		if *step.typed, *step.seconds, err = a.ask(step.kind); err != nil {
			return err
		}
	}
	return nil
}

// stepAsker is a player at a terminal, or a pipe.
type stepAsker struct {
	in       *bufio.Reader
	out      io.Writer
	reader   entry.Reader
	keyKnown bool // else the key will be guessed from the notes
}

// ask asks for one step until it can be read.
func (a stepAsker) ask(kind entry.Kind) (typed string, seconds *float64, err error) {
	began := time.Now()
	var wrong error // what was said of the line before
	for {
		fmt.Fprintf(a.out, "%s (%s; an empty line leaves them out): ", capitalised(kind.String()), example(kind))
		line, err := a.in.ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return "", nil, fmt.Errorf("the %s cannot be read: %w", kind, plainCause(err))
		}
		line = strings.TrimSpace(line)
		if line == "" && err != nil && wrong != nil {
			return "", nil, wrongUse("%v", wrong)
		}
		if line == "" {
			return "", nil, nil
		}
		var notes []entry.Note
		if notes, wrong = a.reader.Read(kind, line); wrong == nil {
			took := time.Since(began).Seconds()
			return line, &took, a.respelled(kind, notes)
		}
		fmt.Fprintln(a.out, capitalised(wrong.Error())+".")
	}
}

func example(kind entry.Kind) string {
	if kind == entry.Letters {
		return "such as C C D Eb"
	}
	return "such as 1 1 2 b3"
}

// respelled says how the key writes what was typed otherwise.
func (a stepAsker) respelled(kind entry.Kind, notes []entry.Note) error {
	if !a.keyKnown {
		return nil
	}
	typed, own := a.reader.Respelled(kind, notes)
	for i := range typed {
		if own[i] != "?" {
			if _, err := fmt.Fprintf(a.out, "%s sounds the same as %s, which is what %s has.\n", typed[i], own[i], a.reader.Key); err != nil {
				return err
			}
		}
	}
	return nil
}

func capitalised(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
