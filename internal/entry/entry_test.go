package entry_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"larkhand/internal/entry"
	"larkhand/internal/music"
)

func key(t interface{ Fatal(...any) }, name string) music.Key {
	k, err := music.ParseKey(name)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func ExampleReader() {
	cMinor, _ := music.ParseKey("C minor")
	r := entry.Reader{Key: cMinor, Numbering: music.AlteredNumbers}
	numbers, _ := r.Read(entry.Numbers, "11 2 ♭3")
	letters, _ := r.Read(entry.Letters, "ccd d#")
	fmt.Println(r.Write(entry.Letters, entry.Classes(numbers)))
	fmt.Println(r.Write(entry.Numbers, entry.Classes(letters)))
	fmt.Println(r.Respelled(entry.Letters, letters))
	// Output:
	// C C D Eb
	// 1 1 2 b3
	// [D#] [Eb]
}

// What a digit or letter means is common practice (no source): in C minor counted by the key's own scale 3 is Eb, counted
// against major it is E.
func TestRead(t *testing.T) {
	for _, c := range []struct {
		key       string
		numbering music.Numbering
		kind      entry.Kind
		typed     string
		want      []int
	}{
		{"C minor", music.AlteredNumbers, entry.Numbers, "1 1 2 b3", []int{0, 0, 2, 3}},
		{"C minor", music.AlteredNumbers, entry.Numbers, "11 2 b3", []int{0, 0, 2, 3}},
		{"C minor", music.AlteredNumbers, entry.Numbers, "112b3", []int{0, 0, 2, 3}},
		{"C minor", music.ScaleNumbers, entry.Numbers, "1 2 b3 3 #3 b6 b7 #7 b2 b5", []int{0, 2, 3, 3, 4, 8, 10, 11, 1, 6}},
		{"F lydian", music.ScaleNumbers, entry.Numbers, "4 #4 b4", []int{11, 11, 10}},
		{"C minor", music.AlteredNumbers, entry.Numbers, " 1,1 - 2 | ♭3 ", []int{0, 0, 2, 3}},
		{"C minor", music.AlteredNumbers, entry.Numbers, "1 n3 3 B7 8", []int{0, 4, 4, 10, 0}},
		{"C minor", music.ScaleNumbers, entry.Numbers, "1 3 #3 b2 7", []int{0, 3, 4, 1, 10}},
		{"Eb dorian", music.ScaleNumbers, entry.Numbers, "1 3 7", []int{3, 6, 1}},
		{"C major", music.ScaleNumbers, entry.Numbers, "#4 bb7 ? ##1", []int{6, 9, entry.Unheard, 2}},
		{"C minor", music.ScaleNumbers, entry.Letters, "C C D Eb", []int{0, 0, 2, 3}},
		{"C minor", music.ScaleNumbers, entry.Letters, "ccdeb", []int{0, 0, 2, 3}},
		{"C minor", music.ScaleNumbers, entry.Letters, "C C D D♯", []int{0, 0, 2, 3}},
		{"C minor", music.ScaleNumbers, entry.Letters, "a b c", []int{9, 11, 0}},
		{"C minor", music.ScaleNumbers, entry.Letters, "ABC", []int{9, 11, 0}},
		{"C minor", music.ScaleNumbers, entry.Letters, "abc", []int{8, 0}},
		{"C minor", music.ScaleNumbers, entry.Letters, "bb Bb b bbb B", []int{10, 10, 11, 9, 11}},
		{"C minor", music.ScaleNumbers, entry.Letters, "Cb E# B# F## Gn ?", []int{11, 5, 0, 7, 7, entry.Unheard}},
		{"C minor", music.ScaleNumbers, entry.Letters, "", nil},
	} {
		r := entry.Reader{Key: key(t, c.key), Numbering: c.numbering}
		notes, err := r.Read(c.kind, c.typed)
		if err != nil {
			t.Errorf("%q: %v", c.typed, err)
			continue
		}
		got := entry.Classes(notes)
		if len(got) == 0 {
			got = nil
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s in %s: %q is %v, want %v", c.kind, c.key, c.typed, got, c.want)
		}
	}
}

func TestReadRefuses(t *testing.T) {
	r := entry.Reader{Key: key(t, "C minor")}
	for _, c := range []struct {
		kind        entry.Kind
		typed, want string
	}{
		{entry.Numbers, "1 2 9", `"9" is no number`},
		{entry.Numbers, "1 bbb3", `"bbb3" is no number`},
		{entry.Numbers, "b#3", `"b#3" is no number`},
		{entry.Numbers, "1 b", `"b" is no number`},
		{entry.Numbers, "C D", `"C" is no number`},
		{entry.Letters, "C H", `"H" is no letter`},
		{entry.Letters, "1 2", `"1" is no letter`},
		{entry.Numbers, strings.Repeat("1", entry.MaxNotes+1), "at most 256 notes"},
	} {
		if _, err := r.Read(c.kind, c.typed); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: error %v, want one with %s", c.typed, err, c.want)
		}
	}
}

// TestWhatIsWrittenIsRead: in every key, everything that is written reads back.
func TestWhatIsWrittenIsRead(t *testing.T) {
	tonics := strings.Fields("C Db D Eb E F F# Gb G Ab A Bb B C# G# Fb")
	scales := strings.Fields("major minor dorian phrygian lydian mixolydian locrian blues")
	rapid.Check(t, func(t *rapid.T) {
		r := entry.Reader{
			Key:       key(t, rapid.SampledFrom(tonics).Draw(t, "tonic")+" "+rapid.SampledFrom(scales).Draw(t, "scale")),
			Numbering: rapid.SampledFrom([]music.Numbering{music.ScaleNumbers, music.AlteredNumbers}).Draw(t, "numbering"),
		}
		classes := rapid.SliceOfN(rapid.IntRange(entry.Unheard, 11), 0, 16).Draw(t, "classes")
		for _, kind := range []entry.Kind{entry.Numbers, entry.Letters} {
			written := r.Write(kind, classes)
			notes, err := r.Read(kind, written)
			if err != nil {
				t.Fatalf("%s %q: %v", kind, written, err)
			}
			if got := entry.Classes(notes); fmt.Sprint(got) != fmt.Sprint(classes) {
				t.Fatalf("%s %q is %v, want %v", kind, written, got, classes)
			}
			if typed, _ := r.Respelled(kind, notes); len(typed) > 0 {
				t.Fatalf("%s %q is spelled otherwise than the key does: %v", kind, written, typed)
			}
		}
	})
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{"1 1 2 b3", "ccdeb", "♭♯?", "bbb", "B#n", "##8", "\xff1"} {
		f.Add(s, true)
		f.Add(s, false)
	}
	r := entry.Reader{Key: key(f, "F# minor")}
	f.Fuzz(func(t *testing.T, typed string, letters bool) {
		kind := entry.Numbers
		if letters {
			kind = entry.Letters
		}
		notes, err := r.Read(kind, typed)
		if err != nil {
			return
		}
		again, err := r.Read(kind, r.Write(kind, entry.Classes(notes)))
		if err != nil || fmt.Sprint(entry.Classes(again)) != fmt.Sprint(entry.Classes(notes)) {
			t.Fatalf("%q is %v, written and read again %v (%v)", typed, notes, again, err)
		}
	})
}
