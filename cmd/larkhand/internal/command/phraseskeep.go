package command

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/journal"
	"larkhand/internal/music"
	"larkhand/internal/phrase"
	"larkhand/internal/report"
	"larkhand/midiin"
)

// keeping is the flags of phrases keep.
type keeping struct {
	phrases
	typed, scale, round, midi, key, chords string
	tempo                                  float64
	tags                                   []string
}

func newPhrasesKeep() *cobra.Command {
	var k keeping
	cmd := &cobra.Command{
		Use:   "keep NAME",
		Short: "Keep a phrase: typed numbers, a round of the journal, or a MIDI file",
		Example: `  larkhand phrases keep Rain --numbers "1 2 b3:2 5" --scale minor --chords "Cm7 | G7"
  larkhand phrases keep Harbour --round 12
  larkhand phrases keep Stairs --midi stairs.mid --key "Bb major" --tempo 120`,
		Args: onePhrase,
		RunE: func(cmd *cobra.Command, args []string) error {
			p, err := k.phrase(cmd)
			if err != nil {
				return err
			}
			p.Name, p.Tags, p.Chords = args[0], k.tags, strings.TrimSpace(k.chords)
			if p.Chords != "" {
				if _, err := music.ParseChart(p.Chords); err != nil {
					return wrongValue("chords", err)
				}
			}
			e, err := k.book().Keep(p, time.Now())
			if err != nil {
				return err
			}
			typed, err := e.Write(music.AlteredNumbers)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s is kept: %s (%s, counted against major).\n", shown(e.Name), typed, e.Scale)
			return err
		},
	}
	k.register(cmd)
	f := cmd.Flags()
	f.StringVar(&k.typed, "numbers", "", "`numbers` with rhythm, such as \"1 2 b3:2 5\"; needs --scale")
	f.StringVar(&k.scale, "scale", "", "`scale` that they count, such as minor or dorian")
	f.StringVar(&k.round, "round", "", "`number` of a round in the journal, whose sung phrase it is")
	f.StringVar(&k.midi, "midi", "", "MIDI `file`; needs --key, and --tempo for its rhythm")
	f.StringVar(&k.key, "key", "", "`key` of the MIDI file, such as \"Bb major\"")
	f.Float64Var(&k.tempo, "tempo", 0, "tempo of the MIDI file or the round, `quarters` a minute; the round's own if not given, else 120")
	f.StringVar(&k.chords, "chords", "", "`chords` it fits, written in C, such as \"Dm7 | G7\"")
	f.StringSliceVar(&k.tags, "tag", nil, "`word` to find it by; may be given several times")
	return cmd
}

// phrase makes the phrase from whichever source was named.
func (k keeping) phrase(cmd *cobra.Command) (phrase.Phrase, error) {
	sources := 0
	for _, s := range []string{k.typed, k.round, k.midi} {
		if s != "" {
			sources++
		}
	}
	if sources != 1 {
		return phrase.Phrase{}, wrongUse("say where the phrase comes from, one of: --numbers \"1 2 b3:2 5\" --scale minor, --round 12, --midi phrase.mid")
	}
	if k.tempo < 0 {
		return phrase.Phrase{}, wrongUse("--tempo is above 0, such as --tempo 120")
	}
	switch {
	case k.typed != "":
		numbering, err := k.numbers()
		if err != nil {
			return phrase.Phrase{}, err
		}
		if k.scale == "" {
			return phrase.Phrase{}, wrongUse("--numbers needs --scale, the scale that they count, such as --scale minor")
		}
		p, err := phrase.Read(k.typed, k.scale, numbering)
		if err != nil {
			return p, wrongValue("numbers", err)
		}
		return p, nil
	case k.round != "":
		return k.ofRound(cmd.Context())
	}
	return k.ofMIDI(k.midi)
}

// usualTempo is the tempo of notes of which none is known, quarters a minute: that of MIDI files that name none.
const usualTempo = 120

func (k keeping) ofMIDI(path string) (phrase.Phrase, error) {
	if k.key == "" {
		return phrase.Phrase{}, wrongUse("--midi needs --key, the key that the phrase is counted in, such as --key \"Bb major\"")
	}
	key, err := music.ParseKey(k.key)
	if err != nil {
		return phrase.Phrase{}, wrongValue("key", err)
	}
	notes, _, err := readMIDI(path, midiin.Options{})
	if err != nil {
		return phrase.Phrase{}, err
	}
	var pitches []int
	var onsets, offsets []float64
	for _, n := range notes {
		pitches, onsets, offsets = append(pitches, n.Key), append(onsets, n.Onset), append(offsets, n.Offset)
	}
	tempo := k.tempo
	if tempo == 0 {
		tempo = usualTempo
	}
	p, err := phrase.Of(key, pitches, onsets, offsets, tempo)
	if err != nil {
		return p, fmt.Errorf("%s: %w", path, err)
	}
	return p, nil
}

// ofRound takes what was sung in a round of the journal.
func (k keeping) ofRound(ctx context.Context) (phrase.Phrase, error) {
	ids, err := numbers([]string{k.round})
	if err != nil {
		return phrase.Phrase{}, err
	}
	var s journal.Stored
	err = k.dir.with(func(j *journal.Journal) (err error) {
		s, err = j.Round(ctx, ids[0])
		return err
	})
	if err != nil {
		return phrase.Phrase{}, err
	}
	var d report.RoundDocument
	if err := json.Unmarshal(s.Results[len(s.Results)-1].Document, &d); err != nil || len(d.Takes) == 0 {
		return phrase.Phrase{}, errors.New("what was said of that round cannot be read: judge it again with \"larkhand history --rejudge\"")
	}
	key, err := music.ParseKey(d.Key)
	if err != nil {
		return phrase.Phrase{}, err
	}
	var pitches []int
	var onsets, offsets []float64
	for _, n := range d.Takes[len(d.Takes)-1].Notes {
		pitches, onsets, offsets = append(pitches, n.Semitone), append(onsets, float64(n.Onset)), append(offsets, float64(n.Offset))
	}
	for _, n := range d.Settled {
		pitches[n.Sung] = n.Semitone
	}
	tempo := k.tempo
	if tempo == 0 {
		tempo = tempoOf(s)
	}
	return phrase.Of(key, pitches, onsets, offsets, tempo)
}

// tempoOf is the loop's tempo, or the usual one.
func tempoOf(s journal.Stored) float64 {
	if s.Tempo != nil {
		return *s.Tempo
	}
	return usualTempo
}

func newPhrasesTried() *cobra.Command {
	var p phrases
	var tonic, grade string
	cmd := &cobra.Command{
		Use:   "tried NAME",
		Short: "Note by hand that a phrase was tried in a key",
		Long: `Note by hand that a phrase was tried in a key, and how it went: knew, searched,
slipped (one note otherwise) or lost (several). "larkhand check --phrase" notes it by
itself.`,
		Example: "  larkhand phrases tried Rain --key Eb --how knew --player Anna",
		Args:    onePhrase,
		RunE: func(cmd *cobra.Command, args []string) error {
			g, ok := map[string]phrase.Grade{"knew": phrase.Knew, "searched": phrase.Searched, "slipped": phrase.Slipped, "lost": phrase.Lost}[grade]
			if !ok {
				return wrongUse("--how %q: write knew, searched, slipped or lost", grade)
			}
			name, err := tonicName(tonic)
			if err != nil {
				return err
			}
			card, err := p.book().Try(args[0], p.player, name, g, time.Now())
			if err != nil {
				return err
			}
			_, err = fmt.Fprintln(cmd.OutOrStdout(), dueSentence(args[0], name, "", card))
			return err
		},
	}
	p.dir.register(cmd)
	f := cmd.Flags()
	f.StringVar(&p.player, "player", "", "`name` of the player")
	f.StringVar(&tonic, "key", "C", "`tonic` in which it was tried, such as Eb")
	f.StringVar(&grade, "how", "", "how it went: `knew`, searched, slipped or lost")
	complete(cmd, "how", "knew", "searched", "slipped", "lost")
	return cmd
}

// tonicName is the usual name of a tonic: records of D# and Eb are one.
func tonicName(tonic string) (string, error) {
	key, err := music.ParseKey(tonic)
	if err != nil {
		return "", wrongValue("key", err)
	}
	return phrase.Tonic(key.PitchClasses()[0]), nil
}

// baseName is a file's name without folder and ending.
func baseName(path string) string {
	base := filepath.Base(path)
	return strings.TrimSuffix(base, filepath.Ext(base))
}
