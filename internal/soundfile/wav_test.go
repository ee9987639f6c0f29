package soundfile

import (
	"encoding/binary"
	"math"
	"testing"
)

// intBytes packs a code into a container of the given bytes.
func intBytes(code int64, width int) []byte {
	if width == 1 {
		return []byte{byte(code + 128)}
	}
	return binary.LittleEndian.AppendUint64(nil, uint64(code))[:width]
}

// Codes at known parts of full scale: code / 2^(bits-1), from the formula alone.
func TestWAVWidths(t *testing.T) {
	fractions := []float64{0, 0.5, -0.5, 0.25, -1, 0.75, -0.25, 0}
	want := make([]float32, len(fractions))
	for i, f := range fractions {
		want[i] = float32(f)
	}
	for _, c := range []struct {
		bits   int
		format string
	}{{8, "WAV 8 bit"}, {16, "WAV 16 bit"}, {24, "WAV 24 bit"}, {32, "WAV 32 bit"}} {
		var data []byte
		for _, f := range fractions {
			data = append(data, intBytes(int64(f*math.Pow(2, float64(c.bits-1))), c.bits/8)...)
		}
		for name, header := range map[string][]byte{
			"plain":      fmtChunk(tagPCM, 1, 48000, c.bits),
			"extensible": extensibleChunk(tagPCM, 1, 48000, c.bits, c.bits),
		} {
			t.Run(c.format+" "+name, func(t *testing.T) {
				s := mustDecode(t, riff(header, chunk("data", data)))
				wantSamples(t, s.Samples, want, 0)
				if s.Format != c.format || s.Rate != 48000 || s.Channels != 1 {
					t.Errorf("got %q, %d Hz, %d channels", s.Format, s.Rate, s.Channels)
				}
				wantNoRemarks(t, s)
			})
		}
	}
}

func TestWAVSixteenBitHalf(t *testing.T) {
	s := mustDecode(t, riff(fmtChunk(tagPCM, 1, 44100, 16), chunk("data", le16(16384, -16384, 1, -1))))
	wantSamples(t, s.Samples, []float32{0.5, -0.5, 1.0 / 32768, -1.0 / 32768}, 0)
}

func TestWAVFloat(t *testing.T) {
	want := []float32{0, 0.5, -0.5, 0.1, -1, 0.999}
	var f32, f64 []byte
	for _, x := range want {
		f32 = binary.LittleEndian.AppendUint32(f32, math.Float32bits(x))
		f64 = binary.LittleEndian.AppendUint64(f64, math.Float64bits(float64(x)))
	}
	for name, c := range map[string]struct {
		header, data []byte
		format       string
	}{
		"32":            {fmtChunk(tagFloat, 1, 96000, 32), f32, "WAV 32 bit float"},
		"64":            {fmtChunk(tagFloat, 1, 96000, 64), f64, "WAV 64 bit float"},
		"32 extensible": {extensibleChunk(tagFloat, 1, 96000, 32, 32), f32, "WAV 32 bit float"},
	} {
		t.Run(name, func(t *testing.T) {
			s := mustDecode(t, riff(c.header, chunk("data", c.data)))
			wantSamples(t, s.Samples, want, 0)
			if s.Format != c.format {
				t.Errorf("format %q, want %q", s.Format, c.format)
			}
			wantNoRemarks(t, s)
		})
	}
}

// Bits that do not fill their bytes lie at the top of the container: 12 valid
// bits in 16, 20 in 24 and 24 in 32 read like the full width.
func TestWAVContainerWiderThanBits(t *testing.T) {
	half16 := le16(0x4000, -0x4000)
	half32 := append(intBytes(1<<30, 4), intBytes(-1<<30, 4)...)
	for name, file := range map[string][]byte{
		"12 in 16":            riff(fmtChunk(tagPCM, 1, 48000, 12), chunk("data", half16)),
		"24 in 32 plain":      riff(fmtChunkAligned(tagPCM, 1, 48000, 24, 4), chunk("data", half32)),
		"24 in 32 extensible": riff(extensibleChunk(tagPCM, 1, 48000, 32, 24), chunk("data", half32)),
	} {
		t.Run(name, func(t *testing.T) {
			s := mustDecode(t, file)
			wantSamples(t, s.Samples, []float32{0.5, -0.5}, 0)
			wantNoRemarks(t, s)
		})
	}
}

// G.711 check values, computed from its tables by hand: the smallest and the
// largest magnitudes. A-law on its 13-bit scale goes from 1 to 4032 of 4096,
// mu-law on its 14-bit scale from 0 to 8031 of 8192.
func TestWAVTelephone(t *testing.T) {
	a := mustDecode(t, riff(fmtChunk(tagALaw, 1, 8000, 8), chunk("data", []byte{0xd5, 0x55, 0xaa, 0x2a})))
	wantSamples(t, a.Samples, []float32{1.0 / 4096, -1.0 / 4096, 4032.0 / 4096, -4032.0 / 4096}, 0)
	mu := mustDecode(t, riff(fmtChunk(tagMuLaw, 1, 8000, 8), chunk("data", []byte{0xff, 0x7f, 0x80, 0x00})))
	wantSamples(t, mu.Samples, []float32{0, 0, 8031.0 / 8192, -8031.0 / 8192}, 0)
	if a.Format != "WAV 8 bit A-law" || mu.Format != "WAV 8 bit mu-law" {
		t.Errorf("formats %q, %q", a.Format, mu.Format)
	}
}

func TestWAVChunkOrder(t *testing.T) {
	format := fmtChunk(tagPCM, 1, 48000, 16)
	data := chunk("data", le16(100, 200, 300))
	want := []float32{100.0 / 32768, 200.0 / 32768, 300.0 / 32768}
	for name, file := range map[string][]byte{
		"LIST before":       riff(chunk("LIST", []byte("INFOISFT\x04\x00\x00\x00abcd")), format, data),
		"odd junk before":   riff(format, chunk("junk", []byte("12345")), data),
		"LIST after":        riff(format, data, chunk("LIST", []byte("INFO"))),
		"data before fmt":   riff(data, format),
		"two data chunks":   riff(format, data, chunk("data", le16(9, 9))),
		"RIFF size is zero": withSize(t, riff(format, data), "RIFF", 0),
	} {
		t.Run(name, func(t *testing.T) {
			s := mustDecode(t, file)
			wantSamples(t, s.Samples, want, 0)
			wantNoRemarks(t, s)
		})
	}
}

// RF64 and BW64 (EBU Tech 3306): sizes of 0xFFFFFFFF, the true ones in ds64.
func TestWAV64(t *testing.T) {
	data := le16(16384, -16384)
	ds64 := binary.LittleEndian.AppendUint64(nil, 100)
	ds64 = binary.LittleEndian.AppendUint64(ds64, uint64(len(data)))
	ds64 = append(ds64, make([]byte, 12)...)
	file := riff(chunk("ds64", ds64), fmtChunk(tagPCM, 1, 48000, 16), chunk("data", data), chunk("LIST", []byte("INFO")))
	file = withSize(t, withSize(t, file, "RIFF", math.MaxUint32), "data", math.MaxUint32)
	for _, id := range []string{"RF64", "BW64"} {
		copy(file, id)
		s := mustDecode(t, file)
		wantSamples(t, s.Samples, []float32{0.5, -0.5}, 0)
		wantNoRemarks(t, s)
	}
}
