package bundle

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

var noon = time.Date(2026, 3, 4, 12, 0, 0, 0, time.FixedZone("", 3600))

// small limits let small bundles be bombs.
var small = Limits{Rounds: 3, Entries: 15, ManifestBytes: 8000, TakeBytes: 5000, AnswerBytes: 1000, ResultBytes: 1000, CopyBytes: 5000,
	NameLetters: 20, WrittenLetters: 30, Pieces: 4, Helped: 100, Ratio: 20, RatioFrom: 500}

func pieces() []Piece {
	return []Piece{
		{"take1.flac", Take, []byte("fLaC one")}, {"take2.flac", Take, []byte("fLaC two")}, {"answer.mid", Answer, []byte("MThd three")},
		{"round.json", Result, []byte("{}")}, {"backing1.flac", Backing, []byte("fLaC loop")}, {"path.json", Path, []byte("[]")},
		{"hearing.json", Hearing, []byte(`{"backing_loops":true}`)}, {"sung1.wav", Copy, []byte("RIFF")},
	}
}

func exampleRound() Round {
	tempo, starts, took := 96.0, 9.5, 7.5
	return Round{UID: "20260304-120000-0a0b0c0d", At: noon, Sang: "Ann", Played: "Ben", Key: "C minor", Numbering: "scale", Instrument: "keys",
		Chart: "Cm7 | Fm7", Tempo: &tempo, LoopStarts: 0.25, AnswerStarts: &starts, Program: "1",
		Misheard: true, PhraseName: "Rain", Written: &Written{Numbers: "1 b3", Letters: "c eb", NumbersSeconds: &took}, Pieces: []float64{1.5, 3}, Helped: Helped{Take2: 2, SungAgain: 1}}
}

func fill(t testing.TB, w *Writer) {
	t.Helper()
	if err := w.Round(exampleRound(), pieces()); err != nil {
		t.Fatal(err)
	}
	if err := w.File(TableName, []byte("a,b\n")); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

func zipped(t testing.TB) []byte {
	var b bytes.Buffer
	fill(t, NewZip(&b, "1", noon))
	return b.Bytes()
}

func wantRound(t *testing.T, r *Reader) {
	t.Helper()
	if len(r.Manifest.Rounds) != 1 {
		t.Fatalf("%d rounds, want 1", len(r.Manifest.Rounds))
	}
	got := r.Manifest.Rounds[0]
	c, err := r.Round(got)
	if err != nil {
		t.Fatal(err)
	}
	want := Contents{Takes: [][]byte{pieces()[0].Data, pieces()[1].Data}, Answer: pieces()[2].Data, Result: pieces()[3].Data,
		Backings: [][]byte{pieces()[4].Data}, Path: pieces()[5].Data, Hearing: pieces()[6].Data}
	if d := cmp.Diff(want, c); d != "" {
		t.Error(d)
	}
	if !got.Whole() || len(got.Files) != len(pieces()) {
		t.Errorf("read back %+v", got)
	}
	if !got.At.Equal(noon) {
		t.Errorf("began at %v, want %v", got.At, noon)
	}
	got.At, got.Files = noon, nil
	if d := cmp.Diff(exampleRound(), got); d != "" {
		t.Error(d)
	}
}

func TestZipRoundTrip(t *testing.T) {
	data := zipped(t)
	r, err := Read("a.zip", bytes.NewReader(data), int64(len(data)), small)
	if err != nil {
		t.Fatal(err)
	}
	wantRound(t, r)
	path := filepath.Join(t.TempDir(), "b.zip")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if r, err = Open(path); err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	wantRound(t, r)
}

func TestFolderRoundTrip(t *testing.T) {
	dir := t.TempDir()
	fill(t, NewFolder(dir, "1", noon))
	r, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	wantRound(t, r)
}

func TestIdentity(t *testing.T) {
	data := zipped(t)
	r, err := Read("a.zip", bytes.NewReader(data), int64(len(data)), small)
	if err != nil {
		t.Fatal(err)
	}
	a := r.Manifest.Rounds[0]
	b := a
	b.UID, b.At, b.Sang = "another", a.At.UTC(), "Eve"
	if a.Identity() != b.Identity() {
		t.Error("the same files at the same moment have two identities")
	}
	b.At = a.At.Add(time.Millisecond)
	if a.Identity() == b.Identity() {
		t.Error("two moments have one identity")
	}
}

// TestEarlierBundle: a bundle that knows nothing of steps, pieces and marks is read as one without.
func TestEarlierBundle(t *testing.T) {
	data := with(t, func(parts []part) []part {
		for i := range parts {
			if parts[i].name == ManifestName {
				text := parts[i].data
				from, to := strings.Index(text, `"misheard"`), strings.Index(text, `"files"`)
				parts[i].data = text[:from] + text[to:]
			}
		}
		return parts
	})
	r, err := Read("a.zip", bytes.NewReader(data), int64(len(data)), small)
	if err != nil {
		t.Fatal(err)
	}
	got := r.Manifest.Rounds[0]
	if got.Misheard || got.PhraseName != "" || got.Written != nil || got.Pieces != nil || got.Helped != (Helped{}) || got.Program != "1" || !got.Whole() {
		t.Errorf("read back %+v", got)
	}
}

// part is a file of a hand-made zip file.
type part struct {
	name string
	data string
	mode fs.FileMode
}

// with is the example's parts, changed.
func with(t testing.TB, change func(parts []part) []part) []byte {
	t.Helper()
	data := zipped(t)
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var parts []part
	for _, f := range archive.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		parts = append(parts, part{name: f.Name, data: string(text)})
	}
	return pack(t, change(parts))
}

func pack(t testing.TB, parts []part) []byte {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, p := range parts {
		h := &zip.FileHeader{Name: p.name, Method: zip.Deflate}
		if p.mode != 0 {
			h.SetMode(p.mode)
		}
		out, err := w.CreateHeader(h)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(out, p.data); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// inManifest replaces a text in the manifest.
func inManifest(old, new string) func([]part) []part {
	return func(parts []part) []part {
		for i := range parts {
			if parts[i].name == ManifestName {
				parts[i].data = strings.Replace(parts[i].data, old, new, 1)
			}
		}
		return parts
	}
}

func adding(p part) func([]part) []part { return func(parts []part) []part { return append(parts, p) } }

const takeName = "rounds/20260304-120000-0a0b0c0d/take1.flac"

// readAll opens a bundle and reads all its rounds.
func readAll(data []byte) error {
	r, err := Read("b.zip", bytes.NewReader(data), int64(len(data)), small)
	if err != nil {
		return err
	}
	for _, round := range r.Manifest.Rounds {
		if _, err := r.Round(round); err != nil {
			return err
		}
	}
	return nil
}

func TestRefused(t *testing.T) {
	replaced := func(name string, data string) func([]part) []part {
		return func(parts []part) []part {
			for i := range parts {
				if parts[i].name == name {
					parts[i].data = data
				}
			}
			return parts
		}
	}
	cases := []struct {
		name   string
		change func([]part) []part
		want   string
	}{
		{"parent", adding(part{name: "../evil"}), "leads out of its folder"},
		{"parent inside", adding(part{name: "rounds/../../evil"}), "leads out of its folder"},
		{"absolute", adding(part{name: "/etc/evil"}), "root of the disk"},
		{"backslash", adding(part{name: `rounds\..\evil`}), "backslash"},
		{"drive", adding(part{name: "C:evil"}), "colon"},
		{"dot", adding(part{name: "rounds/./evil"}), "about in it"},
		{"two slashes", adding(part{name: "rounds//evil"}), "about in it"},
		{"control", adding(part{name: "ev\x00il"}), "characters that no file name has"},
		{"not UTF-8", adding(part{name: "ev\xffil"}), "characters that no file name has"},
		{"long", adding(part{name: strings.Repeat("x", 300)}), "too long"},
		{"link", adding(part{name: "link", data: "/etc/passwd", mode: fs.ModeSymlink | 0o777}), "is a link"},
		{"device", adding(part{name: "pipe", mode: fs.ModeNamedPipe | 0o600}), "is a link or a device"},
		{"twice", adding(part{name: TableName}), "twice"},
		{"twice in capitals", adding(part{name: "ROUNDS.CSV"}), "twice"},
		{"wrong checksum", replaced(takeName, "fLaC 0ne"), "its checksum is another"},
		{"shorter", replaced(takeName, "fLaC"), "its checksum is another"},
		{"longer", replaced(takeName, "fLaC one and more"), "longer than"},
		{"bomb", func(parts []part) []part {
			data := strings.Repeat("0", 4000) // packs to some 20 bytes
			parts = replaced(takeName, data)(parts)
			return inManifest(`"bytes": 8`, `"bytes": 4000`)(parts)
		}, "zip bomb"},
		{"bomb in the manifest", replaced(ManifestName, `{"schema":"larkhand.bundle/1"`+strings.Repeat(" ", 7000)+"}"), "zip bomb"},
		{"missing", func(parts []part) []part { return parts[1:] }, "lacks the file"},
		{"no manifest", func(parts []part) []part { return parts[:len(parts)-1] }, "is no larkhand bundle"},
		{"newer", inManifest(`larkhand.bundle/1`, `larkhand.bundle/2`), "newer larkhand"},
		{"foreign", inManifest(`larkhand.bundle/1`, `other/1`), "another program's"},
		{"no JSON", replaced(ManifestName, "{"), "damaged manifest.json"},
		{"wrong type", inManifest(`"loop_starts": 0.25`, `"loop_starts": "x"`), "wrong value"},
		{"outside by the manifest", inManifest(takeName, "../../etc/passwd"), "leads out of its folder"},
		{"file twice", inManifest("take2.flac", "take1.flac"), "names the file"},
		{"the manifest itself", inManifest(takeName, ManifestName), "names the file"},
		{"no checksum", func(parts []part) []part {
			return inManifest(fileOf("", Take, []byte("fLaC one")).SHA256, "abc")(parts)
		}, "no checksum"},
		{"large", inManifest(`"bytes": 8`, `"bytes": 5001`), "at most 5000"},
		{"negative", inManifest(`"bytes": 8`, `"bytes": -1`), "of -1 bytes"},
		{"three takes", inManifest(`"role": "copy"`, `"role": "take"`), "3 files for its take"},
		{"name to mislead a terminal", inManifest(`"Ann"`, `"An\u001b[2Jn"`), "cannot be shown"},
		{"impossible time", inManifest(`"at": "2026-`, `"at": "0000-`), "impossible time"},
		{"numbers to mislead a terminal", inManifest(`"1 b3"`, `"1\u001b[2J"`), "numbers or letters that cannot be shown"},
		{"letters without end", inManifest(`"c eb"`, `"`+strings.Repeat("c", 31)+`"`), "numbers or letters that cannot be shown"},
		{"a phrase's name without end", inManifest(`"Rain"`, `"`+strings.Repeat("r", 21)+`"`), "a phrase's name that cannot be shown"},
		{"a time below zero", inManifest(`"numbers_seconds": 7.5`, `"numbers_seconds": -7.5`), "a time below zero"},
		{"pieces in no order", inManifest("1.5,", "3.5,"), "pieces in no order"},
		{"a piece before the answer", inManifest("1.5,", "-1.5,"), "pieces in no order"},
		{"many pieces", inManifest("1.5,", "1.5, 1.6, 1.7, 1.8,"), "5 pieces, more than the 4"},
		{"help without end", inManifest(`"take2": 2`, `"take2": 101`), "help that was asked for 101 times"},
		{"help that was not", inManifest(`"take2": 2`, `"take2": -1`), "help that was asked for -1 times"},
		{"too many files", func(parts []part) []part {
			for i := range small.Entries {
				parts = append(parts, part{name: fmt.Sprint(i)})
			}
			return parts
		}, "more than the 15"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			err := readAll(with(t, c.change))
			if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "b.zip") || strings.Contains(err.Error(), "\n") {
				t.Errorf("error %v, want one sentence about b.zip with %q", err, c.want)
			}
		})
	}
}

func TestManyRoundsRefused(t *testing.T) {
	var b bytes.Buffer
	w := NewZip(&b, "1", noon)
	for i := range small.Rounds + 1 {
		r := exampleRound()
		r.UID = fmt.Sprint(i)
		if err := w.Round(r, nil); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := readAll(b.Bytes()); err == nil || !strings.Contains(err.Error(), "holds 4 rounds") {
		t.Errorf("error %v", err)
	}
}

// A zip file whose directory names the same bytes under two names.
func TestOverlapRefused(t *testing.T) {
	data := zipped(t)
	// The directory's second record gets the place of the first one's file: bytes 42 to 45 of a record (APPNOTE.TXT 4.3.12).
	record := []byte("PK\x01\x02")
	first := bytes.Index(data, record)
	second := first + len(record) + bytes.Index(data[first+len(record):], record)
	copy(data[second+42:second+46], data[first+42:first+46])
	if err := readAll(data); err == nil || !strings.Contains(err.Error(), "lie over one another") {
		t.Errorf("error %v, want a refusal", err)
	}
}

func TestNoZip(t *testing.T) {
	for _, text := range []string{"", "MThd", "PK\x03\x04 and nothing"} {
		if err := readAll([]byte(text)); err == nil || !strings.Contains(err.Error(), "no zip file") {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestFolderTricks(t *testing.T) {
	outside := filepath.Join(t.TempDir(), "secret")
	if err := os.WriteFile(outside, []byte("fLaC one"), 0o600); err != nil {
		t.Fatal(err)
	}
	link := func(t *testing.T, to, at string) {
		if err := os.RemoveAll(at); err != nil {
			t.Fatal(err)
		}
		if err := os.Symlink(to, at); err != nil {
			t.Skip("skipped: this system makes no links")
		}
	}
	cases := []struct {
		name   string
		change func(t *testing.T, dir string)
		want   string
	}{
		{"linked file", func(t *testing.T, dir string) { link(t, outside, filepath.Join(dir, takeName)) }, "is a link"},
		{"linked folder", func(t *testing.T, dir string) { link(t, filepath.Dir(outside), filepath.Join(dir, "rounds")) }, "is a link"},
		{"linked manifest", func(t *testing.T, dir string) { link(t, outside, filepath.Join(dir, ManifestName)) }, "holds no manifest.json"},
		{"missing", func(t *testing.T, dir string) {
			if err := os.Remove(filepath.Join(dir, takeName)); err != nil {
				t.Fatal(err)
			}
		}, "lacks the file"},
		{"changed", func(t *testing.T, dir string) {
			if err := os.WriteFile(filepath.Join(dir, takeName), []byte("fLaC 0ne"), 0o600); err != nil {
				t.Fatal(err)
			}
		}, "its checksum is another"},
		{"grown", func(t *testing.T, dir string) {
			if err := os.WriteFile(filepath.Join(dir, takeName), bytes.Repeat([]byte("x"), 1<<20), 0o600); err != nil {
				t.Fatal(err)
			}
		}, "longer than 8 bytes"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			fill(t, NewFolder(dir, "1", noon))
			c.change(t, dir)
			r, err := Open(dir)
			if err == nil {
				defer r.Close()
				_, err = r.Round(r.Manifest.Rounds[0])
			}
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want %q", err, c.want)
			}
		})
	}
	if _, err := Open(filepath.Join(t.TempDir(), "none.zip")); err == nil || !strings.Contains(err.Error(), "no such file") {
		t.Errorf("error %v", err)
	}
}

// FuzzRead holds the reader to its word: whatever the bytes, what it gives has the checksums of the manifest and keeps to the limits.
func FuzzRead(f *testing.F) {
	f.Add(zipped(f))
	f.Add(with(f, adding(part{name: "../evil"})))
	f.Add(with(f, inManifest(`"bytes": 8`, `"bytes": 80`)))
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := Read("b.zip", bytes.NewReader(data), int64(len(data)), small)
		if err != nil {
			return
		}
		for _, round := range r.Manifest.Rounds {
			c, err := r.Round(round)
			if err != nil {
				continue
			}
			var total int64
			for _, f := range append(round.of(Take), round.of(Answer)...) {
				total += f.Bytes
			}
			if got := len(bytes.Join(append(c.Takes, c.Answer), nil)); int64(got) != total || total > 2*small.TakeBytes+small.AnswerBytes {
				t.Errorf("read %d bytes, the manifest says %d", got, total)
			}
		}
	})
}

// FuzzManifest gives the reader manifests in a whole zip file.
func FuzzManifest(f *testing.F) {
	good, err := json.Marshal(Manifest{Schema: Schema, Rounds: []Round{exampleRound()}})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(good))
	f.Add(`{"schema":"larkhand.bundle/1","rounds":[{"uid":"a","files":[{"name":"x","role":"take","bytes":1}]}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		m, err := readManifest([]byte(text), small)
		if err != nil {
			return
		}
		for _, r := range m.Rounds {
			for _, file := range r.Files {
				if checkName(file.Name) != nil || file.Bytes > small.bytesOf(file.Role) {
					t.Errorf("let through %+v", file)
				}
			}
		}
	})
}
