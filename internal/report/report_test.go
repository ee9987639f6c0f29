package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/midiin"
	"larkhand/voice"
)

var rounds = map[string]func(testing.TB) round.Round{
	"searched": searchedRound, "known": knownRound, "long": longRound, "written": writtenRound, "steps": steppedRound,
}

// written is what a function writes.
func written(t testing.TB, write func(io.Writer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func text(t testing.TB, r round.Round, colour bool) string {
	return string(written(t, func(w io.Writer) error { return Text(w, r, colour) }))
}

func svg(t testing.TB, r round.Round) []byte {
	return written(t, func(w io.Writer) error { return SVG(w, r) })
}

func TestGoldens(t *testing.T) {
	for name, make := range rounds {
		golden(t, "text_"+name+".golden", []byte(text(t, make(t), false)))
		golden(t, "svg_"+name+".svg", svg(t, make(t)))
		golden(t, "json_"+name+".golden", written(t, func(w io.Writer) error { return JSON(w, make(t)) }))
	}
	r := searchedRound(t)
	r.Takes[1].Voice.Frames = r.Takes[1].Voice.Frames[45:60]
	notes := NotesView{Take: r.Takes[1], Key: r.Key, Numbering: music.AlteredNumbers}
	pitch := PitchView{Take: r.Takes[1]}
	for name, write := range map[string]func(io.Writer) error{
		"notes_text": func(w io.Writer) error { return notes.Text(w, false) }, "notes_csv": notes.CSV, "notes_json": notes.JSON,
		"pitch_text": pitch.Text, "pitch_csv": pitch.CSV, "pitch_json": pitch.JSON,
	} {
		golden(t, name+".golden", written(t, write))
	}
}

// TestColour: colour changes nothing but escape sequences, and no line is wider than the page with or without.
func TestColour(t *testing.T) {
	escapes := regexp.MustCompile("\x1b\\[[0-9]+m")
	for name, make := range rounds {
		plain, coloured := text(t, make(t), false), text(t, make(t), true)
		if strings.Contains(plain, "\x1b") {
			t.Errorf("%s: escape sequences without colour", name)
		}
		if !escapes.MatchString(coloured) {
			t.Errorf("%s: no escape sequences with colour", name)
		}
		if escapes.ReplaceAllString(coloured, "") != plain {
			t.Errorf("%s: colour changes the words", name)
		}
		for _, line := range strings.Split(plain, "\n") {
			if utf8.RuneCountInString(line) > pageWidth {
				t.Errorf("%s: line of %d characters: %q", name, utf8.RuneCountInString(line), line)
			}
		}
	}
}

// TestPromisedJSON: every field that other programs were promised is there, with the promised kind of value. The names are those of
// the format's first description.
func TestPromisedJSON(t *testing.T) {
	var d map[string]any
	if err := json.Unmarshal(written(t, func(w io.Writer) error { return JSON(w, searchedRound(t)) }), &d); err != nil {
		t.Fatal(err)
	}
	note := d["takes"].([]any)[1].(map[string]any)["notes"].([]any)[0].(map[string]any)
	for name, want := range map[string]any{"onset": 0.52, "offset": 0.91, "pitch": 59.94, "letter": "C", "octave": 4.0, "degree": "1",
		"centre_cents": 6.0, "spread_cents": 12.0, "level_dbfs": -21.0, "confidence": 0.97, "unclear": false} {
		if note[name] != want {
			t.Errorf("sung note: %s is %v, want %v", name, note[name], want)
		}
	}
	played := d["answer"].(map[string]any)["notes"].([]any)[0].(map[string]any)
	for name, want := range map[string]any{"onset": 0.0, "offset": 0.4, "pitch": 72.0, "letter": "C", "degree": "1", "velocity": 71.0, "channel": 0.0} {
		if played[name] != want {
			t.Errorf("played note: %s is %v, want %v", name, played[name], want)
		}
	}
	agree := d["takes_agree"].(map[string]any)
	if agree["same_phrase"] != true || agree["centre_change_cents"] != -6.0 || agree["spread_change_cents"] != 1.0 || len(agree["pairs"].([]any)) != 7 {
		t.Errorf("takes_agree is %v", agree)
	}
	alignment := d["alignment"].(map[string]any)
	if alignment["octaves"] != 1.0 || alignment["transposition"] != 0.0 || alignment["tempo_ratio"] != 1.04 {
		t.Errorf("alignment is %v", alignment)
	}
	for i, want := range map[int]map[string]any{
		0: {"sung": 0.0, "played": 0.0, "verdict": "same"}, 2: {"sung": nil, "played": 2.0, "verdict": "added"},
		5: {"sung": 4.0, "played": 5.0, "verdict": "unclear"}, 6: {"sung": 5.0, "played": nil, "verdict": "left out"},
		7: {"sung": 6.0, "played": 6.0, "verdict": "different"},
	} {
		if got := alignment["pairs"].([]any)[i]; fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("pair %d is %v, want %v", i, got, want)
		}
	}
	finding := d["finding"].(map[string]any)
	evidence := finding["evidence"].([]any)[0].(map[string]any)
	if finding["searched"] != 0.96 || finding["label"] != "searched" || evidence["kind"] != "correction" || evidence["onset"] != 0.95 ||
		fmt.Sprint(evidence["sung"], evidence["played"]) != "[2] [2 3]" {
		t.Errorf("finding is %v", finding)
	}
	if d["schema"] != "larkhand.round/1" || d["key"] != "C minor" || d["numbering"] != "scale" || d["response_seconds"] != 1.42 {
		t.Errorf("head is %v %v %v %v", d["schema"], d["key"], d["numbering"], d["response_seconds"])
	}
}

func TestUnknownIsNull(t *testing.T) {
	var d map[string]any
	if err := json.Unmarshal(written(t, func(w io.Writer) error { return JSON(w, writtenRound(t)) }), &d); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"response_seconds", "takes_agree"} {
		if value, ok := d[name]; !ok || value != nil {
			t.Errorf("%s is %v, want null", name, value)
		}
	}
	note := d["takes"].([]any)[0].(map[string]any)["notes"].([]any)[0].(map[string]any)
	if value, ok := note["level_dbfs"]; !ok || value != nil {
		t.Errorf("level of a written note is %v, want null", value)
	}
}

// TestNumbers: any number can be written, reads back within half of its last digit, and is never NaN or -0.
func TestNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.OneOf(rapid.Float64Range(-1e6, 1e6), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), -0.0001, 0})).Draw(t, "x")
		b, err := json.Marshal(rounded(x, timeDigits))
		if err != nil {
			t.Fatal(err)
		}
		if math.IsNaN(x) || math.IsInf(x, 0) {
			if string(b) != "null" || fixed(x, timeDigits, "-") != "-" {
				t.Fatalf("%v is written %s and %s", x, b, fixed(x, timeDigits, "-"))
			}
			return
		}
		for _, text := range []string{string(b), fixed(x, timeDigits, "-")} {
			back, err := strconv.ParseFloat(text, 64)
			if err != nil || math.Abs(back-x) > 0.000501 || strings.HasPrefix(text, "-0.000") || text == "-0" {
				t.Fatalf("%v is written %s", x, text)
			}
		}
	})
}

// TestSVGIsXML: names and remarks with markup in them stay text.
func TestSVGIsXML(t *testing.T) {
	r := searchedRound(t)
	const nasty = `<script>"&' ` + "\x00\x1b"
	r.Remarks = append(r.Remarks, nasty)
	r.Finding.Evidence[0].Text = nasty
	drawing := svg(t, r)
	decoder := xml.NewDecoder(bytes.NewReader(drawing))
	elements := map[string]int{}
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if start, ok := token.(xml.StartElement); ok {
			elements[start.Name.Local]++
		}
	}
	if elements["script"] > 0 || elements["title"] != 1 || elements["desc"] != 1 || elements["style"] != 1 {
		t.Errorf("elements %v", elements)
	}
	for _, word := range []string{"same", "different", "left out", "unclear", "added", "a correction", "b hesitation", "prefers-color-scheme"} {
		if !bytes.Contains(drawing, []byte(word)) {
			t.Errorf("the picture has no %q", word)
		}
	}
	if bytes.Contains(drawing, []byte("NaN")) || bytes.Contains(drawing, []byte("Inf")) {
		t.Error("the picture has coordinates that are no numbers")
	}
}

// TestContrast computes the contrast of text and marks on the paper by the formula of WCAG 2.1 (relative luminance and
// contrast ratio): 4.5 for text (1.4.3), 3 for marks (1.4.11).
func TestContrast(t *testing.T) {
	for name, c := range map[string]ink{"light": onLight, "dark": onDark} {
		for part, colour := range map[string]string{"ink": c.ink, "soft": c.soft, "as sung": c.asSung, "look here": c.look} {
			if ratio := contrast(colour, c.paper); ratio < 4.5 {
				t.Errorf("%s: %s has a contrast of %.2f", name, part, ratio)
			}
		}
	}
	if ratio := contrast("#000000", "#ffffff"); math.Abs(ratio-21) > 1e-9 { // WCAG 2.1: black on white is 21:1
		t.Errorf("black on white is %v", ratio)
	}
}

func contrast(a, b string) float64 {
	la, lb := luminance(a), luminance(b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

func luminance(colour string) float64 {
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		v, err := strconv.ParseUint(colour[1+2*i:3+2*i], 16, 8)
		if err != nil {
			panic(err) // the colours stand in svgstyle.go
		}
		x := float64(v) / 255
		if x <= 0.03928 {
			x /= 12.92
		} else {
			x = math.Pow((x+0.055)/1.055, 2.4)
		}
		sum += weight * x
	}
	return sum
}

// TestMIDIReadsBack: the written file has the notes again, to half a tick (0.26 ms).
func TestMIDIReadsBack(t *testing.T) {
	notes := searchedRound(t).Takes[1].Voice.Notes
	notes[2].Level = -24
	path := filepath.Join(t.TempDir(), "notes.mid")
	if err := os.WriteFile(path, written(t, func(w io.Writer) error { return MIDI(w, notes) }), 0o600); err != nil {
		t.Fatal(err)
	}
	file, err := midiin.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	back, remarks := midiin.Notes(file, midiin.Options{})
	if len(back) != len(notes) || len(remarks)+len(file.Remarks) > 0 {
		t.Fatalf("%d notes, remarks %q %q", len(back), file.Remarks, remarks)
	}
	for i, n := range notes {
		const halfTick = 0.5 / ticksPerSecond
		if b := back[i]; b.Key != n.Semitone || math.Abs(b.Onset-n.Onset) > halfTick+1e-9 || math.Abs(b.Offset-n.Offset) > halfTick+1e-9 {
			t.Errorf("note %d is %+v, want %+v", i, b, n)
		}
	}
	if back[0].Velocity != highestVelocity || back[2].Velocity != highestVelocity-3*velocityPerDB {
		t.Errorf("velocities %d and %d of a note and one 3 dB softer", back[0].Velocity, back[2].Velocity)
	}
	if again := written(t, func(w io.Writer) error { return MIDI(w, nil) }); len(again) == 0 {
		t.Error("no notes make no file")
	}
}

func TestCSVReadsBack(t *testing.T) {
	r := searchedRound(t)
	rows, err := csv.NewReader(bytes.NewReader(written(t, NotesView{Take: r.Takes[1], Key: r.Key}.CSV))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 1+len(phrase) || strings.Join(rows[2], " ") != "0.980 1.380 62.84 63 Eb 4 3 -4.0 12.0 -21.0 0.970 false" {
		t.Errorf("%d rows, the second note is %q", len(rows), rows[2])
	}
	rows, err = csv.NewReader(bytes.NewReader(written(t, PitchView{Take: r.Takes[1]}.CSV))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if first := strings.Join(rows[1], ","); first != "0.000,,0.100,-62.0" {
		t.Errorf("an unvoiced frame is %q", first)
	}
}

func TestSummary(t *testing.T) {
	for name, want := range map[string]string{
		"searched": "4 of 7 notes as sung; the 7th was different; the 6th was left out; the 5th was sung unclearly; 1 note was added; " +
			"the 3rd was found by trying, the 4th came after a wait; first note 1.4 s after the take",
		"known": "all 7 notes as sung; the answer was known",
		"long":  "all 40 notes in the shape sung; the whole answer lies a whole step high; the answer was known",
	} {
		if got := Summary(rounds[name](t)); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
}

func TestWords(t *testing.T) {
	for index, want := range map[int]string{0: "1st", 1: "2nd", 2: "3rd", 3: "4th", 10: "11th", 11: "12th", 12: "13th", 20: "21st", 110: "111th"} {
		if got := ordinal(index); got != want {
			t.Errorf("ordinal(%d) = %q, want %q", index, got, want)
		}
	}
	for want, notes := range map[string][]int{"the 1st": {0}, "the 1st and the 3rd": {0, 2}, "the 1st, the 2nd and the 3rd": {0, 1, 2}, "4 notes": {0, 1, 2, 3}} {
		if got := theNotes(notes); got != want {
			t.Errorf("theNotes(%v) = %q, want %q", notes, got, want)
		}
	}
	for index, want := range map[int]string{0: "a", 25: "z", 26: "aa", 27: "ab", 52: "ba"} {
		if got := evidenceMark(index); got != want {
			t.Errorf("evidenceMark(%d) = %q, want %q", index, got, want)
		}
	}
}

// TestReference: the tuning line goes straight between the middles of the notes and stays level outside.
func TestReference(t *testing.T) {
	notes := []voice.Note{{Onset: 1, Offset: 2, ReferenceCents: 10}, {Onset: 2, Offset: 4, ReferenceCents: 30}}
	for time, want := range map[float64]float64{0: 10, 1.5: 10, 2.25: 20, 3: 30, 9: 30} {
		if got := referenceAt(notes, time); math.Abs(got-want) > 1e-9 {
			t.Errorf("at %v s: %v cents, want %v", time, got, want)
		}
	}
	if got := referenceAt(nil, 1); got != 0 {
		t.Errorf("without notes: %v cents", got)
	}
}

// TestAnyPhrase: no round breaks the page or the picture.
func TestAnyPhrase(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var notes []midiin.Note
		at := 0.0
		for range rapid.IntRange(1, 30).Draw(rt, "notes") {
			at += rapid.Float64Range(0, 3).Draw(rt, "interval")
			key := rapid.IntRange(0, 127).Draw(rt, "key")
			notes = append(notes, midiin.Note{Onset: at, Offset: at + 0.1, Key: key, Pitch: float64(key), Velocity: 64})
		}
		split := rapid.IntRange(1, len(notes)).Draw(rt, "sung")
		r, err := round.Judge([]round.Take{round.WrittenTake("p.mid", notes[:split])}, round.Answer{Notes: notes[split-1:]}, round.Options{})
		if err != nil {
			rt.Fatal(err)
		}
		for _, line := range strings.Split(text(t, r, false), "\n") {
			if utf8.RuneCountInString(line) > pageWidth {
				rt.Fatalf("line of %d characters: %q", utf8.RuneCountInString(line), line)
			}
		}
		if drawing := svg(t, r); bytes.Contains(drawing, []byte("NaN")) || bytes.Contains(drawing, []byte("Inf")) {
			rt.Fatal("the picture has coordinates that are no numbers")
		}
	})
}

// TestOtherPhrase: takes that are not the same phrase are neither compared nor laid over one another.
func TestOtherPhrase(t *testing.T) {
	r := searchedRound(t)
	r.Agreement.SamePhrase = false
	want := []string{"Not the same phrase (7 notes in take 1, 7 notes in take 2), so the two are not compared; take 2 counts."}
	if got := changes(r); len(got) != 1 || got[0] != want[0] {
		t.Errorf("changes %q, want %q", got, want)
	}
	if bytes.Contains(svg(t, r), []byte(`class="earlier"`)) || !bytes.Contains(svg(t, searchedRound(t)), []byte(`class="earlier"`)) {
		t.Error("take 1 is drawn where it is another phrase, or not drawn where it is the same")
	}
}
