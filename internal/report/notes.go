package report

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"

	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/voice"
)

// NotesView is one take with the key that its notes are named in.
type NotesView struct {
	Take       round.Take
	Key        music.Key
	KeyGuessed bool
	Numbering  music.Numbering
}

// JSON writes the take as a NotesDocument, on one line.
func (v NotesView) JSON(w io.Writer) error {
	return json.NewEncoder(w).Encode(NotesDocument{
		Schema:       NotesSchema,
		Key:          v.Key.String(),
		KeyGuessed:   v.KeyGuessed,
		Numbering:    v.Numbering.String(),
		TakeDocument: takeDocument(v.Take, v.Key, v.Numbering),
		Remarks:      filled(v.Take.Remarks),
	})
}

// Text writes the notes as a table of at most 80 characters a line.
func (v NotesView) Text(w io.Writer, colour bool) error {
	p := &page{paint: painter(colour)}
	p.line(v.title())
	p.blank()
	p.line("note  degree  letter   onset  length  centre  spread   level  sure")
	p.line("                           s       s   cents   cents    dBFS     %")
	for i, n := range v.Take.Voice.Notes {
		mark := ""
		if n.Unclear {
			mark = "  " + p.paint.look("unclear")
		}
		p.line(fmt.Sprintf("%4d  %-6s  %-6s %7s %7s %7s %7s %7s %5.0f%s", i+1,
			v.Key.Degree(n.Semitone, v.Numbering), v.Key.Letter(n.Semitone),
			fixed(n.Onset, 2, "-"), fixed(n.Offset-n.Onset, 2, "-"),
			signedCents(n.CentreCents), fixed(n.SpreadCents, 0, "-"), fixed(n.Level, 1, "-"), 100*n.Confidence, mark))
	}
	p.blank()
	p.remarks(v.Take.Remarks)
	_, err := io.WriteString(w, p.String())
	return err
}

// title says what the table counts.
func (v NotesView) title() string {
	key := v.Key.String()
	if v.KeyGuessed {
		key += " (guessed)"
	}
	return fmt.Sprintf("%s in %s, own tuning %s cents", counted(len(v.Take.Voice.Notes), "note"), key,
		signedCents(v.Take.Voice.TuningCents))
}

// CSV writes one line a note with a line of names first; the columns are those of SungDocument.
func (v NotesView) CSV(w io.Writer) error {
	rows := [][]string{{"onset", "offset", "pitch", "semitone", "letter", "octave", "degree",
		"centre_cents", "spread_cents", "level_dbfs", "confidence", "unclear"}}
	for _, n := range v.Take.Voice.Notes {
		spelling := v.Key.Letter(n.Semitone)
		rows = append(rows, []string{
			fixed(n.Onset, timeDigits, ""), fixed(n.Offset, timeDigits, ""), fixed(n.Pitch, pitchDigits, ""),
			strconv.Itoa(n.Semitone), spelling.Letter, strconv.Itoa(spelling.Octave), v.Key.Degree(n.Semitone, v.Numbering),
			fixed(n.CentreCents, centsDigits, ""), fixed(n.SpreadCents, centsDigits, ""), fixed(n.Level, levelDigits, ""),
			fixed(n.Confidence, chanceDigits, ""), strconv.FormatBool(n.Unclear),
		})
	}
	return csv.NewWriter(w).WriteAll(rows)
}

// PitchView is the frames of one take.
type PitchView struct{ Take round.Take }

// JSON writes the frames as a PitchDocument, on one line.
func (v PitchView) JSON(w io.Writer) error {
	d := PitchDocument{
		Schema:   PitchSchema,
		File:     v.Take.File,
		Duration: rounded(v.Take.Voice.Duration, timeDigits),
		Frames:   make([]FrameDocument, 0, len(v.Take.Voice.Frames)),
		Remarks:  filled(v.Take.Remarks),
	}
	for _, f := range v.Take.Voice.Frames {
		d.Frames = append(d.Frames, FrameDocument{
			Time:   rounded(f.Time, timeDigits),
			F0:     rounded(f.F0, hertzDigits),
			Voiced: rounded(f.Voiced, chanceDigits),
			Level:  rounded(f.Level, levelDigits),
		})
	}
	return json.NewEncoder(w).Encode(d)
}

// Text writes the frames as a table.
func (v PitchView) Text(w io.Writer) error {
	p := &page{paint: painter(false)}
	p.line("   time       F0   pitch  voicing   level")
	p.line("      s       Hz    MIDI             dBFS")
	for _, f := range v.Take.Voice.Frames {
		p.line(fmt.Sprintf("%7s %8s %7s %8s %7s", fixed(f.Time, 2, "-"), fixed(f.F0, hertzDigits, "-"),
			fixed(midiOf(f), pitchDigits, "-"), fixed(f.Voiced, 2, "-"), fixed(f.Level, levelDigits, "-")))
	}
	if len(v.Take.Remarks) > 0 {
		p.blank()
	}
	p.remarks(v.Take.Remarks)
	_, err := io.WriteString(w, p.String())
	return err
}

// midiOf is the frame's pitch as a MIDI number, NaN where unvoiced.
func midiOf(f voice.Frame) float64 { return music.HzToMIDI(f.F0) }

// CSV writes one line a frame with a line of names first; an unvoiced frame has an empty f0.
func (v PitchView) CSV(w io.Writer) error {
	rows := [][]string{{"time", "f0", "voiced", "level_dbfs"}}
	for _, f := range v.Take.Voice.Frames {
		rows = append(rows, []string{fixed(f.Time, timeDigits, ""), fixed(f.F0, hertzDigits, ""),
			fixed(f.Voiced, chanceDigits, ""), fixed(f.Level, levelDigits, "")})
	}
	return csv.NewWriter(w).WriteAll(rows)
}
