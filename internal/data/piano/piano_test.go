package piano_test

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"larkhand/internal/data/datadir"
	"larkhand/internal/data/piano"
	"larkhand/match"
)

// twoNotes is a format 0 file, 500 ticks a quarter note at 120 a minute, so that a tick is 1 ms: key 60 from 100 to
// 300 ms at velocity 80, key 62 from 400 to 450 ms at velocity 70.
const twoNotes = "MThd\x00\x00\x00\x06\x00\x00\x00\x01\x01\xf4" +
	"MTrk\x00\x00\x00\x1c" +
	"\x00\xff\x51\x03\x07\xa1\x20" +
	"\x64\x90\x3c\x50" + "\x81\x48\x80\x3c\x40" + "\x64\x90\x3e\x46" + "\x32\x80\x3e\x40" +
	"\x00\xff\x2f\x00"

const header = "id,raw,subject,block,trial,skill,condition,notes,ideal_notes,dur_s,edit_distance,edits,unclosed\n"

// write lays out a set with this index.
func write(t testing.TB, index string) string {
	folder := t.TempDir()
	if err := os.Mkdir(filepath.Join(folder, "mid"), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"ideal.txt": "60\n62\n", "index.csv": index, "mid/a.mid": twoNotes} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

func TestLoad(t *testing.T) {
	folder := write(t, header+"a,a.txt,7,1,1,dynamics,teaching,2,2,0.35,3,I1:+65 D0:-62 S1:62>64,0\n")
	got, err := piano.Load(folder)
	if err != nil {
		t.Fatal(err)
	}
	want := []piano.Performance{{
		ID: "a", Subject: 7, Skill: "dynamics", Condition: "teaching", Distance: 3,
		Edits: []piano.Edit{
			{Op: piano.Extra, Place: 1, Key: 65}, {Op: piano.Missing, Place: 0, Key: 62}, {Op: piano.Wrong, Place: 1, Key: 64, Want: 62},
		},
		Notes: []match.Played{
			{Onset: 0.1, Offset: 0.3, Pitch: 60, Velocity: 80}, {Onset: 0.4, Offset: 0.45, Pitch: 62, Velocity: 70},
		},
	}}
	if fmt.Sprintf("%.9v", got) != fmt.Sprintf("%.9v", want) {
		t.Errorf("got %+v\nwant %+v", got, want)
	}
	if keys, err := piano.Ideal(folder); err != nil || !reflect.DeepEqual(keys, []int{60, 62}) {
		t.Errorf("intended keys %v, %v", keys, err)
	}
}

func TestLoadErrors(t *testing.T) {
	for _, c := range []struct{ name, index, want string }{
		{"empty", "", "empty"},
		{"no column", "id,subject\na,1\n", "needs a column"},
		{"subject", header + "a,a.txt,x,1,1,d,t,2,2,1,0,,0\n", "subject of a"},
		{"distance", header + "a,a.txt,1,1,1,d,t,2,2,1,x,,0\n", "edit distance of a"},
		{"edit", header + "a,a.txt,1,1,1,d,t,2,2,1,1,X5,0\n", "should look like"},
		{"no file", header + "b,a.txt,1,1,1,d,t,2,2,1,0,,0\n", "b.mid"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := piano.Load(write(t, c.index)); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
		})
	}
	if _, err := piano.Load(t.TempDir()); err == nil {
		t.Error("no error for an empty folder")
	}
}

// TestSet holds the reader to what the set's makers and its index say: 67 notes, 35 pianists, 984 performances without an edit.
func TestSet(t *testing.T) {
	root, ok := datadir.Find()
	if !ok {
		t.Skip("skipped: no data")
	}
	all, err := piano.Load(filepath.Join(root, "piano"))
	if err != nil {
		t.Fatal(err)
	}
	ideal, err := piano.Ideal(filepath.Join(root, "piano"))
	if err != nil {
		t.Fatal(err)
	}
	faultless, players := 0, map[int]bool{}
	for _, p := range all {
		players[p.Subject] = true
		if p.Distance > 0 {
			continue
		}
		faultless++
		for i, n := range p.Notes {
			if len(p.Notes) != len(ideal) || int(n.Pitch) != ideal[i] {
				t.Fatalf("%s is without an edit, but is not the intended piece", p.ID)
			}
		}
	}
	if len(all) != 1123 || len(ideal) != 67 || faultless != 984 || len(players) != 35 {
		t.Errorf("%d performances of %d notes, %d faultless, by %d pianists", len(all), len(ideal), faultless, len(players))
	}
}

func ExampleLoad() {
	folder, _ := os.MkdirTemp("", "piano")
	defer os.RemoveAll(folder)
	os.Mkdir(filepath.Join(folder, "mid"), 0o755)
	os.WriteFile(filepath.Join(folder, "index.csv"), []byte(header+"a,a.txt,7,1,1,dynamics,teaching,2,2,0.35,0,,0\n"), 0o644)
	os.WriteFile(filepath.Join(folder, "mid", "a.mid"), []byte(twoNotes), 0o644)
	performances, err := piano.Load(folder)
	fmt.Println(performances[0].ID, len(performances[0].Notes), err)
	// Output: a 2 <nil>
}
