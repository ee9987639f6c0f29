package synth

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/sinshu/go-meltysynth/meltysynth"

	"larkhand/internal/loop"
)

const testRate = 48000

var (
	bassNote  = loop.Event{Duration: 0.4, Key: 45, Velocity: 96, Part: loop.Bass, Channel: loop.BassChannel, Program: loop.BassProgram}
	pianoNote = loop.Event{Duration: 0.5, Key: 69, Velocity: 74, Part: loop.Comping, Channel: loop.CompingChannel, Program: loop.CompingProgram}
	hatNote   = loop.Event{Duration: 0.05, Key: 42, Velocity: 64, Part: loop.HiHat, Channel: loop.PercussionChannel}
	clickNote = loop.Event{Duration: 0.05, Key: 76, Velocity: 112, Part: loop.Click, Channel: loop.PercussionChannel}
	allNotes  = []loop.Event{bassNote, pianoNote, hatNote, clickNote}
)

// sound gives the samples of one note until it is over, asked for in blocks of a size.
func sound(t testing.TB, v Voice, e loop.Event, block int) (out []float32) {
	t.Helper()
	v.Start(e)
	for sounds := true; sounds; {
		if len(out) > 60*testRate {
			t.Fatalf("%+v does not end", e)
		}
		out = append(out, make([]float32, block)...)
		sounds = v.Add(out[len(out)-block:])
	}
	return out
}

// The tiny font holds a sine of 441 Hz on A4; an octave lower it must sound at 220.5 Hz.
func TestFontPlaysInTune(t *testing.T) {
	v := openTiny(t, testRate).NewVoice()
	low := bassNote
	low.Key = tinyRoot - 12
	for e, hz := range map[loop.Event]float64{pianoNote: tinyHz, low: tinyHz / 2} {
		got := frequency(sound(t, v, e, 512)[:testRate/4])
		if got < hz*0.999 || got > hz*1.001 { // a quarter of a second tells 1 part in 1000
			t.Errorf("key %d sounds at %.2f Hz, want %.2f", e.Key, got, hz)
		}
	}
}

// frequency measures a tone in Hz by its rising zero crossings, interpolated.
func frequency(samples []float32) float64 {
	var first, last float64
	count := -1
	for i := 1; i < len(samples); i++ {
		if a, b := float64(samples[i-1]), float64(samples[i]); a < 0 && b >= 0 {
			last = float64(i) - b/(b-a)
			if count++; count == 0 {
				first = last
			}
		}
	}
	return float64(count) * testRate / (last - first)
}

func TestFontRefuses(t *testing.T) {
	dir := t.TempDir()
	whole := tinyFont(completePresets...)
	write := func(name string, b []byte) string { return writeFont(t, filepath.Join(dir, name), b) }
	tests := []struct{ path, says string }{
		{filepath.Join(dir, "absent.sf2"), "opened"},
		{dir, "not a file"},
		{write("empty.sf2", nil), "no SoundFont"},
		{write("text.sf2", []byte("this is a text and no font at all")), "no SoundFont"},
		{write("cut.sf2", whole[:len(whole)/2]), "damaged"},
		{write("nobass.sf2", tinyFont([2]uint16{0, 0}, [2]uint16{0, 4}, [2]uint16{128, 0})), "no acoustic bass"},
		{write("nodrums.sf2", tinyFont([2]uint16{0, 32}, [2]uint16{0, 4})), "no drum kit"},
		{write("nolist.sf2", bytes.Replace(whole, []byte("sdta"), []byte("sdtb"), 1)), "damaged"},
		{write("huge.sf2", bytes.Replace(whole, []byte("smpl"), []byte("smpl\xff\xff\xff\x7f")[:8], 1)), "damaged"},
	}
	for _, tc := range tests {
		if _, err := OpenFont(tc.path, testRate); err == nil || !strings.Contains(err.Error(), tc.says) {
			t.Errorf("%s: %v, want %q in it", filepath.Base(tc.path), err, tc.says)
		}
	}
	good := write("good.sf2", whole)
	for _, rate := range []int{0, 8000, 400000} {
		if _, err := OpenFont(good, rate); err == nil || !strings.Contains(err.Error(), "16000") {
			t.Errorf("%d Hz: %v", rate, err)
		}
	}
}

// A font with any one byte changed either is refused or plays, perhaps wrongly, but never fails.
func TestDamagedFontNeverFails(t *testing.T) {
	whole := tinyFont(completePresets...)
	tables := bytes.Index(whole, []byte("pdta"))
	for at := range whole {
		if at > 80 && at < tables-8 { // the recording itself can hold anything
			continue
		}
		for _, value := range []byte{0, 1, 0x7f, 0xff} {
			damaged := slices.Clone(whole)
			damaged[at] = value
			playFont(t, damaged)
		}
	}
}

// playFont reads a font from memory and, where that works, plays a little of each part.
func playFont(t testing.TB, data []byte) {
	t.Helper()
	f, err := readFont(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return
	}
	v := font{"", testRate, f}.NewVoice()
	block := make([]float32, 1000)
	for _, e := range allNotes {
		v.Start(e)
		v.Add(block)
		v.Add(block)
	}
}

func FuzzFont(f *testing.F) {
	whole := tinyFont(completePresets...)
	f.Add(whole)
	f.Add(whole[:200])
	f.Add(append(slices.Clone(whole[:60]), whole[80:]...))
	f.Fuzz(func(t *testing.T, data []byte) { playFont(t, data) })
}

// systemFontsForTest gives the fonts of this machine that are taken without asking.
func systemFontsForTest(t testing.TB) (out []string) {
	t.Helper()
	for _, path := range found([]string{systemFonts}) {
		if info, err := os.Stat(path); err == nil && info.Size() <= maxFoundBytes {
			out = append(out, path)
		}
	}
	if len(out) == 0 {
		t.Skip("skipped: no SoundFont on this machine")
	}
	return out
}

// Of a real font only the sounds of the backing stay in memory, and they are the same as with the whole font.
func TestRealFontsKeepTheirSound(t *testing.T) {
	for _, path := range systemFontsForTest(t) {
		trimmed, err := OpenFont(path, testRate)
		if err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		sf, err := meltysynth.NewSoundFont(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		whole := font{"whole", testRate, sf}
		for _, e := range allNotes {
			for range 4 {
				e.Key++
				got, want := sound(t, trimmed.NewVoice(), e, 512), sound(t, whole.NewVoice(), e, 512)
				if p := peak(got); !slices.Equal(got, want) || p > 0.5 || e.Part != loop.HiHat && p < 0.005 {
					t.Errorf("%s: %v, key %d, peaks at %.4f, with the whole font at %.4f", trimmed.Name(), e.Part, e.Key, p, peak(want))
				}
			}
		}
		t.Logf("%s: %d of %d samples kept", path, len(trimmed.(font).sound.WaveData), len(sf.WaveData))
	}
}

func peak(samples []float32) (p float32) {
	for _, s := range samples {
		p = max(p, s, -s)
	}
	return p
}
