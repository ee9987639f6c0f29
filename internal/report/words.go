package report

import (
	"fmt"
	"strings"
)

// ordinal writes a place in a row, counted from 0, as a word of speech: "1st", "12th", "23rd".
func ordinal(index int) string {
	n := index + 1
	switch {
	case n%100 >= 11 && n%100 <= 13:
		return fmt.Sprintf("%dth", n)
	case n%10 == 1:
		return fmt.Sprintf("%dst", n)
	case n%10 == 2:
		return fmt.Sprintf("%dnd", n)
	case n%10 == 3:
		return fmt.Sprintf("%drd", n)
	}
	return fmt.Sprintf("%dth", n)
}

// mostNamed is how many notes a sentence names; of more it gives the number (own choice: three are still read at a glance).
const mostNamed = 3

// theNotes names notes as the subject of a sentence: "the 3rd", "the 2nd and the 5th", "4 notes".
func theNotes(indices []int) string {
	if len(indices) > mostNamed {
		return fmt.Sprintf("%d notes", len(indices))
	}
	names := make([]string, len(indices))
	for i, index := range indices {
		names[i] = "the " + ordinal(index)
	}
	return enumerated(names)
}

// enumerated joins names as in speech: "a", "a and b", "a, b and c".
func enumerated(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

// was is the verb for n things.
func was(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

// counted writes a number with its noun: "1 note", "3 notes".
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// wrapped breaks text between words into lines of at most width characters. A longer word stands alone.
func wrapped(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = word
		case len([]rune(line))+1+len([]rune(word)) > width:
			lines = append(lines, line)
			line = word
		default:
			line += " " + word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
