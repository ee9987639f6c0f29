package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"larkhand/internal/bleed"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
)

// backing is the flags on the loop's sound, which the microphone heard beside the voice.
type backing struct {
	sounds      []string // one for all takes, or one for each
	starts      string   // "": looked for
	loops       bool
	alone, path string
}

// backingFlag gives the loop's sound.
const backingFlag = "backing"

func (b *backing) register(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringArrayVar(&b.sounds, backingFlag, nil, "sound `file` of the loop that played from a speaker, to be taken out of the takes; twice if each take has its own")
	f.StringVar(&b.starts, "backing-starts", "", "`seconds` after the start of each take at which the backing's file began to play; looked for if not given")
	f.BoolVar(&b.loops, "backing-loops", false, "the backing's file is one pass of a loop that goes round")
	f.StringVar(&b.alone, "backing-alone", "", "`stretch` of each take in which the loop sounds and nobody sings, such as 0-9.5 (seconds); without --backing the loop is learned from it")
	f.StringVar(&b.path, "backing-path", "", "`file` with the way from speaker to microphone, as practice keeps it beside its takes")
}

// wanted says whether there is anything to take out.
func (b *backing) wanted() bool { return len(b.sounds) > 0 || b.alone != "" }

// check says what of the flags cannot be or does not go together.
func (b *backing) check() error {
	if len(b.sounds) == 0 {
		for name, given := range map[string]bool{"backing-starts": b.starts != "", "backing-loops": b.loops, "backing-path": b.path != ""} {
			if given {
				return wrongUse("--%s says how a backing played; give its sound with --%s too", name, backingFlag)
			}
		}
	}
	if len(b.sounds) > mostFiles-1 {
		return wrongUse("%d backings: give one for all takes, or one for each of two", len(b.sounds))
	}
	_, err := b.options()
	return err
}

// options reads the texts.
func (b *backing) options() (bleed.Options, error) {
	opt := bleed.Options{Loops: b.loops, StartUnknown: b.starts == ""}
	var err error
	if b.starts != "" {
		if opt.Start, err = number("backing-starts", b.starts); err != nil {
			return opt, err
		}
	}
	if b.alone != "" {
		s, err := stretch("backing-alone", b.alone)
		if err != nil {
			return opt, err
		}
		opt.VoiceFree = []bleed.Span{s}
	}
	if b.path != "" {
		opt.Path, err = readPath(b.path)
	}
	return opt, err
}

// stretch reads "FROM-TO" in seconds.
func stretch(flag, text string) (bleed.Span, error) {
	from, to, ok := strings.Cut(text, "-")
	if !ok {
		return bleed.Span{}, wrongUse("--%s %q is no stretch of time; write it as in --%s 0-9.5", flag, text, flag)
	}
	var s bleed.Span
	var err error
	if s.From, err = number(flag, from); err != nil {
		return s, err
	}
	if s.To, err = number(flag, to); err != nil {
		return s, err
	}
	if s.From >= s.To {
		return s, wrongUse("--%s %q ends before it begins; write it as in --%s 0-9.5", flag, text, flag)
	}
	return s, nil
}

// readPath reads the way from speaker to microphone.
func readPath(file string) (*bleed.Path, error) {
	const most = 1 << 20 // bytes; real ones have some 200,000
	info, err := os.Stat(file)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", file, plainCause(err))
	}
	if info.Size() > most {
		return nil, fmt.Errorf("%s is too long for the way from speaker to microphone: name the path.json that practice kept beside the takes", file)
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", file, plainCause(err))
	}
	var p bleed.Path
	if json.Unmarshal(data, &p) != nil || len(p.Taps) == 0 {
		return nil, fmt.Errorf("%s does not hold the way from speaker to microphone: name the path.json that practice kept beside the takes", file)
	}
	return &p, nil
}

// clean analyses take number index of a round after taking the backing out of it. name is the take's file.
func (b *backing) clean(index int, name string, take soundfile.Sound) (round.Take, error) {
	opt, err := b.options()
	if err != nil {
		return round.Take{}, err
	}
	if len(b.sounds) == 0 {
		cleaned, _, err := bleed.CleanLearned(take.Samples, take.Rate, bleed.LearnedOptions{VoiceFree: opt.VoiceFree[0]})
		if err != nil {
			return round.Take{}, withoutPackage(err)
		}
		return round.TakeWithoutBleed(name, cleaned)
	}
	file := b.sounds[min(index, len(b.sounds)-1)]
	sound, err := readBacking(file)
	if err != nil {
		return round.Take{}, err
	}
	if err := b.reaches(file, sound, take, opt); err != nil {
		return round.Take{}, err
	}
	opt.BackingRate = sound.Rate
	out, err := round.CleanedTake(name, take.Samples, take.Rate, sound.Samples, opt)
	if err != nil {
		return round.Take{}, withoutPackage(err)
	}
	return out, nil
}

// backingSlack is how much sooner than a take its backing may end, s: recordings are stopped by hand.
const backingSlack = 1.0

// reaches refuses a backing that ends before the take does.
func (b *backing) reaches(file string, sound, take soundfile.Sound, opt bleed.Options) error {
	has := opt.Start + float64(len(sound.Samples))/float64(sound.Rate)
	needs := float64(len(take.Samples)) / float64(take.Rate)
	if b.loops || has+backingSlack >= needs {
		return nil
	}
	return fmt.Errorf("the backing %s ends at %.1f s and the take lasts %.1f s: give the whole backing, or add --backing-loops if the file is one pass of a loop", file, has, needs)
}

// readBacking reads the loop's sound.
func readBacking(file string) (soundfile.Sound, error) {
	sound, err := soundfile.Read(file)
	switch {
	case errors.Is(err, soundfile.ErrMIDI):
		return sound, fmt.Errorf("the backing %s is a MIDI file: the sound that went to the speaker is needed, such as a WAV file", file)
	case errors.Is(err, fs.ErrNotExist):
		return sound, fmt.Errorf("the backing %s does not exist: check the name and the folder", file)
	case err != nil:
		return sound, err
	}
	const heard = 1e-4 // of full scale, -80 dBFS: below, nothing played
	for _, v := range sound.Samples {
		if v > heard || v < -heard {
			return sound, nil
		}
	}
	return sound, fmt.Errorf("the backing %s is silent: give the sound that went to the speaker, or leave out --%s", file, backingFlag)
}

// withoutPackage takes the name of the package off an error that a player reads.
func withoutPackage(err error) error {
	return errors.New(strings.TrimPrefix(err.Error(), "bleed: "))
}
