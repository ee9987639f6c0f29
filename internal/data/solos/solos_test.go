package solos_test

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"larkhand/internal/data/datadir"
	"larkhand/internal/data/solos"
)

func write(t *testing.T, text string) string {
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "solo-001.csv"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return folder
}

func TestLoad(t *testing.T) {
	got, err := solos.Load(write(t, "pitch,onset_s,duration_s\n64,2.3191,0.1030\n60,2.4395,0.0624\n"))
	want := []solos.Solo{{ID: "solo-001", Notes: []solos.Note{{64, 2.3191, 0.103}, {60, 2.4395, 0.0624}}}}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, %v\nwant %+v", got, err, want)
	}
}

func TestLoadErrors(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"pitch,onset_s,duration_s\n64,x,0.1\n", "line 2 should hold three numbers"},
		{"pitch,onset_s\n64,1\n", "wrong number of fields"},
	} {
		if _, err := solos.Load(write(t, c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want one with %q", err, c.want)
		}
	}
	if _, err := solos.Load(t.TempDir()); err == nil || !strings.Contains(err.Error(), "solo-NNN.csv") {
		t.Errorf("error %v for an empty folder", err)
	}
}

// TestPhrases: a phrase ends where the rest is longer than 0.35 s and the interval longer than twice the median.
func TestPhrases(t *testing.T) {
	notes := func(onsets ...float64) (list []solos.Note) {
		for _, at := range onsets {
			list = append(list, solos.Note{Key: 60, Onset: at, Duration: 0.1})
		}
		return list
	}
	held := notes(0, 0.2, 0.4, 0.6, 1.2, 1.4, 1.6)
	held[3].Duration = 0.5
	for _, c := range []struct {
		name  string
		notes []solos.Note
		want  []int
	}{
		{"none", nil, nil},
		{"one note", notes(1), []int{1}},
		{"no rest", notes(0, 0.2, 0.4, 0.6), []int{4}},
		{"a rest", notes(0, 0.2, 0.4, 1.2, 1.4), []int{3, 2}},
		{"a rest as long as the others", notes(0, 0.5, 1, 1.5, 2), []int{5}},
		{"a long note", held, []int{7}},
	} {
		var got []int
		for _, p := range (solos.Solo{Notes: c.notes}).Phrases() {
			got = append(got, len(p))
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: phrases of %v notes, want %v", c.name, got, c.want)
		}
	}
}

// TestSet: the phrases of a real solo hold all its notes, and about four in ten phrases have 3 to 12 notes (42 % of the
// phrases of 299 solos of the same database).
func TestSet(t *testing.T) {
	root, ok := datadir.Find()
	if !ok {
		t.Skip("skipped: no data")
	}
	list, err := solos.Load(filepath.Join(root, "solos"))
	if err != nil {
		t.Fatal(err)
	}
	phrases, middle := 0, 0
	for _, s := range list {
		sum := 0
		for _, p := range s.Phrases() {
			sum += len(p)
			phrases++
			if len(p) >= 3 && len(p) <= 12 {
				middle++
			}
		}
		if sum != len(s.Notes) {
			t.Errorf("%s: phrases hold %d of %d notes", s.ID, sum, len(s.Notes))
		}
	}
	if share := float64(middle) / float64(phrases); len(list) != 99 || share < 0.35 || share > 0.5 {
		t.Errorf("%d solos, %d of %d phrases with 3 to 12 notes", len(list), middle, phrases)
	}
}

func ExampleSolo_Phrases() {
	solo := solos.Solo{Notes: []solos.Note{{60, 0, 0.1}, {62, 0.2, 0.1}, {64, 0.4, 0.1}, {67, 1.5, 0.1}, {65, 1.7, 0.1}}}
	for _, phrase := range solo.Phrases() {
		fmt.Println(len(phrase), "notes from key", phrase[0].Key)
	}
	// Output:
	// 3 notes from key 60
	// 2 notes from key 67
}
