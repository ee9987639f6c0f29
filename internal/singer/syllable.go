package singer

import (
	"fmt"
	"strings"
)

// Syllable is what is sung on a note: leading consonants, one vowel, last consonants, in plain letters.
//
//	vowels      i I e E ae a uh O o U u er, moving vowels ai ei au ou, hummed m and n
//	consonants  b d g p t k  m n  l r w y  s sh f h v z  ' (glottal stop)  - (a mere dip in level)
//
// "do", "re", "sol", "la", "ba", "dn" (d and a hummed n), "m" (hummed), "-m" (hummed, after a dip), "'a", "stra". A syllable that
// is a vowel alone is sung without any mark at its start but the pitch. The empty syllable is "a".
type Syllable string

// spoken is a parsed syllable.
type spoken struct {
	lead  []*consonant
	vowel *vowel
	last  []*consonant
}

func (s spoken) leadSeconds() float64 {
	sum := 0.0
	for _, c := range s.lead {
		sum += c.seconds
	}
	return sum
}

// parse splits the syllable: the longest vowel name wins; m and n are vowels where no other vowel stands.
func (s Syllable) parse() (spoken, error) {
	text := string(s)
	if text == "" {
		text = "a"
	}
	start, v := findVowel(text)
	if v == nil {
		return spoken{}, fmt.Errorf("singer: syllable %q has no vowel; write for example %q, %q or %q", string(s), "do", "sol", "dn")
	}
	lead, err := consonantsOf(text[:start])
	if err != nil {
		return spoken{}, fmt.Errorf("singer: syllable %q: %w", string(s), err)
	}
	last, err := consonantsOf(text[start+len(v.name):])
	if err != nil {
		return spoken{}, fmt.Errorf("singer: syllable %q: %w", string(s), err)
	}
	return spoken{lead: lead, vowel: v, last: last}, nil
}

// findVowel returns the first open vowel and where it starts, or the last hummed one.
func findVowel(text string) (int, *vowel) {
	for i := range text {
		if v := longestVowel(text[i:], false); v != nil {
			return i, v
		}
	}
	for i := len(text) - 1; i >= 0; i-- {
		if v := longestVowel(text[i:], true); v != nil {
			return i, v
		}
	}
	return 0, nil
}

func longestVowel(text string, hummed bool) *vowel {
	var best *vowel
	for i := range vowels {
		v := &vowels[i]
		if v.hummed == hummed && strings.HasPrefix(text, v.name) && (best == nil || len(v.name) > len(best.name)) {
			best = v
		}
	}
	return best
}

func consonantsOf(text string) ([]*consonant, error) {
	var found []*consonant
	for text != "" {
		var best *consonant
		for i := range consonants {
			c := &consonants[i]
			if strings.HasPrefix(text, c.name) && (best == nil || len(c.name) > len(best.name)) {
				best = c
			}
		}
		if best == nil {
			return nil, fmt.Errorf("no consonant starts %q; use b d g p t k m n l r w y s sh f h v z ' -", text)
		}
		found = append(found, best)
		text = text[len(best.name):]
	}
	return found, nil
}
