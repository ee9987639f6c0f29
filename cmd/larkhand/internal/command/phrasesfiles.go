package command

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/bundle"
	"larkhand/internal/music"
	"larkhand/internal/musicxml"
	"larkhand/internal/notation"
	"larkhand/internal/phrase"
	"larkhand/internal/phrasebook"
	"larkhand/internal/report"
	"larkhand/voice"
)

func newPhrasesExport() *cobra.Command {
	var p phrases
	var out, tonic string
	var tempo float64
	cmd := &cobra.Command{
		Use:   "export [NAME]",
		Short: "Write a phrase as MIDI or MusicXML, or all phrases as CSV",
		Long: `Write a phrase to a file: MIDI (.mid) or MusicXML (.musicxml) in a key, or all phrases
as one table (.csv), which "larkhand phrases import" reads back.`,
		Example: "  larkhand phrases export Rain --out rain.mid --key Eb --tempo 100\n  larkhand phrases export --out phrases.csv",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return onePhrase(cmd, args)
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if out == "" {
				return wrongUse("name the file to write: --out rain.mid, --out rain.musicxml or --out phrases.csv")
			}
			if !(tempo > 0) {
				return wrongUse("--tempo is above 0, such as --tempo 120")
			}
			if strings.EqualFold(filepath.Ext(out), ".csv") {
				return p.exportTable(cmd, args, out)
			}
			if len(args) == 0 {
				return wrongUse("name the phrase to write, or write all as a table: --out phrases.csv")
			}
			e, err := p.book().Find(args[0])
			if err != nil {
				return err
			}
			return exportOne(cmd, e.Phrase, out, tonic, tempo)
		},
	}
	p.dir.register(cmd)
	f := cmd.Flags()
	f.StringVar(&out, "out", "", "`file` to write")
	f.StringVar(&tonic, "key", "C", "`tonic` to write it in, such as Eb")
	f.Float64Var(&tempo, "tempo", usualTempo, "tempo, `quarters` a minute")
	return cmd
}

// exportOne writes one phrase in one key.
func exportOne(cmd *cobra.Command, p phrase.Phrase, out, tonic string, tempo float64) error {
	key, err := p.Key(tonic)
	if err != nil {
		return wrongValue("key", err)
	}
	notes := soundingNotes(p, key, tempo)
	var data bytes.Buffer
	switch strings.ToLower(filepath.Ext(out)) {
	case ".mid", ".midi":
		err = report.MIDI(&data, notes)
	case ".musicxml", ".xml":
		err = musicxml.Score{Title: p.Name, Key: key, Numbering: music.AlteredNumbers,
			Parts: []musicxml.Part{{Name: p.Name, Tune: writtenTune(notes, tempo)}}}.Write(&data)
	default:
		return wrongUse("--out %q: end the name with .mid, .musicxml or .csv", out)
	}
	if err != nil {
		return err
	}
	if err := writeFile(out, nil, func(w io.Writer) error { _, err := w.Write(data.Bytes()); return err }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s in %s is in %s.\n", shown(p.Name), key, out)
	return err
}

// soundingNotes are the notes of a phrase in a key at a tempo; all of them are sure.
func soundingNotes(p phrase.Phrase, key music.Key, tempo float64) []voice.Note {
	var notes []voice.Note
	for i, pitch := range p.In(key, middleOfVoice) {
		n := p.Notes[i]
		notes = append(notes, voice.Note{
			Onset: n.Start * 60 / tempo, Offset: (n.Start + n.Length) * 60 / tempo, Pitch: float64(pitch), Semitone: pitch, Chance: [3]float64{0, 1, 0}, Confidence: 1,
		})
	}
	return notes
}

func writtenTune(notes []voice.Note, tempo float64) notation.Tune {
	var out []notation.Note
	for _, n := range notes {
		out = append(out, notation.Note{Onset: n.Onset, Offset: n.Offset, Semitone: n.Semitone})
	}
	return notation.Write(out, notation.Time{Beats: music.CommonTime.Beats, Unit: music.CommonTime.Unit, Tempo: tempo})
}

// tableHead names the columns of the table.
var tableHead = []string{"name", "scale", "numbers", "chords", "tags"}

// exportTable writes phrases as CSV: numbers counted against major, tags with commas between.
func (p phrases) exportTable(cmd *cobra.Command, names []string, out string) error {
	all, broken := p.book().List()
	if broken != nil {
		return broken
	}
	if len(names) > 0 {
		e, err := p.book().Find(names[0])
		if err != nil {
			return err
		}
		all = []phrasebook.Entry{e}
	}
	err := writeFile(out, nil, func(w io.Writer) error {
		table := csv.NewWriter(w)
		if err := table.Write(tableHead); err != nil {
			return err
		}
		for _, e := range all {
			typed, err := e.Write(music.AlteredNumbers)
			if err != nil {
				return err
			}
			row := []string{e.Name, e.Scale, typed, e.Chords, strings.Join(e.Tags, ",")}
			for i := range row {
				row[i] = bundle.Cell(row[i])
			}
			if err := table.Write(row); err != nil {
				return err
			}
		}
		table.Flush()
		return table.Error()
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s in %s.\n", counted(len(all), "phrase"), out)
	return err
}

func newPhrasesImport() *cobra.Command {
	var k keeping
	cmd := &cobra.Command{
		Use:   "import FILE...",
		Short: "Keep phrases from a CSV table, MIDI or MusicXML files",
		Long: `Keep phrases from files: a table as "larkhand phrases export" writes it (.csv), or MIDI
files (.mid) and scores (.musicxml), one phrase each, named after the file; of a score it
is the first voice of the first part. Phrases whose names are taken are left as they are,
and said.`,
		Example: "  larkhand phrases import phrases.csv\n  larkhand phrases import --key \"Bb major\" stairs.mid harbour.mid",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			var all []phrase.Phrase
			for _, path := range args {
				list, err := k.fromFile(path)
				if err != nil {
					return err
				}
				all = append(all, list...)
			}
			return k.keepAll(cmd.OutOrStdout(), all)
		},
	}
	k.dir.register(cmd)
	f := cmd.Flags()
	f.StringVar(&k.key, "key", "", "`key` of the files, such as \"Bb major\"; a score's own if not given")
	f.Float64Var(&k.tempo, "tempo", usualTempo, "tempo of the MIDI files, `quarters` a minute")
	f.StringSliceVar(&k.tags, "tag", nil, "`word` to find phrases of MIDI files by; may be given several times")
	return cmd
}

// fromFile reads the phrases of one file.
func (k keeping) fromFile(path string) ([]phrase.Phrase, error) {
	read := k.ofMIDI
	switch strings.ToLower(filepath.Ext(path)) {
	case ".csv":
		return readTable(path)
	case ".musicxml", ".xml":
		read = k.ofScore
	}
	p, err := read(path)
	p.Name, p.Tags = baseName(path), k.tags
	return []phrase.Phrase{p}, err
}

// ofScore reads a MusicXML file.
func (k keeping) ofScore(path string) (phrase.Phrase, error) {
	f, err := os.Open(path)
	if err != nil {
		return phrase.Phrase{}, fmt.Errorf("cannot read %s: %w", path, plainCause(err))
	}
	defer f.Close()
	melody, err := musicxml.Read(f)
	if err != nil {
		return phrase.Phrase{}, fmt.Errorf("%s: %w", path, err)
	}
	if k.key != "" {
		if melody.Key, err = music.ParseKey(k.key); err != nil {
			return phrase.Phrase{}, wrongValue("key", err)
		}
	}
	var pitches []int
	var onsets, offsets []float64
	for _, n := range melody.Notes {
		pitches, onsets, offsets = append(pitches, n.Semitone), append(onsets, n.Start), append(offsets, n.Start+n.Length)
	}
	const quartersAreSeconds = 60
	p, err := phrase.Of(melody.Key, pitches, onsets, offsets, quartersAreSeconds)
	if err != nil {
		return p, fmt.Errorf("%s: %w", path, err)
	}
	return p, nil
}

// longestTable is the longest table that is read, bytes.
const longestTable = 8 << 20

// readTable reads a table of phrases. An error names the line.
func readTable(path string) ([]phrase.Phrase, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", path, plainCause(err))
	}
	if len(data) > longestTable {
		return nil, fmt.Errorf("%s is too long for a table of phrases", path)
	}
	table := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff"))))
	table.FieldsPerRecord = len(tableHead)
	head, err := table.Read()
	if err != nil || strings.Join(head, ",") != strings.Join(tableHead, ",") {
		return nil, fmt.Errorf("%s is no table of phrases: its first line must be %s", path, strings.Join(tableHead, ","))
	}
	var out []phrase.Phrase
	for line := 2; ; line++ {
		row, err := table.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s, line %d: write %d values with commas between them", path, line, len(tableHead))
		}
		for i := range row {
			row[i] = bundle.Uncell(row[i])
		}
		p, err := phrase.Read(row[2], row[1], music.AlteredNumbers)
		if err == nil && row[3] != "" {
			_, err = music.ParseChart(row[3])
		}
		if err != nil {
			return nil, fmt.Errorf("%s, line %d: %w", path, line, err)
		}
		p.Name, p.Chords = row[0], row[3]
		for _, tag := range strings.Split(row[4], ",") {
			if tag = strings.TrimSpace(tag); tag != "" {
				p.Tags = append(p.Tags, tag)
			}
		}
		out = append(out, p)
	}
}

// keepAll keeps phrases; names that are taken are said.
func (k keeping) keepAll(out io.Writer, all []phrase.Phrase) error {
	kept := 0
	for _, p := range all {
		if _, err := k.book().Find(p.Name); err == nil {
			fmt.Fprintf(out, "%s is kept already and stays as it is.\n", shown(p.Name))
			continue
		}
		if _, err := k.book().Keep(p, time.Now()); err != nil {
			return err
		}
		kept++
	}
	_, err := fmt.Fprintf(out, "%s kept.\n", counted(kept, "phrase"))
	return err
}
