package synth

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func TestChoose(t *testing.T) {
	dir := t.TempDir()
	own, system := filepath.Join(dir, "own"), filepath.Join(dir, "system")
	whole := tinyFont(completePresets...)
	writeFont(t, filepath.Join(own, "a damaged.sf2"), whole[:300])
	writeFont(t, filepath.Join(own, "b.sf2"), whole)
	writeFont(t, filepath.Join(own, "c.sf3"), whole)
	writeFont(t, filepath.Join(system, "s.sf2"), whole)
	flag := writeFont(t, filepath.Join(dir, "flag.sf2"), whole)
	big := writeFont(t, filepath.Join(dir, "large", "big.sf2"), nil)
	if err := os.Truncate(big, maxFoundBytes+1); err != nil { // a hole: takes no room on the disk
		t.Fatal(err)
	}
	absent := filepath.Join(dir, "absent")
	tests := []struct {
		name, flag, config string
		folders            []string
		want               string
		remarks            []string // words that they contain
	}{
		{"flag first", flag, flag, []string{own}, "SoundFont flag.sf2", nil},
		{"plain by the flag", PlainName, flag, []string{own}, "own plain sounds", nil},
		{"configuration next", "", flag, []string{own}, "SoundFont flag.sf2", nil},
		{"plain by the configuration", "", PlainName, []string{own}, "own plain sounds", nil},
		{"configured font gone", "", absent, []string{system}, "SoundFont s.sf2", []string{"absent"}},
		{"damaged one passed over", "", "", []string{absent, own, system}, "SoundFont b.sf2", []string{"a damaged.sf2"}},
		{"system last", "", "", []string{absent, system}, "SoundFont s.sf2", nil},
		{"large one passed over", "", "", []string{filepath.Dir(big)}, "own plain sounds", []string{"64 MB"}},
		{"none", "", "", []string{absent}, "own plain sounds", nil},
	}
	for _, tc := range tests {
		s, remarks, err := choose(tc.flag, tc.config, tc.folders, testRate)
		if err != nil || s.Name() != tc.want || len(remarks) != len(tc.remarks) {
			t.Errorf("%s: %v, %q, %v; want %s", tc.name, s, remarks, err, tc.want)
			continue
		}
		for i, word := range tc.remarks {
			if !strings.Contains(remarks[i], word) {
				t.Errorf("%s: the remark is %q, want %q in it", tc.name, remarks[i], word)
			}
		}
	}
	if s, _, err := choose(absent, flag, nil, testRate); err == nil || s != nil {
		t.Errorf("an absent font by the flag gives %v, %v", s, err)
	}
}

func TestFontFolders(t *testing.T) {
	t.Setenv("HOME", "/home/someone")
	for data, want := range map[string]string{"/data": "/data/larkhand", "": "/home/someone/.local/share/larkhand", "relative": "/home/someone/.local/share/larkhand"} {
		t.Setenv("XDG_DATA_HOME", data)
		if got := fontFolders(); !slices.Equal(got, []string{want, systemFonts}) {
			t.Errorf("%q: %v", data, got)
		}
	}
}
