package soundfile

import (
	"bytes"
	"math"
	"testing"
)

func dB(ratio float64) float64 { return 10 * math.Log10(ratio) }

// lameScale is the factor by which the encoder lame lowers the sound at constant
// bit rates but for the highest (measured: the whole difference from the original
// is 26.0 dB below it at seven rates, and 20*log10(0.05) = -26.0).
const lameScale = 0.95

// Times are right to the sample where the encoder's tag is there: a shift by one
// sample of a 440 Hz tone at 44.1 kHz would leave 24 dB, measured are 66 dB.
func TestMP3Timing(t *testing.T) {
	s := mustDecode(t, testFile(t, "tone.mp3"))
	if s.Rate != 44100 || s.Channels != 1 || s.Format != "MP3" {
		t.Errorf("got %d Hz, %d channels, %q", s.Rate, s.Channels, s.Format)
	}
	if snr := snrDB(t, s.Samples, tone(440, 0.5*lameScale, 44100, 22050)); snr < 40 {
		t.Errorf("%.1f dB above the noise, want 40", snr)
	}
	wantNoRemarks(t, s)
}

// Without the tag nothing is cut off: whole frames of 1152, with a remark. The
// same sound lies lame's 576 samples of delay and the decoder's 529 later.
func TestMP3WithoutTag(t *testing.T) {
	s := mustDecode(t, testFile(t, "tone-notag.mp3"))
	wantRemark(t, s, "MP3 timing is inexact by some tens of ms")
	if len(s.Samples)%1152 != 0 {
		t.Errorf("%d samples are no whole frames", len(s.Samples))
	}
	const delay = 576 + decoderDelay
	if snr := snrDB(t, s.Samples[delay:delay+22050], tone(440, 0.5*lameScale, 44100, 22050)); snr < 40 {
		t.Errorf("%.1f dB above the noise, want 40", snr)
	}
}

func TestMP3Tags(t *testing.T) {
	file := testFile(t, "tone.mp3")
	want := mustDecode(t, file).Samples
	for name, f := range map[string][]byte{
		"ID3v2 before":       append([]byte("ID3\x03\x00\x00\x00\x00\x00\x05title"), file...),
		"two ID3v2 before":   append([]byte("ID3\x03\x00\x00\x00\x00\x00\x01aID3\x03\x00\x00\x00\x00\x00\x00"), file...),
		"ID3v1 after":        append(bytes.Clone(file), append([]byte("TAG"), make([]byte, 125)...)...),
		"padding before":     append(make([]byte, 300), file...),
		"ID3v2 lying length": append([]byte("ID3\x03\x00\x00\x7f\x7f\x7f\x7f"), file...),
	} {
		t.Run(name, func(t *testing.T) {
			s := mustDecode(t, f)
			wantSamples(t, s.Samples, want, 0)
			wantNoRemarks(t, s)
		})
	}
}

func TestMP3ForeignBytes(t *testing.T) {
	file := testFile(t, "tone-notag.mp3")
	h, _ := parseMPEG(file)
	at := h.bytes()
	for range 9 {
		h, _ = parseMPEG(file[at:])
		at += h.bytes()
	}
	s := mustDecode(t, append(append(bytes.Clone(file[:at]), "not a frame"...), file[at:]...))
	wantRemark(t, s, "damaged: foreign bytes lie between its frames at 1 place, so times after the first may be wrong")
}

// The beginning cut off: frames that need what is missing are silent, so that
// the others keep their distance in time.
func TestMP3BeginningCutOff(t *testing.T) {
	file := testFile(t, "tone-notag.mp3")
	whole := mustDecode(t, file).Samples
	h, _ := parseMPEG(file)
	at := h.bytes()
	for range 4 {
		h, _ = parseMPEG(file[at:])
		at += h.bytes()
	}
	s := mustDecode(t, file[at:])
	wantRemark(t, s, "of it are silent because parts of the file that they need are missing")
	if want := len(whole) - 5*1152; len(s.Samples) != want {
		t.Fatalf("%d samples, want %d", len(s.Samples), want)
	}
	last := len(s.Samples) - 4*1152
	wantSamples(t, s.Samples[last:], whole[last+5*1152:], 1e-6)
}

// Frame lengths of ISO/IEC 11172-3: 144 * bit rate / rate, rounded down, plus
// padding: 417 at 128 kbit/s and 44.1 kHz (the common textbook value).
func TestMPEGHeader(t *testing.T) {
	for _, c := range []struct {
		bytes                   []byte
		length, rate, ch, layer int
	}{
		{[]byte{0xff, 0xfb, 0x90, 0x00}, 417, 44100, 2, 3},
		{[]byte{0xff, 0xfb, 0x92, 0x00}, 418, 44100, 2, 3},
		{[]byte{0xff, 0xfb, 0x94, 0xc0}, 384, 48000, 1, 3},
		{[]byte{0xff, 0xf3, 0x84, 0xc0}, 192, 24000, 1, 3},
		{[]byte{0xff, 0xfd, 0x90, 0x00}, 522, 44100, 2, 2},
	} {
		h, ok := parseMPEG(c.bytes)
		if !ok || h.bytes() != c.length || h.rate != c.rate || h.channels != c.ch || h.layer != c.layer {
			t.Errorf("%x: %+v, %d bytes", c.bytes, h, h.bytes())
		}
	}
	for _, b := range [][]byte{{0xff, 0xfb, 0x00, 0}, {0xff, 0xfb, 0xf0, 0}, {0xff, 0xfb, 0x9c, 0}, {0xff, 0xeb, 0x90, 0}, {0xff, 0xf9, 0x90, 0}, {0xff, 0x1b, 0x90, 0}, {0xff}} {
		if h, ok := parseMPEG(b); ok {
			t.Errorf("%x passes as %+v", b, h)
		}
	}
}
