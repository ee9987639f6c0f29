package progress

import (
	"slices"

	"larkhand/internal/round"
	"larkhand/internal/steps"
)

// LinkResult is what became of one link between voice and fingers in one round.
type LinkResult struct {
	Name     steps.Name
	Joined   bool // the step between was left out: Ear goes to the letters, Fingers begin at the numbers
	Compared int  // notes
	Failed   bool
	Notes    []int // of the phrase, rising, where it failed; empty where it failed as a whole
}

// LinksOf are the links of a round; nil where nothing was written down.
func LinksOf(r round.Round) []LinkResult {
	if r.Steps == nil {
		return nil
	}
	links := make([]LinkResult, len(r.Steps.Links))
	for i, l := range r.Steps.Links {
		links[i] = LinkResult{
			Name: l.Name, Joined: l.Name == steps.Ear && l.To == steps.Letters || l.Name == steps.Fingers && l.From == steps.Numbers,
			Compared: l.Compared, Failed: l.Failed, Notes: failedAt(r, l),
		}
	}
	return links
}

// failedAt are the notes of the phrase at which a link failed.
func failedAt(r round.Round, l steps.Link) []int {
	var at []int
	for _, m := range l.Mistakes {
		if m.Place != steps.None {
			at = append(at, m.Place)
		}
	}
	if l.Searched && inMind(r.Steps.Links) {
		for _, e := range r.Steps.Finding.Evidence {
			if note := Target(e); note >= 0 && note < len(r.Phrase) {
				at = append(at, note)
			}
		}
	}
	slices.Sort(at)
	return slices.Compact(at)
}

// inMind reports whether what the player wrote down is the phrase as sung: only then the evidence of searching names its notes.
func inMind(links []steps.Link) bool {
	return !slices.ContainsFunc(links, func(l steps.Link) bool { return l.To != steps.Sung && l.To != steps.Played && l.Failed })
}
