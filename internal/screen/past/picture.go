package past

import (
	"fmt"
	"math"
	"strings"

	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
	"larkhand/match"
	"larkhand/voice"
)

// Measures of the picture (own choices).
const (
	labelColumns = 8    // "b3 Eb4  "
	air          = 0.25 // s left free at both ends
	margin       = 1    // semitone left free above and below
	strokeGap    = 0.05 // s without a voice after which a new stroke begins
	strokeLeap   = 2.0  // semitones from one frame to the next, from where on too
)

// signs are the verdicts in one character.
var signs = map[match.Verdict]string{match.Same: "=", match.Different: "x", match.LeftOut: "-", match.Unclear: "?", match.Added: "+"}

// drawing is a picture in the making.
type drawing struct {
	r          round.Round
	st         draw.Styles
	width      int     // columns of the whole
	columns    int     // of a strip
	start, end float64 // s on the last take's clock
	shift      float64 // s to add to the answer's clock to get that of the last take
}

// picture draws a round: the pitch curve of the last take on the lines of the key with the sung notes between brackets, number,
// letter and verdict of each, and the answer and its evidence on the same time axis. It is at most height lines.
func picture(r round.Round, st draw.Styles, width, height int) []string {
	d := &drawing{r: r, st: st, width: width, columns: width - labelColumns}
	d.span()
	table := d.table()
	evidence := d.evidence()
	legend := draw.Wrap("= same  x different  - left out  ? unclear  + added  [ ] sung", width)
	sung, played := d.ranges()
	const played1 = 1 // line of an answer that has no strip
	fixed := len(table) + len(evidence) + len(legend)
	var lines []string
	if room := height - fixed; room >= sung.rows()+played.rows() {
		lines = append(d.sungStrip(sung, sung.rows()), table...)
		lines = append(lines, d.playedStrip(played)...)
	} else {
		texts := d.texts()
		lines = append(d.sungStrip(sung, max(1, min(sung.rows(), room-played1))), table...)
		lines = append(lines, d.playedLine())
		lines = append(lines, evidence...)
		return tail(lines, texts, legend, height)
	}
	lines = append(lines, evidence...)
	return tail(lines, d.texts(), legend, height)
}

// tail puts as much of the words as there is room for under the drawing.
func tail(lines, texts, legend []string, height int) []string {
	lines = append(lines, legend...)
	if room := height - len(lines) - 1; len(texts) > 0 && room > 0 {
		lines = append(append(lines, ""), texts[:min(len(texts), room)]...)
	}
	return lines[:max(0, min(len(lines), height))]
}

// span chooses which time is drawn.
func (d *drawing) span() {
	notes := d.r.Answer.Notes
	for _, p := range d.r.Alignment.Pairs {
		if p.Sung != match.None && p.Played != match.None {
			d.shift = d.r.Phrase[p.Sung].Onset - notes[p.Played].Onset
			break
		}
	}
	d.start, d.end = math.Inf(1), math.Inf(-1)
	for _, n := range d.r.Phrase {
		d.start, d.end = min(d.start, n.Onset), max(d.end, n.Offset)
	}
	for _, n := range notes {
		d.start, d.end = min(d.start, n.Onset+d.shift), max(d.end, n.Offset+d.shift)
	}
	if d.start > d.end {
		d.start, d.end = 0, 1
	}
	d.start, d.end = d.start-air, d.end+air
}

// x is where a time of the last take lies, in columns of a strip.
func (d *drawing) x(t float64) float64 {
	return (t - d.start) / (d.end - d.start) * float64(d.columns)
}

// pitchRange is the semitones that a strip shows.
type pitchRange struct{ low, high int }

func (r pitchRange) rows() int { return r.high - r.low + 1 }

// ranges are those of the phrase and of the answer.
func (d *drawing) ranges() (sung, played pitchRange) {
	low, high := math.MaxInt, math.MinInt
	for _, n := range d.r.Phrase {
		low, high = min(low, n.Semitone), max(high, n.Semitone)
	}
	sung = pitchRange{low - margin, high + margin}
	low, high = math.MaxInt, math.MinInt
	for _, n := range d.r.Answer.Notes {
		key := int(math.Round(n.Pitch))
		low, high = min(low, key), max(high, key)
	}
	if low > high {
		return sung, pitchRange{sung.low, sung.low}
	}
	return sung, pitchRange{low - margin, high + margin}
}

// strip is a stretch of pitch lines.
type strip struct {
	*draw.Canvas
	high float64 // MIDI number at the upper edge
	step float64 // semitones a row
}

func (s strip) y(pitch float64) float64 { return (s.high - pitch) / s.step }
func (s strip) row(semitone int) int    { return int(math.Floor(s.y(float64(semitone)))) }

// ruled is a strip of so many rows with the lines of the key and of the bars, and the names of its lines.
func (d *drawing) ruled(r pitchRange, rows int) (s strip, labels []string) {
	step := (r.rows() + rows - 1) / rows
	rows = (r.rows() + step - 1) / step
	const half = 0.5 // semitone from a pitch to the edge of its row
	s = strip{draw.NewCanvas(d.columns, rows), float64(r.high) + half, float64(step)}
	labels = make([]string, rows)
	for y := range rows {
		line := ""
		for midi := r.high - y*step; midi > r.high-(y+1)*step; midi-- {
			degree := d.r.Key.Degree(midi, d.r.Numbering)
			if !inKey(d.r.Key, midi) || line != "" && degree != "1" {
				continue
			}
			line = "·"
			if degree == "1" {
				line = "─"
			}
			labels[y] = draw.Pad(degree, 3) + d.r.Key.Letter(midi).String()
		}
		s.Put(0, y, strings.Repeat(line, d.columns), draw.Ruled)
	}
	d.bars(s, rows)
	return s, labels
}

// bars draws the bar lines of the loop.
func (d *drawing) bars(s strip, rows int) {
	l := d.r.Loop
	if l == nil {
		return
	}
	for bar := max(0, int(math.Ceil((d.start-l.Starts)/l.BarLength()))); l.BarStart(bar) < d.end; bar++ {
		for y := range rows {
			s.Put(int(d.x(l.BarStart(bar))), y, "│", draw.Ruled)
		}
	}
}

func inKey(key music.Key, midi int) bool {
	class := ((midi % 12) + 12) % 12
	for _, c := range key.PitchClasses() {
		if c == class {
			return true
		}
	}
	return false
}

// labelled puts the names before the lines of a strip.
func (d *drawing) labelled(s strip, labels []string) []string {
	out := s.Lines(d.st)
	for y := range out {
		out[y] = d.st.Quiet.Render(draw.Pad(labels[y], labelColumns)) + out[y]
	}
	return out
}

// sungStrip draws the voice and the sung notes.
func (d *drawing) sungStrip(r pitchRange, rows int) []string {
	s, labels := d.ruled(r, rows)
	take := d.r.Last()
	var before voice.Frame
	var beforePitch float64
	begun := false
	for _, f := range take.Voice.Frames {
		if !(f.F0 > 0) {
			continue
		}
		pitch := music.HzToMIDI(f.F0) - referenceAt(take.Voice.Notes, f.Time)/100
		x, y := d.x(f.Time), s.y(pitch)
		if begun && f.Time-before.Time <= strokeGap && math.Abs(pitch-beforePitch) <= strokeLeap {
			s.Stroke(d.x(before.Time), s.y(beforePitch), x, y, draw.Voiced)
		} else {
			s.Dot(x, y, draw.Voiced)
		}
		before, beforePitch, begun = f, pitch, true
	}
	for i, n := range d.r.Phrase {
		ink := draw.Voiced
		if d.verdict(i) != match.Same {
			ink = draw.Marked
		}
		from, to := int(d.x(n.Onset)), int(d.x(n.Offset))
		y := s.row(n.Semitone)
		if take.Written {
			s.Put(from, y, strings.Repeat("▬", max(1, to-from)), ink)
			continue
		}
		s.Put(from, y, "[", ink)
		s.Put(max(from+1, to), y, "]", ink)
	}
	return d.labelled(s, labels)
}

// referenceAt is where the take's own tuning lies at a time, cents: that of the note whose middle is nearest.
func referenceAt(notes []voice.Note, time float64) float64 {
	nearest, reference := math.Inf(1), 0.0
	for _, n := range notes {
		if off := math.Abs((n.Onset+n.Offset)/2 - time); off < nearest {
			nearest, reference = off, n.ReferenceCents
		}
	}
	return reference
}

// verdict is that of a sung note.
func (d *drawing) verdict(sung int) match.Verdict {
	for _, p := range d.r.Alignment.Pairs {
		if p.Sung == sung {
			return p.Verdict
		}
	}
	return match.Unclear
}

// column is a place of the answer laid beside the phrase.
type column struct {
	at             float64 // s on the last take's clock
	number, letter string
	played         string
	verdict        match.Verdict
}

func (d *drawing) laidOut() []column {
	var out []column
	for _, p := range d.r.Alignment.Pairs {
		c := column{verdict: p.Verdict}
		if p.Played != match.None {
			n := d.r.Answer.Notes[p.Played]
			key := int(math.Round(n.Pitch))
			c.at = n.Onset + d.shift
			c.number, c.played = "("+d.r.Key.Degree(key, d.r.Numbering)+")", d.r.Key.Letter(key).String()
		}
		if p.Sung != match.None {
			n := d.r.Phrase[p.Sung]
			c.at = n.Onset
			c.number, c.letter = d.r.Key.Degree(n.Semitone, d.r.Numbering), d.r.Key.Letter(n.Semitone).String()
		}
		out = append(out, c)
	}
	return out
}

// table writes number, letter, played letter and verdict of each place under its onset, or further right where there is no room.
func (d *drawing) table() []string {
	rows := []struct {
		name string
		cell func(column) string
	}{
		{"number", func(c column) string { return c.number }},
		{"sung", func(c column) string { return c.letter }},
		{"played", func(c column) string { return c.played }},
		{"verdict", func(c column) string { return signs[c.verdict] }},
	}
	canvas := draw.NewCanvas(d.columns, len(rows))
	from := 0
	for _, c := range d.laidOut() {
		from = max(from, int(d.x(c.at)))
		ink := draw.Voiced
		if c.verdict != match.Same {
			ink = draw.Marked
		}
		width := 1
		for y, row := range rows {
			text := row.cell(c)
			canvas.Put(from, y, text, ink)
			width = max(width, len([]rune(text)))
		}
		from += width + 1
	}
	out := canvas.Lines(d.st)
	for y, row := range rows {
		out[y] = d.st.Quiet.Render(draw.Pad(row.name, labelColumns)) + out[y]
	}
	return out
}

// stroke is how a played note is drawn.
func (d *drawing) stroke(onset, offset float64, letter string) string {
	length := int(d.x(offset+d.shift)) - int(d.x(onset+d.shift))
	return letter + strings.Repeat("▬", max(0, length-len([]rune(letter))))
}

// inkOf is the ink of a played note.
func (d *drawing) inkOf(played int) draw.Ink {
	for _, p := range d.r.Alignment.Pairs {
		if p.Played == played && p.Verdict == match.Same {
			return draw.Voiced
		}
	}
	return draw.Marked
}

// playedLine draws when the notes of the answer were played, in one line.
func (d *drawing) playedLine() string {
	canvas := draw.NewCanvas(d.columns, 1)
	for i, n := range d.r.Answer.Notes {
		canvas.Put(int(d.x(n.Onset+d.shift)), 0, d.stroke(n.Onset, n.Offset, "▐"), d.inkOf(i))
	}
	return d.st.Quiet.Render(draw.Pad("in time", labelColumns)) + canvas.Lines(d.st)[0]
}

// playedStrip draws the answer on lines of its own.
func (d *drawing) playedStrip(r pitchRange) []string {
	s, labels := d.ruled(r, r.rows())
	for i, n := range d.r.Answer.Notes {
		key := int(math.Round(n.Pitch))
		s.Put(int(d.x(n.Onset+d.shift)), s.row(key), d.stroke(n.Onset, n.Offset, d.r.Key.Letter(key).Letter), d.inkOf(i))
	}
	return d.labelled(s, labels)
}

// evidence marks where on the answer each piece of evidence lies; none where there is none.
func (d *drawing) evidence() []string {
	list := d.r.Finding.Evidence
	if len(list) == 0 {
		return nil
	}
	canvas := draw.NewCanvas(d.columns, 1)
	for i, e := range list {
		from, to := int(d.x(e.Onset+d.shift)), int(d.x(e.Offset+d.shift))
		canvas.Put(from, 0, letterOf(i)+strings.Repeat("~", max(0, to-from-1)), draw.Marked)
	}
	return []string{d.st.Quiet.Render(draw.Pad("evidence", labelColumns)) + canvas.Lines(d.st)[0]}
}

// letterOf names a piece of evidence, as `larkhand check` does: a to z, then a again.
func letterOf(i int) string {
	const letters = 26
	return string(rune('a' + i%letters))
}

// texts are the sentences on the evidence, and what was done between singing and playing.
func (d *drawing) texts() []string {
	out := d.evidenceTexts()
	for _, text := range doneTexts(d.r.Written, len(d.r.Pieces)+1, d.r.Helped) {
		out = append(out, draw.Wrap(text, d.width)...)
	}
	return out
}

// evidenceTexts are the sentences on the evidence.
func (d *drawing) evidenceTexts() []string {
	var out []string
	for i, e := range d.r.Finding.Evidence {
		text := fmt.Sprintf("%s %s at %.1f s: %s", letterOf(i), e.Kind, e.Onset, e.Text)
		for k, line := range draw.Wrap(text, d.width-2) {
			if k > 0 {
				line = "  " + line
			}
			out = append(out, d.st.Look.Render(line))
		}
	}
	return out
}
