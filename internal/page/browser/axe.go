package browser

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// axeFile is the script of axe-core that "make test" fetches.
const axeFile = "axe-core-4.10.2.min.js"

// Barriers runs axe-core's rules in the page as it is looked at now, and gives a sentence for each that is broken. It skips the test where
// the script is missing: hence the test t, which may be a part of the one that opened the page.
func (tab *Tab) Barriers(t testing.TB) []string {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		t.Skip("skipped: no folder for caches, in which axe-core would be")
	}
	script, err := os.ReadFile(filepath.Join(cache, "larkhand-test", axeFile))
	if err != nil {
		t.Skip("skipped: no axe-core; \"make test\" fetches it")
	}
	tab.Run(string(script)+";0", nil)
	var text string
	tab.Run(`axe.run(document, {resultTypes: ["violations"]}).then(r => JSON.stringify(r.violations))`, &text)
	var violations []struct {
		ID, Help string
		Nodes    []struct {
			Target  []any
			Summary string `json:"failureSummary"`
		}
	}
	if err := json.Unmarshal([]byte(text), &violations); err != nil {
		t.Fatal(err)
	}
	var list []string
	for _, v := range violations {
		var where []string
		for _, n := range v.Nodes {
			where = append(where, fmt.Sprint(n.Target, ": ", strings.Join(strings.Fields(n.Summary), " ")))
		}
		list = append(list, v.ID+": "+v.Help+": "+strings.Join(where, "; "))
	}
	return list
}
