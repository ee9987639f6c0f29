package command

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// foundIn makes empty files and describes the rounds that are found among them, one a line.
func foundIn(t *testing.T, files ...string) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	rounds, err := findRounds(dir)
	if err != nil {
		return "error: " + strings.ReplaceAll(err.Error(), dir, "DIR")
	}
	var lines []string
	for _, f := range rounds {
		line := f.name + ":"
		for _, path := range append(f.files(), f.settings) {
			if path != "" {
				line += " " + filepath.Base(path)
			}
		}
		if f.fault != nil {
			line += " (" + f.fault.Error() + ")"
		}
		lines = append(lines, line)
	}
	return strings.ReplaceAll(strings.Join(lines, "\n"), filepath.Base(dir), "DIR")
}

func TestFindRounds(t *testing.T) {
	for name, c := range map[string]struct {
		files []string
		want  string
	}{
		"one folder": {[]string{"take1.wav", "take2.wav", "answer.mid", "round.txt"}, "DIR: take1.wav take2.wav answer.mid round.txt"},
		"folders": {[]string{"b/take1.flac", "b/answer.mid", "a/TAKE_1.ogg", "a/My Answer.MID"},
			"a: TAKE_1.ogg My Answer.MID\nb: take1.flac answer.mid"},
		"prefixes": {[]string{"mo-take1.wav", "mo-take2.wav", "mo-answer.mid", "tu take 1.mp3", "tu answer.midi", "tu round.txt"},
			"mo: mo-take1.wav mo-take2.wav mo-answer.mid\ntu: tu take 1.mp3 tu answer.midi tu round.txt"},
		"both": {[]string{"x/y/take1.wav", "x/y/answer.mid", "mo-take1.wav", "mo-answer.mid"},
			"mo: mo-take1.wav mo-answer.mid\nx/y: take1.wav answer.mid"},
		"other names of one round": {[]string{"a/old take1 of it.wav", "a/answer by Bo.mid"}, "a: old take1 of it.wav answer by Bo.mid"},
		"other files":              {[]string{"take1.wav", "answer.mid", "take1.svg", "answer.txt", "notes.wav", "around.txt"}, "DIR: take1.wav answer.mid"},
		"no answer":                {[]string{"a/take1.wav"}, "a: take1.wav (no file with answer in its name)"},
		"no first take":            {[]string{"a/take2.wav", "a/answer.mid"}, "a: take2.wav answer.mid (no file with take1 in its name)"},
		"twice": {[]string{"a/take1.flac", "a/take1.wav", "a/answer.mid"},
			"a: take1.flac answer.mid (two files for the same part: take1.flac and take1.wav; rename one of them)"},
		"only settings": {[]string{"round.txt"}, "error: DIR holds no rounds: their files must have take1, take2 and answer in their names; see 'larkhand check --help'"},
	} {
		t.Run(name, func(t *testing.T) {
			if got := foundIn(t, c.files...); got != c.want {
				t.Errorf("found\n%s\nwant\n%s", got, c.want)
			}
		})
	}
}

// FuzzSettings: no file of settings makes the reader fail in any other way than by an error.
func FuzzSettings(f *testing.F) {
	for _, text := range []string{"key: C minor\n", "# a\n\ntempo:96", "key", ":", "chart: Cm7 | %: x\r\nKEY : D", "\x00\xff:\n"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		path := filepath.Join(t.TempDir(), "round.txt")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		s := settings{theory: theory{numbering: "scale"}, instrument: "keys", loopStarts: "0"}
		if readSettings(path, &s) != nil {
			return
		}
		if opt, err := s.options(); err == nil && (opt.Key == nil) != (s.key == "") {
			t.Errorf("key %q became %v", s.key, opt.Key)
		}
	})
}
