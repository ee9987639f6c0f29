package report

import (
	"fmt"
	"io"
	"strings"

	"larkhand/internal/keyboard"
)

// KeysText writes a key as text: its letters under its numbers, the keyboard, and a scale for each chord bar by bar.
func KeysText(w io.Writer, d KeysDocument) error {
	p := &page{paint: painter(false)}
	p.line(d.Key)
	p.blank()
	for _, block := range [][]string{d.Rows(), keyboard.Text(d.Marks())} {
		for _, line := range block {
			p.line(line)
		}
		p.blank()
	}
	for _, bar := range d.Bars {
		for _, line := range bar.Lines() {
			p.line(line)
		}
	}
	_, err := io.WriteString(w, strings.TrimRight(p.String(), "\n")+"\n")
	return err
}

// KeysWords says a key in words, without a drawing.
func KeysWords(w io.Writer, d KeysDocument) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s.\n", d.Key)
	for _, n := range d.Notes {
		fmt.Fprintf(&b, "%s is %s.\n", n.Degree, n.Letter)
	}
	for _, bar := range d.Bars {
		for _, c := range bar.Chords {
			fmt.Fprintf(&b, "Bar %d, %s:", bar.Bar, c.Symbol)
			for _, n := range c.Notes {
				fmt.Fprintf(&b, " %s", n.Letter)
			}
			fmt.Fprintln(&b, ".")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Rows are the numbers of the key's notes, and the letters under them.
func (d KeysDocument) Rows() []string {
	rows := []string{"number ", "letter "}
	for _, n := range d.Notes {
		rows[0] += fmt.Sprintf(" %-4s", n.Degree)
		rows[1] += fmt.Sprintf(" %-4s", n.Letter)
	}
	for i := range rows {
		rows[i] = strings.TrimRight(rows[i], " ")
	}
	return rows
}

// Marks are the key's notes on a keyboard.
func (d KeysDocument) Marks() []keyboard.Note {
	var out []keyboard.Note
	for _, n := range d.Notes {
		out = append(out, keyboard.Note{Class: n.PitchClass, Letter: n.Letter, Number: n.Degree})
	}
	return out
}

// Lines are a bar's chords, each with its scale; the first one has the bar's number before it.
func (b KeysBarDocument) Lines() []string {
	var out []string
	for i, c := range b.Chords {
		where := ""
		if i == 0 {
			where = fmt.Sprint(b.Bar)
		}
		out = append(out, strings.TrimRight(fmt.Sprintf("%3s  %-8s %s", where, c.Symbol, c.Words()), " "))
	}
	return out
}

// Words are the letters over a chord, those of the chord itself in brackets.
func (c ChordScaleDocument) Words() string {
	var words []string
	for _, n := range c.Notes {
		words = append(words, n.word())
	}
	return strings.Join(words, " ")
}

// Marks are the notes over a chord on a keyboard, those of the chord itself in brackets.
func (c ChordScaleDocument) Marks() []keyboard.Note {
	var out []keyboard.Note
	for _, n := range c.Notes {
		out = append(out, keyboard.Note{Class: n.PitchClass, Letter: n.word()})
	}
	return out
}

func (n ChordNoteOver) word() string {
	if n.InChord {
		return "(" + n.Letter + ")"
	}
	return n.Letter
}
