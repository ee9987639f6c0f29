package singer

import "testing"

func TestSyllables(t *testing.T) {
	for _, c := range []struct {
		syllable           Syllable
		lead, vowel, after string
	}{
		{"do", "d", "o", ""},
		{"sol", "s", "o", "l"},
		{"la", "l", "a", ""},
		{"dn", "d", "n", ""},
		{"m", "", "m", ""},
		{"-m", "-", "m", ""},
		{"hm", "h", "m", ""},
		{"'a", "'", "a", ""},
		{"stra", "s t r", "a", ""},
		{"shai", "sh", "ai", ""},
		{"er", "", "er", ""},
		{"uhm", "", "uh", "m"},
		{"bop", "b", "o", "p"},
		{"kaend", "k", "ae", "n d"},
		{"", "", "a", ""},
	} {
		said, err := c.syllable.parse()
		if err != nil {
			t.Errorf("%q: %v", c.syllable, err)
			continue
		}
		if names(said.lead) != c.lead || said.vowel.name != c.vowel || names(said.last) != c.after {
			t.Errorf("%q: %q %q %q", c.syllable, names(said.lead), said.vowel.name, names(said.last))
		}
	}
	for _, bad := range []Syllable{"st", "qa", "d o", "DO", "é"} {
		if _, err := bad.parse(); err == nil {
			t.Errorf("%q parses", bad)
		}
	}
}

func names(cs []*consonant) string {
	text := ""
	for i, c := range cs {
		if i > 0 {
			text += " "
		}
		text += c.name
	}
	return text
}

func FuzzSyllable(f *testing.F) {
	for _, s := range []string{"do", "stra", "", "'-m", "aiaiai", "\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		said, err := Syllable(s).parse()
		if err == nil && said.vowel == nil {
			t.Fatalf("%q has no vowel and no error", s)
		}
		if err != nil || s == "" {
			return
		}
		length := len(said.vowel.name)
		for _, c := range append(append([]*consonant(nil), said.lead...), said.last...) {
			length += len(c.name)
		}
		if length != len(s) {
			t.Fatalf("%q: %d of %d letters used", s, length, len(s))
		}
	})
}
