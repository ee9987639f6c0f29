package soundfile

import (
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
)

// The programs sox, flac, oggdec and lame read and write the same samples. They
// are general-purpose converters from Debian's packages sox, flac, vorbis-tools
// and lame; a test whose program is not installed says so and is skipped.

// outside runs a program, or skips the test.
func outside(t *testing.T, program string, args ...string) {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		t.Skipf("skipped: %s is not installed", program)
	}
	if out, err := exec.Command(path, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s %q: %v\n%s", program, args, err, out)
	}
}

func mustRead(t *testing.T, path string) Sound {
	t.Helper()
	s, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// sox converts our 16-bit WAV to every coding that we read; whole-number widths
// of 16 bits and more must give the very same samples, G.711 within its steps
// (A-law: half of 1/32 of the segment's beginning at most, 1.6 % of full scale).
func TestOutsideSoxWrites(t *testing.T) {
	dir := t.TempDir()
	samples := tone(440, 0.5, 44100, 4410)
	source := filepath.Join(dir, "source.wav")
	if err := WriteWAV(source, samples, 44100); err != nil {
		t.Fatal(err)
	}
	want := mustRead(t, source).Samples
	for _, c := range []struct {
		name      string
		args      []string
		format    string
		tolerance float64
	}{
		{"u8.wav", []string{"-e", "unsigned-integer", "-b", "8"}, "WAV 8 bit", 0.5/128 + 1e-6},
		{"s16.wav", []string{"-e", "signed-integer", "-b", "16"}, "WAV 16 bit", 0},
		{"s24.wav", []string{"-e", "signed-integer", "-b", "24"}, "WAV 24 bit", 0},
		{"s32.wav", []string{"-e", "signed-integer", "-b", "32"}, "WAV 32 bit", 0},
		{"f32.wav", []string{"-e", "floating-point", "-b", "32"}, "WAV 32 bit float", 0},
		{"f64.wav", []string{"-e", "floating-point", "-b", "64"}, "WAV 64 bit float", 0},
		{"a.wav", []string{"-e", "a-law"}, "WAV 8 bit A-law", 0.016},
		{"mu.wav", []string{"-e", "mu-law"}, "WAV 8 bit mu-law", 0.016},
		{"s16.flac", []string{"-b", "16"}, "FLAC", 0},
		{"s24.flac", []string{"-b", "24"}, "FLAC", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			out := filepath.Join(dir, c.name)
			outside(t, "sox", append(append([]string{"-D", source}, c.args...), out)...)
			s := mustRead(t, out)
			wantSamples(t, s.Samples, want, c.tolerance)
			if s.Format != c.format {
				t.Errorf("format %q, want %q", s.Format, c.format)
			}
			wantNoRemarks(t, s)
		})
	}
}

// sox writes two channels, and from a pipe into a pipe, so that it never knows
// the length.
func TestOutsideSoxStereoAndPipe(t *testing.T) {
	dir := t.TempDir()
	source := filepath.Join(dir, "source.wav")
	if err := WriteWAV(source, tone(440, 0.5, 44100, 4410), 44100); err != nil {
		t.Fatal(err)
	}
	stereo := filepath.Join(dir, "stereo.flac")
	outside(t, "sox", "-D", source, "-c", "2", stereo)
	s := mustRead(t, stereo)
	wantSamples(t, s.Samples, mustRead(t, source).Samples, 0)
	if s.Channels != 2 {
		t.Errorf("%d channels", s.Channels)
	}
	piped := filepath.Join(dir, "piped.wav")
	outside(t, "sh", "-c", "tail -c +45 '"+source+"' | sox -D -t raw -r 44100 -e signed-integer -b 16 -c 1 - -t wav - | cat > '"+piped+"'")
	p := mustRead(t, piped)
	wantSamples(t, p.Samples, s.Samples, 0)
	wantRemark(t, p, "the header's length is wrong")
}

// The program flac tests our FLAC files (its test checks every frame and the
// MD5 sum of the samples) and decodes them to the samples of our WAV files.
func TestOutsideFlac(t *testing.T) {
	dir := t.TempDir()
	for _, n := range []int{1, 15, 16, 17, 4096, 4097, 4110, 44100} {
		samples := tone(440, 0.9, 44100, n)
		name := filepath.Join(dir, strconv.Itoa(n))
		if err := WriteFLAC(name+".flac", samples, 44100); err != nil {
			t.Fatal(err)
		}
		outside(t, "flac", "-s", "-t", "-w", name+".flac")
		outside(t, "flac", "-s", "-d", "-o", name+"-out.wav", name+".flac")
		if err := WriteWAV(name+".wav", samples, 44100); err != nil {
			t.Fatal(err)
		}
		wantSamples(t, mustRead(t, name+"-out.wav").Samples, mustRead(t, name+".wav").Samples, 0)
	}
}

// sox reads our WAV files, both kinds, to the last bit.
func TestOutsideSoxReads(t *testing.T) {
	dir := t.TempDir()
	samples := tone(440, 0.9, 48000, 4801)
	for name, write := range map[string]func(string, []float32, int) error{"int": WriteWAV, "float": WriteWAVFloat} {
		path, raw := filepath.Join(dir, name+".wav"), filepath.Join(dir, name+".raw")
		if err := write(path, samples, 48000); err != nil {
			t.Fatal(err)
		}
		outside(t, "sox", "-D", path, "-t", "raw", "-e", "signed-integer", "-b", "16", "-L", raw)
		got, err := os.ReadFile(raw)
		if err != nil {
			t.Fatal(err)
		}
		want := encoded(t, func(b *bytes.Buffer) error { return EncodeWAV(b, samples, 48000) })[44:]
		if name == "int" && !bytes.Equal(got, want) {
			t.Errorf("%s: sox reads other samples", name)
		}
		wantSamples(t, mustDecode(t, riff(fmtChunk(tagPCM, 1, 48000, 16), chunk("data", got))).Samples,
			mustDecode(t, riff(fmtChunk(tagPCM, 1, 48000, 16), chunk("data", want))).Samples, 1.0/32768)
	}
}

// oggdec and lame decode the small files to the same samples; both write 16 bits
// with their own rounding.
func TestOutsideOggdec(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out.wav")
	outside(t, "oggdec", "-Q", "-o", out, filepath.Join("testdata", "tone.ogg"))
	wantSamples(t, mustDecode(t, testFile(t, "tone.ogg")).Samples, mustRead(t, out).Samples, 1.0/32768)
}

func TestOutsideLame(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out.wav")
	outside(t, "lame", "--quiet", "--decode", filepath.Join("testdata", "tone.mp3"), out)
	wantSamples(t, mustDecode(t, testFile(t, "tone.mp3")).Samples, mustRead(t, out).Samples, 2.0/32768)
}

// MP3 at every rate that is read, encoded by lame: to the sample the length of
// the original and in time with it; and in lame's other modes.
func TestOutsideLameModes(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		rate int
		args []string
	}{
		{16000, []string{"-b", "64"}}, {22050, []string{"-b", "64"}}, {24000, []string{"-b", "64"}},
		{32000, []string{"-b", "64"}}, {44100, []string{"-b", "64"}}, {48000, []string{"-b", "64"}},
		{44100, []string{"-p", "-b", "96"}}, // with checksums
		{44100, []string{"-V", "4"}},        // variable bit rate
		{48000, []string{"--abr", "96"}},
		{44100, []string{"-b", "320"}},
	} {
		wav, mp3 := filepath.Join(dir, "in.wav"), filepath.Join(dir, "out.mp3")
		samples := tone(440, 0.5, c.rate, c.rate)
		if err := WriteWAV(wav, samples, c.rate); err != nil {
			t.Fatal(err)
		}
		outside(t, "lame", append(append([]string{"--quiet"}, c.args...), wav, mp3)...)
		s := mustRead(t, mp3)
		gain := 1.0 // lame lowers the sound in some modes
		if math.Abs(gainOf(s.Samples, samples)-lameScale) < math.Abs(gainOf(s.Samples, samples)-1) {
			gain = lameScale
		}
		if snr := snrDB(t, s.Samples, scaled(samples, gain)); snr < 35 {
			t.Errorf("%d Hz, %q: %.1f dB above the noise, want 35", c.rate, c.args, snr)
		}
		wantNoRemarks(t, s)
	}
}

// gainOf is the factor that brings the wanted samples nearest to the others.
func gainOf(got, want []float32) float64 {
	product, power := 0.0, 0.0
	for i := range min(len(got), len(want)) {
		product += float64(got[i]) * float64(want[i])
		power += float64(want[i]) * float64(want[i])
	}
	return product / power
}
