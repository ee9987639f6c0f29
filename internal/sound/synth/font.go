package synth

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

	"github.com/sinshu/go-meltysynth/meltysynth"

	"larkhand/internal/loop"
)

// maxFontBytes is the largest SoundFont that is read at all: three times the largest common one of 148 MB (own choice).
const maxFontBytes = 512 << 20

const (
	melodicBank = 0
	drumBank    = 128 // by the SoundFont 2 specification, percussion kits lie in this bank
	drumKit     = 0   // the standard kit
)

// font is a SoundFont that is ready to play.
type font struct {
	name  string
	rate  int
	sound *meltysynth.SoundFont
}

// OpenFont reads a SoundFont 2 file (.sf2) for a rate in Hz, MinRate to MaxRate. It must have an acoustic bass, an electric piano and a drum kit where General MIDI
// has them. Only these stay in memory.
func OpenFont(path string, rate int) (Synth, error) {
	if rate < MinRate || rate > MaxRate {
		return nil, fmt.Errorf("a sampling rate of %d Hz does not work; give %d to %d", rate, MinRate, MaxRate)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("the SoundFont cannot be opened: %w", err)
	}
	defer f.Close()
	info, err := f.Stat()
	switch {
	case err != nil:
		return nil, fmt.Errorf("the SoundFont %s cannot be read: %w", path, err)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is not a file; give a SoundFont file, which ends in .sf2", path)
	}
	sound, err := readFont(f, info.Size())
	if err != nil {
		return nil, fmt.Errorf("the SoundFont %s does not work: %w", path, err)
	}
	return font{filepath.Base(path), rate, sound}, nil
}

// readFont reads a SoundFont of so many bytes and keeps what the backing needs.
func readFont(r io.ReadSeeker, size int64) (sound *meltysynth.SoundFont, err error) {
	if size > maxFontBytes {
		return nil, fmt.Errorf("it has %d MB; give one of at most %d MB", size>>20, maxFontBytes>>20)
	}
	if err := checkChunks(r, size); err != nil {
		return nil, err
	}
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	defer func() {
		if recover() != nil {
			sound, err = nil, errDamaged
		}
	}()
	sound, err = meltysynth.NewSoundFont(fullReader{bufio.NewReader(r)})
	if err != nil {
		return nil, fmt.Errorf("%w (%w)", errDamaged, err)
	}
	if err := choosePresets(sound); err != nil {
		return nil, err
	}
	return sound, keepUsed(sound)
}

var errDamaged = errors.New("the file is damaged; copy or install it again, or give another")

// fullReader reads as much as is asked for, as the SoundFont reader expects it.
type fullReader struct{ r io.Reader }

func (f fullReader) Read(p []byte) (int, error) { return io.ReadFull(f.r, p) }

// choosePresets leaves only the sounds that the backing uses.
func choosePresets(sound *meltysynth.SoundFont) error {
	needed := []struct {
		bank, program int32
		what          string
	}{
		{melodicBank, loop.BassProgram, "acoustic bass"},
		{melodicBank, loop.CompingProgram, "electric piano"},
		{drumBank, drumKit, "drum kit"},
	}
	var kept []*meltysynth.Preset
	for _, n := range needed {
		i := slices.IndexFunc(sound.Presets, func(p *meltysynth.Preset) bool { return p.BankNumber == n.bank && p.PatchNumber == n.program })
		if i < 0 {
			return fmt.Errorf("it has no %s; give one with all General MIDI sounds", n.what)
		}
		kept = append(kept, sound.Presets[i])
	}
	sound.Presets = kept
	return nil
}

// span is a stretch of the font's wave data.
type span struct{ from, to int32 }

// keepUsed copies the recordings that the presets use out of the font's wave data, and lets go of everything else.
func keepUsed(sound *meltysynth.SoundFont) error {
	spans, order := usedSpans(sound)
	var wave []int16
	for _, header := range order {
		s := spans[header]
		if s.from < 0 || s.from >= s.to || int(s.to) > len(sound.WaveData) {
			return errDamaged
		}
		shift := int32(len(wave)) - s.from
		wave = append(wave, sound.WaveData[s.from:s.to]...)
		header.Start += shift
		header.End += shift
		header.StartLoop += shift
		header.EndLoop += shift
	}
	sound.WaveData, sound.SampleHeaders, sound.Instruments = wave, nil, nil
	return nil
}

// usedSpans gives for each recording the stretch that its regions play, and the recordings in the order in which they are met.
func usedSpans(sound *meltysynth.SoundFont) (spans map[*meltysynth.SampleHeader]span, order []*meltysynth.SampleHeader) {
	const interpolated = 1 // the player reads one sample beyond the last
	spans = map[*meltysynth.SampleHeader]span{}
	for _, preset := range sound.Presets {
		for _, zone := range preset.Regions {
			for _, region := range zone.Instrument.Regions {
				from := min(region.GetSampleStart(), region.GetSampleStartLoop())
				to := max(region.GetSampleEnd(), region.GetSampleEndLoop()) + interpolated
				s, known := spans[region.Sample]
				if !known {
					s = span{from, to}
					order = append(order, region.Sample)
				}
				spans[region.Sample] = span{min(s.from, from), max(s.to, to)}
			}
		}
	}
	return spans, order
}

// Name implements Synth.
func (f font) Name() string { return "SoundFont " + f.name }

const (
	fontBlock   = 64   // samples after which the SoundFont synthesizer looks at its envelopes; its own default
	fontLayers  = 8    // recordings that one note can play at once; the fewest that it takes
	fontLevel   = 0.6  // gain that brings a font near the plain sounds: a jazz blues at full volume has an rms of -26.3 dBFS plain, -28.3 with TimGM6mb and -28.2 with sf_GMbank
	fontRelease = 1.0  // s for which a note may ring on after its end
	fontFade    = 0.05 // s at the end of that, faded
	quiet       = 1e-5 // a peak of -100 dBFS counts as silence
	quietFor    = 0.05 // s of silence after which a note is over
)

// NewVoice implements Synth. Each voice has a synthesizer of its own, so that a note can begin at any sample and not only where a block begins.
func (f font) NewVoice() Voice {
	settings := meltysynth.NewSynthesizerSettings(int32(f.rate))
	settings.BlockSize, settings.MaximumPolyphony, settings.EnableReverbAndChorus = fontBlock, fontLayers, false
	synth, err := meltysynth.NewSynthesizer(f.sound, settings)
	if err != nil { // the settings are constants and the rate was checked
		panic("synth: " + err.Error())
	}
	synth.MasterVolume = 1
	return &fontVoice{synth: synth, rate: f.rate}
}

// fontVoice plays one note.
type fontVoice struct {
	synth       *meltysynth.Synthesizer
	rate        int
	left, right [fontBlock]float32
	channel     int32
	key         int32

	n         int // samples played
	held      int // samples until the note is let go; it is never let go where it is past ends
	ends      int // samples until the note is over
	fade      int // samples of the fade before that
	quietRuns int // quiet blocks in a row
	broken    bool
}

// Start implements Voice.
func (v *fontVoice) Start(e loop.Event) {
	v.n, v.quietRuns, v.broken = 0, 0, false
	v.channel, v.key = int32(e.Channel), int32(e.Key)
	v.held = samplesOf(e.Duration, v.rate)
	v.fade = samplesOf(fontFade, v.rate)
	v.ends = v.held + samplesOf(fontRelease, v.rate)
	if e.Channel == loop.PercussionChannel { // drums ring by themselves
		v.held = v.ends
	}
	defer v.guard()
	v.synth.Reset()
	const programChange = 0xC0
	if e.Channel != loop.PercussionChannel {
		v.synth.ProcessMidiMessage(v.channel, programChange, int32(e.Program), 0)
	}
	v.synth.NoteOn(v.channel, v.key, int32(e.Velocity))
}

// guard makes a note silent on which the SoundFont synthesizer fails; damage in a font may show only when it is played.
func (v *fontVoice) guard() {
	if recover() != nil {
		v.broken = true
	}
}

// Add implements Voice. Blocks are counted from the start of the note, so that the caller's blocks do not matter.
func (v *fontVoice) Add(dst []float32) bool {
	for len(dst) > 0 && !v.over() {
		at := v.n % fontBlock
		if at == 0 {
			v.block()
		}
		n := min(fontBlock-at, len(dst))
		for i := range n {
			dst[i] += v.left[at+i]
		}
		v.n += n
		dst = dst[n:]
	}
	return !v.over()
}

func (v *fontVoice) over() bool {
	return v.broken || v.n >= v.ends || v.quietRuns*fontBlock >= samplesOf(quietFor, v.rate)
}

// block renders the next block of the note into v.left.
func (v *fontVoice) block() {
	defer v.guard()
	if v.held >= v.n && v.held < v.n+fontBlock && v.held < v.ends {
		v.synth.NoteOff(v.channel, v.key)
	}
	v.synth.Render(v.left[:], v.right[:])
	peak := float32(0)
	for i := range v.left {
		gain := float32(fontLevel / 2) // the mean of both sides
		if left := v.ends - v.n - i; left < v.fade {
			gain *= float32(smooth(max(float64(left)/float64(v.fade), 0)))
		}
		v.left[i] = (v.left[i] + v.right[i]) * gain
		peak = max(peak, v.left[i], -v.left[i])
	}
	v.quietRuns++
	if peak > quiet || v.n < samplesOf(quietFor, v.rate) {
		v.quietRuns = 0
	}
}
