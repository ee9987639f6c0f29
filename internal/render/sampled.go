package render

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
)

// Sampled sings by the recorded voice of a SoundFont.
type Sampled struct{}

// Name of the renderer.
func (Sampled) Name() string { return "fluidsynth SoundFont" }

// soundFonts are looked for in this order: those of Debian's packages fluid-soundfont-gm and timgm6mb-soundfont.
var soundFonts = []string{"/usr/share/sounds/sf2/FluidR3_GM.sf2", "/usr/share/sounds/sf2/TimGM6mb.sf2"}

// found are the sound fonts at hand.
func foundSoundFonts() []string {
	return slices.DeleteFunc(slices.Clone(soundFonts), func(path string) bool {
		_, err := os.Stat(path)
		return err != nil
	})
}

// Missing says what is not installed.
func (Sampled) Missing() string {
	if absent := missingPrograms("fluidsynth"); absent != "" {
		return absent
	}
	if len(foundSoundFonts()) == 0 {
		return "no General MIDI sound bank installed (" + soundFonts[0] + ")"
	}
	return ""
}

// Sings tells what a recorded "ooh" can do: it has no words.
func (Sampled) Sings(s Style) bool { return s != LegatoWords }

const (
	voiceOohs       = 53 // General MIDI program 54, counted from 0
	bendRange       = 12 // semitones
	bendFull        = 8192
	breakSeconds    = 1.0 // s between attacks, so that no tail reaches into the next
	velocity        = 100
	ticksPerQuarter = 960
	ticksPerSecond  = 1920 // at 120 quarter notes a minute
	cutSeconds      = 0.03 // s of fade where the voice ends: samplers ring on, throats do not
)

// breathPart is a run of notes with one attack: a syllable and the notes that go on with its vowel.
type breathPart struct {
	first, last int
	key         int     // that is struck; the rest is bend
	at          float64 // s in the file
}

// Render sings the phrases; odd ones with the second sound bank where there are two.
func (Sampled) Render(ctx context.Context, phrases [][]Note) ([]Sound, error) {
	fonts := foundSoundFonts()
	out := make([]Sound, len(phrases))
	for f, font := range fonts {
		var mine []int
		for i, notes := range phrases {
			if err := check(notes); err != nil {
				return nil, err
			}
			if i%len(fonts) == f {
				mine = append(mine, i)
			}
		}
		if err := sampledWith(ctx, font, phrases, mine, out); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// sampledWith renders the phrases of the given indices with one sound bank, every attack by itself in one file.
func sampledWith(ctx context.Context, font string, phrases [][]Note, mine []int, out []Sound) error {
	folder, err := os.MkdirTemp("", "larkhand-sampled-")
	if err != nil {
		return fmt.Errorf("render: %w", err)
	}
	defer os.RemoveAll(folder)
	parts := map[int][]breathPart{}
	keys := map[int]bool{}
	for _, i := range mine {
		parts[i] = breathParts(phrases[i])
		for _, p := range parts[i] {
			keys[p.key] = true
		}
	}
	own, err := detunings(ctx, folder, font, keys)
	if err != nil {
		return err
	}
	var events []timedMessage
	at := breakSeconds
	for _, i := range mine {
		for k := range parts[i] {
			p := &parts[i][k]
			p.at = at
			events = append(events, p.messages(phrases[i], own[p.key])...)
			at += voiceEnd(phrases[i], p.last) - consonantStart(phrases[i], p.first) + breakSeconds
		}
	}
	samples, err := playSong(ctx, folder, font, events)
	if err != nil {
		return err
	}
	for _, i := range mine {
		out[i] = Sound{finish(assemble(phrases[i], parts[i], samples), uint64(i)), phrases[i]}
	}
	return nil
}

// playSong plays messages with the bank's voice.
func playSong(ctx context.Context, folder, font string, events []timedMessage) ([]float64, error) {
	if err := writeMIDI(filepath.Join(folder, "song.mid"), events); err != nil {
		return nil, err
	}
	err := program(ctx, folder, "fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-r", fmt.Sprint(Rate), "-g", "0.6", "-F", "song.wav", font, "song.mid")
	if err != nil {
		return nil, err
	}
	return readBack(filepath.Join(folder, "song.wav"))
}

// breathParts parts a phrase at its attacks.
func breathParts(notes []Note) []breathPart {
	var parts []breathPart
	for i, n := range notes {
		if n.Syllable != "" {
			parts = append(parts, breathPart{first: i})
		}
		parts[len(parts)-1].last = i
	}
	for k, p := range parts {
		lowest, highest := math.Inf(1), math.Inf(-1)
		for _, n := range notes[p.first : p.last+1] {
			lowest, highest = math.Min(lowest, n.Pitch), math.Max(highest, n.Pitch)
		}
		parts[k].key = int(math.Round((lowest + highest) / 2))
	}
	return parts
}

type timedMessage struct {
	at      float64 // s
	message midi.Message
}

// messages strike the key and bend it along the pitch curve, less the sample's own detuning.
func (p breathPart) messages(notes []Note, own detuning) []timedMessage {
	start := notes[p.first].Onset
	end := voiceEnd(notes, p.last)
	var out []timedMessage
	played := 0.0 // s of the sample that have passed: bent up, it runs faster
	for t := start; t < end; t += curveHop {
		bend := pitchAt(notes, t) - float64(p.key) - own.at(played)
		played += curveHop * math.Exp2(bend/12)
		value := int16(math.Round(bendFull * math.Max(-1, math.Min(1-1.0/bendFull, bend/bendRange))))
		out = append(out, timedMessage{p.at + t - start, midi.Pitchbend(0, value)})
		if t == start {
			out = append(out, timedMessage{p.at, midi.NoteOn(0, uint8(p.key), velocity)})
		}
	}
	return append(out, timedMessage{p.at + end - start, midi.NoteOff(0, uint8(p.key))})
}

// writeMIDI writes the messages with the program and the bend range (registered parameter 0) before them.
func writeMIDI(path string, events []timedMessage) error {
	setup := []midi.Message{midi.ProgramChange(0, voiceOohs), midi.ControlChange(0, 101, 0), midi.ControlChange(0, 100, 0), midi.ControlChange(0, 6, bendRange)}
	var track smf.Track
	track.Add(0, smf.MetaTempo(120))
	for _, m := range setup {
		track.Add(0, m)
	}
	slices.SortStableFunc(events, func(a, b timedMessage) int { return cmp.Compare(a.at, b.at) })
	before := int64(0)
	for _, e := range events {
		tick := int64(math.Round(e.at * ticksPerSecond))
		track.Add(uint32(tick-before), e.message)
		before = tick
	}
	track.Close(ticksPerSecond)
	song := smf.New()
	song.TimeFormat = smf.MetricTicks(ticksPerQuarter)
	if err := song.Add(track); err != nil {
		return fmt.Errorf("render: %w", err)
	}
	if err := song.WriteFile(path); err != nil {
		return fmt.Errorf("render: %w", err)
	}
	return nil
}

// assemble lays the attacks of a phrase where they belong, each ended where the voice ends, and gives them their levels.
func assemble(notes []Note, parts []breathPart, samples []float64) []float64 {
	out := make([]float64, int(length(notes)*Rate))
	for _, p := range parts {
		from, to := notes[p.first].Onset, voiceEnd(notes, p.last)
		firstSource, firstTarget := int(math.Round(p.at*Rate)), int(math.Round(from*Rate))
		for k := range int((to - from + cutSeconds) * Rate) {
			t := float64(k) / Rate
			source, target := firstSource+k, firstTarget+k
			if source >= len(samples) || target >= len(out) {
				break
			}
			fade := 1 - ease((t-(to-from))/cutSeconds)
			level := levelAt(notes, math.Min(from+t, to-1e-6), true)
			if i := noteAt(notes, from+t); i > p.last {
				level = notes[p.last].LevelDB
			}
			out[target] += samples[source] * fade * gain(level)
		}
	}
	return out
}
