package musicxml

import (
	"bytes"
	"reflect"
	"strings"
	"testing"

	"larkhand/internal/music"
	"larkhand/internal/notation"
)

// hello is the first example of the MusicXML tutorial (one whole note, middle C; from memory), with a key in front.
const hello = `<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">
<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Music</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions><key><fifths>0</fifths></key>
<time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>
<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note></measure></part></score-partwise>`

func TestReadHello(t *testing.T) {
	m, err := Read(strings.NewReader(hello))
	if err != nil || m.Key != key(t, "C major") || !reflect.DeepEqual(m.Notes, []MelodyNote{{60, 0, 4}}) {
		t.Errorf("%+v, %v", m, err)
	}
}

// TestReadParts: ties join, rests and other voices take time, grace notes and further notes of a chord do not.
func TestReadParts(t *testing.T) {
	note := func(inner string) string { return "<note>" + inner + "</note>" }
	pitch := func(step string, alter, octave string) string {
		return "<pitch><step>" + step + "</step><alter>" + alter + "</alter><octave>" + octave + "</octave></pitch>"
	}
	body := note(pitch("E", "-1", "4")+`<duration>2</duration><tie type="start"/><voice>1</voice>`) +
		note(pitch("E", "-1", "4")+`<duration>1</duration><tie type="stop"/><voice>1</voice>`) +
		note("<grace/>"+pitch("D", "0", "4")+"<voice>1</voice>") +
		note("<rest/><duration>1</duration><voice>1</voice>") +
		note(pitch("B", "1", "3")+"<duration>2</duration><voice>1</voice>") + note("<chord/>"+pitch("G", "0", "4")+"<duration>2</duration><voice>1</voice>") +
		"<backup><duration>6</duration></backup>" + note(pitch("C", "0", "3")+"<duration>6</duration><voice>2</voice>")
	score := strings.Replace(hello, "<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>", body, 1)
	score = strings.Replace(score, "<fifths>0</fifths>", "<fifths>-3</fifths><mode>minor</mode>", 1)
	score = strings.Replace(score, "<divisions>1<", "<divisions>2<", 1)
	m, err := Read(strings.NewReader(score))
	if want := []MelodyNote{{63, 0, 1.5}, {60, 2, 1}}; err != nil || m.Key != key(t, "C minor") || !reflect.DeepEqual(m.Notes, want) {
		t.Errorf("%+v, %v; want %v", m, err, want)
	}
}

// TestKeys: signatures and their keys (common practice, no source).
func TestKeys(t *testing.T) {
	for _, c := range []struct {
		fifths int
		mode   string
		want   string
	}{{0, "", "C major"}, {1, "major", "G major"}, {-3, "minor", "C minor"}, {-2, "dorian", "C dorian"}, {6, "major", "F# major"}, {-7, "major", "Cb major"},
		{7, "minor", "A# minor"}, {2, "mixolydian", "A mixolydian"}, {0, "lydian", "F lydian"}, {-1, "minor", "D minor"}} {
		got, err := keyOf(c.fifths, c.mode)
		if err != nil || got != key(t, c.want) {
			t.Errorf("%d fifths, %s: %v, %v; want %s", c.fifths, c.mode, got, err, c.want)
		}
	}
	if _, err := keyOf(8, "major"); err == nil {
		t.Error("no error for eight sharps")
	}
}

// TestReadsWhatIsWritten: a tune comes back note for note, as package notation wrote it (held notes until the next).
func TestReadsWhatIsWritten(t *testing.T) {
	notes := []notation.Note{{Onset: 0, Offset: 0.5, Semitone: 63}, {Onset: 0.5, Offset: 2.75, Semitone: 66}, {Onset: 3, Offset: 3.25, Semitone: 58}}
	s := Score{Title: "Rain & <wind>", Key: key(t, "Eb minor"), Numbering: music.AlteredNumbers,
		Parts: []Part{{Name: "Phrase", Tune: notation.Write(notes, notation.Time{Beats: 4, Unit: 4, Tempo: 60})}}}
	var b bytes.Buffer
	if err := s.Write(&b); err != nil {
		t.Fatal(err)
	}
	m, err := Read(&b)
	if want := []MelodyNote{{63, 0, 0.5}, {66, 0.5, 2.5}, {58, 3, 0.25}}; err != nil || m.Key != s.Key || m.Title != s.Title || !reflect.DeepEqual(m.Notes, want) {
		t.Errorf("%+v, %v; want %v", m, err, want)
	}
}

func TestReadRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"": "not MusicXML", "<html></html>": "not MusicXML", "{}": "not MusicXML", hello[:400]: "cannot be read",
		"<score-timewise/>": "timewise", "<score-partwise><part/></score-partwise>": "no notes",
		strings.Replace(hello, "<step>C", "<step>H", 1):               "no step",
		strings.Replace(hello, "<octave>4", "<octave>99", 1):          "range",
		strings.Replace(hello, "<fifths>0", "<fifths>40", 1):          "its key",
		strings.Replace(hello, "UTF-8", "Shift_JIS", 1):               "not MusicXML",
		"<score-partwise>" + strings.Repeat("<part>", longestScore/6): "",
	} {
		if m, err := Read(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.40q: %+v, %v; want %q", text, m, err, want)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(hello))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := Read(bytes.NewReader(data))
		if err == nil && len(m.Notes) == 0 {
			t.Fatal("no error and no notes")
		}
	})
}
