package class

import (
	"fmt"
	"slices"
	"strings"

	"larkhand/internal/progress"
)

// WeakLink is a link between voice and fingers that fails, and where.
type WeakLink struct {
	progress.Link
	Faults []progress.Fault // the surest first; none where it fails anywhere alike
}

func weakLinks(over progress.Progress) []WeakLink {
	var out []WeakLink
	faults := progress.NamedFaults(over.Links)
	for _, l := range progress.Weakest(over.Links) {
		w := WeakLink{Link: l}
		for _, f := range faults {
			if f.Link == l.Name {
				w.Faults = append(w.Faults, f)
			}
		}
		out = append(out, w)
	}
	return out
}

// Short is a weak link in a table: "numbers to letters: in Gb major".
func (w WeakLink) Short() string {
	if len(w.Faults) == 0 {
		return string(w.Name)
	}
	return string(w.Name) + ": " + w.where()
}

func (w WeakLink) where() string {
	var places []string
	for _, f := range w.Faults {
		places = append(places, f.Place())
	}
	return strings.Join(places, ", ")
}

// weakCell lists the weak links in short.
func (l Line) weakCell() string {
	var out []string
	for _, w := range l.Weak {
		out = append(out, w.Short())
	}
	return strings.Join(out, "; ")
}

// failures are the notes of a round at which a weak link failed where it is weak; without such a place, all at which it failed.
func (r *Round) failures(w WeakLink) []int {
	var notes []int
	for i := range r.Row.Links {
		l := &r.Row.Links[i]
		if !l.Failed || l.Over() != w.Name {
			continue
		}
		for _, at := range l.Notes {
			if at < len(r.Row.Notes) && (len(w.Faults) == 0 || slices.ContainsFunc(w.Faults, func(f progress.Fault) bool { return f.Holds(r.Row, at) })) {
				notes = append(notes, at)
			}
		}
	}
	return notes
}

// failureWords name the notes at which a weak link failed.
func (r *Round) failureWords(w WeakLink) string {
	var notes []string
	for _, at := range r.failures(w) {
		notes = append(notes, fmt.Sprintf("note %d (%s)", at+1, r.Row.Notes[at].Degree))
	}
	const most = 3 // more are not read
	if len(notes) > most {
		return strings.Join(notes[:most], ", ") + fmt.Sprintf(" and %d more", len(notes)-most)
	}
	return strings.Join(notes, ", ")
}
