package bundle

import (
	"fmt"
	"path"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// longestName is the longest name of a file in a bundle, bytes: what most file systems take.
const longestName = 255

// checkName refuses a name that could lead out of a folder or mean another thing on another system; the error follows the bundle's name.
func checkName(name string) error {
	trick := ""
	switch {
	case name == "" || len(name) > longestName:
		trick = "is empty or too long"
	case !utf8.ValidString(name) || strings.ContainsFunc(name, unicode.IsControl):
		trick = "has characters that no file name has"
	case strings.ContainsRune(name, '\\'):
		trick = "has a backslash"
	case strings.HasPrefix(name, "/"):
		trick = "begins at the root of the disk"
	case strings.ContainsRune(name, ':'):
		trick = "has a colon, as names of drives have"
	case path.Clean(name) != name || name == "." || name == ".." || strings.HasPrefix(name, "../"):
		trick = "leads out of its folder or about in it"
	}
	if trick == "" {
		return nil
	}
	return fmt.Errorf("is refused: the name %q in it %s, which no bundle of \"larkhand export\" has", name, trick)
}

// nameSet holds names as a system sees them that tells neither capitals nor the two spellings of letters with accents apart.
type nameSet map[string]bool

// add says whether the name is new.
func (s nameSet) add(name string) bool {
	folded := strings.ToLower(norm.NFC.String(name))
	if s[folded] {
		return false
	}
	s[folded] = true
	return true
}
