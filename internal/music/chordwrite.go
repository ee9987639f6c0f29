package music

import "strings"

// writtenStems are the stems in which String looks for the shortest way to write a chord, the preferred first.
var writtenStems = func() (stems []stem) {
	for _, number := range []string{"", "5", "6", "6/9", "7", "9", "11", "13"} {
		for _, sus := range []tone{tone1, tone4, tone2} {
			stems = append(stems, stem{quality: qualityMajor, number: number, sus: sus}, stem{quality: qualityMajor, major: true, number: number, sus: sus})
		}
		stems = append(stems, stem{quality: qualityMinor, number: number}, stem{quality: qualityMinor, major: true, number: number})
		if number == "" || number == "7" {
			stems = append(stems, stem{quality: qualityDiminished, number: number})
		}
		if number == "" {
			stems = append(stems, stem{quality: qualityAugmented})
		}
	}
	return stems
}()

// String writes the chord with as few alterations as it takes: "Cm7", "G7b9", "Bbm7b5/E", "C13#11", "N.C.". ParseChord reads it back.
func (c Chord) String() string {
	if !c.noted() {
		return "N.C."
	}
	out := c.root.String() + c.tones.symbol()
	if c.bass != c.root {
		out += "/" + c.bass.String()
	}
	return out
}

// symbol writes the tones without root and bass.
func (s toneSet) symbol() string {
	if s == altered {
		return "7alt"
	}
	var best string
	fewest := len(chordTones)
	for _, st := range writtenStems {
		alterations, ok := st.lacks(s)
		if ok && len(alterations) < fewest {
			best, fewest = st.write(alterations), len(alterations)
		}
	}
	return best
}

// writable holds the tones that can follow a stem.
var writable = func() (set toneSet) {
	for _, t := range alterationTones {
		set |= setOf(t)
	}
	return set
}()

// lacks gives the alterations that turn the stem into the tones; ok is false where none do.
func (s stem) lacks(tones toneSet) (alterations []alteration, ok bool) {
	plain, ok := build(s, nil)
	if !ok {
		return nil, false
	}
	missing := tones &^ plain
	if missing&^writable != 0 {
		return nil, false
	}
	for _, t := range missing.list() {
		plainTone, alters := replaced[t]
		bare := s.number == "" && plainTone != tone5 // "Cb9" would be read as Cb with a 9
		alterations = append(alterations, alteration{tone: t, add: !alters || bare || tones.has(plainTone)})
	}
	got, ok := build(s, alterations)
	return alterations, ok && got == tones
}

// write gives the text of a stem with its alterations, those that are only added last.
func (s stem) write(alterations []alteration) string {
	var adds, changes strings.Builder
	for _, a := range alterations {
		degree := chordTones[a.tone].degree
		switch {
		case a.add:
			adds.WriteString("add" + degree)
		case s.number == "":
			changes.WriteString("(" + degree + ")")
		default:
			changes.WriteString(degree)
		}
	}
	return s.text() + changes.String() + adds.String()
}

func (s stem) text() string {
	text := map[quality]string{qualityMajor: "", qualityMinor: "m", qualityDiminished: "dim", qualityAugmented: "aug"}[s.quality]
	if s.major {
		text += map[bool]string{true: "maj", false: "Maj"}[text == ""]
	}
	text += s.number
	switch s.sus {
	case tone2:
		text += "sus2"
	case tone4:
		text += "sus4"
	}
	return text
}
