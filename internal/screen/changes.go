package screen

import (
	"slices"

	"larkhand/internal/practice"
	"larkhand/internal/round"
)

// misheardText says what the mark does.
const misheardText = "Marked as misheard: this round will not count."

// changes says what a key changed from one snapshot to the next, a sentence each.
func changes(before, now practice.Snapshot) []string {
	a, b := before.View, now.View
	var out []string
	if a.Steps != b.Steps {
		out = append(out, map[bool]string{true: "Numbers and letters are written down before the answer.", false: "Numbers and letters are no longer written down."}[b.Steps])
	}
	switch {
	case b.InPieces && !a.InPieces:
		out = append(out, "The answer is played in pieces; pauses between them do not count, and going on ends it.")
	case a.InPieces && !b.InPieces && b.Part > round.PartTake2 && b.Part < round.PartAnswer:
		out = append(out, "The answer is played in one.")
	}
	switch {
	case b.Misheard && !a.Misheard:
		out = append(out, misheardText)
	case a.Misheard && !b.Misheard && slices.Contains(b.Can, round.Misheard):
		out = append(out, "No longer marked: this round counts.")
	}
	if old, r := before.Result, now.Result; old != nil && r != nil && old.Facts.Round == r.Facts.Round && old.Journal != "" && r.Journal != old.Journal {
		out = append(out, r.Journal)
	}
	return out
}
