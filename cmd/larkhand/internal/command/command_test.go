package command

import (
	"crypto/sha256"
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var updateScripts = flag.Bool("update", false, "write what the commands printed into the scripts instead of comparing")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"larkhand": func() { os.Exit(Main()) }})
}

// TestScripts runs testdata/script/VERB_TOPIC.txtar. Beside testscript's own commands they have sing, play, band, beside, badsound, badmidi, code, remember and
// unchanged; see sounds_test.go.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           filepath.Join("testdata", "script"),
		UpdateScripts: *updateScripts,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"sing": sing, "play": play, "band": band, "beside": beside, "badsound": badSound, "badmidi": badMIDI, "remember": remember, "unchanged": unchanged, "code": code, "spoil": spoil,
		},
	})
}

// code is the script command "code N ARGUMENT ...": it runs larkhand and wants the exit code N.
func code(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: code N ARGUMENT ...")
	}
	err := ts.Exec("larkhand", args[1:]...)
	got := "0"
	if err != nil {
		got = strings.TrimPrefix(err.Error(), "exit status ")
	}
	if got != args[0] {
		ts.Fatalf("larkhand %s: exit code %s, want %s", strings.Join(args[1:], " "), got, args[0])
	}
}

func sum(data []byte) [sha256.Size]byte { return sha256.Sum256(data) }

// filesBelow shows every file below dir.
func filesBelow(dir string, show func(path string, data []byte, mode os.FileMode)) error {
	return filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		info, err := entry.Info()
		if err != nil {
			return err
		}
		show(path, data, info.Mode())
		return nil
	})
}
