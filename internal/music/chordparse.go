package music

import (
	"fmt"
	"strings"
)

// maxChordText is the longest chord symbol that is looked at, in bytes; the longest sensible one is under 30.
const maxChordText = 60

// chordSigns turns the signs of lead sheets into the ones that the reader knows. Brackets, commas and blanks only separate.
var chordSigns = strings.NewReplacer(
	"Δ", "^", "△", "^", "∆", "^", "Ø", "ø", "°", "o", "º", "o", "−", "-", "–", "-",
	"(", ",", ")", ",", " ", ",",
)

// ParseChord reads a chord symbol: a root from A to G (a capital letter, with # or b), the quality, and a bass after a slash if there is
// one. It knows maj7, M7, Δ, m7, min7, -7, mMaj7, m7b5, ø, dim, dim7, °, aug, +, 5, 6, 6/9, 69, 7, 9, 11, 13, sus2, sus4,
// sus, alt, add9, and the alterations b5 #5 b9 #9 #11 b13 with or without brackets, also as +9 and -9. "N.C." is no chord.
// Accidentals right after the root's letter belong to the root: Cb5 is Cb with a 5, C(b5) is C with a b5.
func ParseChord(s string) (Chord, error) {
	if len(s) > maxChordText {
		return Chord{}, fmt.Errorf("a chord symbol has at most %d characters, such as %q", maxChordText, "Bbm7b5/E")
	}
	text := strings.TrimSpace(signs.Replace(s))
	switch strings.ToUpper(strings.ReplaceAll(text, ".", "")) {
	case "NC":
		return Chord{}, nil
	}
	root, rest, ok := readRoot(text)
	if !ok {
		return Chord{}, fmt.Errorf("%q is no chord symbol: start with a capital letter from A to G, as in Bbm7", s)
	}
	bass := root
	if i := strings.LastIndexByte(rest, '/'); i >= 0 {
		if n, after, ok := readRoot(rest[i+1:]); ok && after == "" {
			bass, rest = n, rest[:i]
		}
	}
	tones, ok := readChordBody(chordSigns.Replace(rest))
	if !ok {
		return Chord{}, fmt.Errorf("%q is no chord symbol: after the root %s write for example m7, maj7, 7b9, m7b5, dim7, aug, sus4, 6/9, 13 or 7alt, and a bass as in %s/G",
			s, root, root)
	}
	return Chord{root: root, bass: bass, tones: tones}, nil
}

// readRoot reads a capital letter with at most one accidental.
func readRoot(s string) (n name, rest string, ok bool) {
	if s == "" || !strings.Contains(letters, s[:1]) {
		return name{}, s, false
	}
	alter, rest := readAccidentals(s[1:], 1)
	return name{int8(strings.Index(letters, s[:1])), int8(alter)}, rest, true
}

// qualityWords are tried in this order; a shorter word is tried too where a longer one leads nowhere.
var qualityWords = []struct {
	text    string
	quality quality
	number  string // that the word brings by itself
}{
	{"minor", qualityMinor, ""}, {"min", qualityMinor, ""}, {"Min", qualityMinor, ""}, {"mi", qualityMinor, ""}, {"m", qualityMinor, ""}, {"-", qualityMinor, ""},
	{"dim", qualityDiminished, ""}, {"o", qualityDiminished, ""},
	{"ø", qualityHalfDim, "7"},
	{"aug", qualityAugmented, ""}, {"+", qualityAugmented, ""},
	{"", qualityMajor, ""},
}

// majorWords make the seventh major; "^" (the triangle) brings the seventh by itself.
var majorWords = []string{"major", "maj", "Maj", "MAJ", "ma", "Ma", "M", "^"}

// chordNumbers are the numbers of stems, longest first.
var chordNumbers = []string{"6/9", "69", "13", "11", "9", "7", "6", "5"}

// readChordBody reads everything after the root.
func readChordBody(text string) (toneSet, bool) {
	for _, w := range qualityWords {
		rest, found := strings.CutPrefix(text, w.text)
		if !found {
			continue
		}
		s := stem{quality: w.quality, number: w.number}
		if set, ok := readStem(s, rest); ok {
			return set, true
		}
	}
	return 0, false
}

// readStem reads what follows the quality: a major seventh, the number, and the alterations.
func readStem(s stem, text string) (toneSet, bool) {
	word, rest := readMajorWord(text)
	number, rest := readNumber(rest)
	switch {
	case number != "":
		s.number = number
	case word == "^":
		s.number = "7"
	}
	_, stacked := stacks[s.number]
	s.major = word != "" && stacked
	if word != "" && !stacked && s.quality != qualityMajor {
		return 0, false // "mmaj" and the like: a major seventh is promised and does not come
	}
	return readAlterations(s, rest)
}

func readMajorWord(text string) (word, rest string) {
	inner := strings.TrimLeft(text, ",")
	for _, w := range majorWords {
		if rest, found := strings.CutPrefix(inner, w); found {
			return w, rest
		}
	}
	return "", text
}

func readNumber(text string) (number, rest string) {
	for _, n := range chordNumbers {
		if rest, found := strings.CutPrefix(text, n); found {
			if n == "69" {
				n = "6/9"
			}
			return n, rest
		}
	}
	return "", text
}

// alterationTones are the tones that may follow a stem, by what is written.
var alterationTones = map[string]tone{
	"b5": toneFlat5, "#5": toneSharp5,
	"b9": toneFlat9, "9": tone9, "#9": toneSharp9, "2": tone9,
	"11": tone11, "#11": toneSharp11, "4": tone11, "#4": toneSharp11,
	"b6": toneFlat6, "6": tone6, "b13": toneFlat13, "13": tone13,
}

// readAlterations reads sus, alt, add and the altered tones, in any order, to the end of the text.
func readAlterations(s stem, text string) (toneSet, bool) {
	if strings.Trim(text, ",") == "alt" {
		return altered, s.quality == qualityMajor && !s.major && (s.number == "" || s.number == "7")
	}
	var alterations []alteration
	for text != "" {
		if rest, sus := readSus(text); sus != tone1 {
			if s.sus != tone1 {
				return 0, false
			}
			s.sus, text = sus, rest
			continue
		}
		a, rest, ok := readAlteration(text)
		if !ok {
			if text = strings.TrimLeft(text, ","); text == "" {
				break
			}
			if a, rest, ok = readBracketed(text); !ok {
				return 0, false
			}
		}
		alterations, text = append(alterations, a), rest
	}
	return build(s, alterations)
}

func readSus(text string) (rest string, sus tone) {
	rest, found := strings.CutPrefix(strings.TrimLeft(text, ","), "sus")
	switch {
	case !found:
		return text, tone1
	case strings.HasPrefix(rest, "2"):
		return rest[1:], tone2
	case strings.HasPrefix(rest, "4"):
		return rest[1:], tone4
	}
	return rest, tone4
}

// readAlteration reads "b9", "+11", "add9", "add#11", or a last "+" or "aug", which stands for #5.
func readAlteration(text string) (a alteration, rest string, ok bool) {
	if text == "+" || text == "aug" {
		return alteration{tone: toneSharp5}, "", true
	}
	text, a.add = strings.CutPrefix(strings.TrimLeft(text, ","), "add")
	sign := ""
	if text != "" {
		switch text[0] {
		case '#', '+':
			sign, text = "#", text[1:]
		case 'b', '-':
			sign, text = "b", text[1:]
		}
	}
	if sign == "" && !a.add {
		return a, text, false
	}
	a.tone, rest, ok = readTone(sign, text)
	return a, rest, ok
}

// readBracketed reads a plain tension after a separator, as in C7(13) or C(9): it is only added.
func readBracketed(text string) (a alteration, rest string, ok bool) {
	a.add = true
	if text[0] == '2' || text[0] == '4' {
		return a, text, false
	}
	if a.tone, rest, ok = readTone("", text); !ok {
		a, rest, ok = readAlteration(text)
	}
	return a, rest, ok
}

// readTone reads the number after a sign.
func readTone(sign, text string) (t tone, rest string, ok bool) {
	for _, n := range []string{"13", "11", "9", "6", "5", "4", "2"} {
		if rest, found := strings.CutPrefix(text, n); found {
			t, ok = alterationTones[sign+n]
			return t, rest, ok
		}
	}
	return 0, text, false
}
