package soundfile

import (
	"encoding/binary"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// wavOf is a 32-bit float WAV file of several channels.
func wavOf(rate int, channels ...[]float32) []byte {
	var data []byte
	for i := range channels[0] {
		for _, c := range channels {
			data = binary.LittleEndian.AppendUint32(data, math.Float32bits(c[i]))
		}
	}
	return riff(fmtChunk(tagFloat, len(channels), rate, 32), chunk("data", data))
}

// scaled is a copy, times a factor.
func scaled(x []float32, factor float64) []float32 {
	out := make([]float32, len(x))
	for i, v := range x {
		out[i] = float32(float64(v) * factor)
	}
	return out
}

// added is the sum of two.
func added(a, b []float32) []float32 {
	out := make([]float32, len(a))
	for i := range a {
		out[i] = a[i] + b[i]
	}
	return out
}

func TestMix(t *testing.T) {
	const rate, n = 48000, 9600
	a, b := tone(440, 0.4, rate, n), tone(660, 0.4, rate, n)
	dc := make([]float32, n)
	for i := range dc {
		dc[i] = 0.003
	}
	zero := make([]float32, n)
	db := func(x float64) float64 { return math.Pow(10, x/20) }
	for name, c := range map[string]struct {
		channels [][]float32
		want     []float32
		remark   string
	}{
		"mono":                        {[][]float32{a}, a, ""},
		"two the same":                {[][]float32{a, a}, a, ""},
		"two different":               {[][]float32{a, b}, scaled(added(a, b), 0.5), ""},
		"59 dB below":                 {[][]float32{a, scaled(b, db(-59))}, scaled(added(a, scaled(b, db(-59))), 0.5), ""},
		"61 dB below":                 {[][]float32{a, scaled(b, db(-61))}, a, "channel 2 is silent, so channel 1 was read alone"},
		"first silent":                {[][]float32{zero, a}, a, "channel 1 is silent, so channel 2 was read alone"},
		"silent but for an offset":    {[][]float32{dc, a}, a, "channel 1 is silent, so channel 2 was read alone"},
		"opposite in phase":           {[][]float32{a, scaled(a, -1)}, a, "the channels are opposite in phase and would cancel one another, so channel 1 was read alone"},
		"opposite, the second louder": {[][]float32{scaled(a, -0.8), a}, a, "the channels are opposite in phase and would cancel one another, so channel 2 was read alone"},
		"four, two silent":            {[][]float32{a, zero, b, zero}, scaled(added(a, b), 0.5), "2 of 4 channels are silent and were left out"},
		"all silent":                  {[][]float32{zero, zero}, zero, "silent from beginning to end"},
	} {
		t.Run(name, func(t *testing.T) {
			s := mustDecode(t, wavOf(rate, c.channels...))
			wantSamples(t, s.Samples, c.want, 1e-7)
			if s.Channels != len(c.channels) {
				t.Errorf("%d channels, want %d", s.Channels, len(c.channels))
			}
			if c.remark == "" {
				wantNoRemarks(t, s)
			} else {
				wantRemark(t, s, c.remark)
			}
		})
	}
}

func TestLevelRemarks(t *testing.T) {
	const rate, n = 48000, 48000
	sine := tone(440, 0.5, rate, n)
	clipped := scaled(sine, 4)
	for i, x := range clipped {
		clipped[i] = max(-1, min(1, x))
	}
	shifted := added(sine, scaled(make([]float32, n), 1))
	for i := range shifted {
		shifted[i] += 0.05
	}
	bad := scaled(sine, 1)
	bad[10], bad[11], bad[12] = float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1))
	for name, c := range map[string]struct {
		samples []float32
		remark  string
	}{
		// 440 periods with a top and a bottom each, cut off at half of it
		"clipped":              {clipped, "clipped at 880 places: the recording level was too high"},
		"offset":               {shifted, "has a constant offset (DC) of 5.0 % of full scale"},
		"beyond full scale":    {scaled(sine, 3), "its peaks go beyond full scale, up to 1.5 times"},
		"not finite":           {bad, "3 samples were no numbers (NaN or infinite) and were replaced by 0"},
		"full scale, not over": {scaled(sine, 2), ""},
		"silent":               {make([]float32, n), "silent from beginning to end"},
	} {
		t.Run(name, func(t *testing.T) {
			s := mustDecode(t, wavOf(rate, c.samples))
			if c.remark == "" {
				wantNoRemarks(t, s)
				return
			}
			wantRemark(t, s, c.remark)
			if len(s.Remarks) != 1 {
				t.Errorf("more than one remark: %q", s.Remarks)
			}
		})
	}
	s := mustDecode(t, wavOf(rate, bad))
	wantSamples(t, s.Samples[10:13], []float32{0, 0, 0}, 0)
	wantSamples(t, s.Samples[13:], sine[13:], 0)
}

// A full-scale sine of 16 bits touches full scale but is not clipped, from 60 Hz
// (the lowest sung tone) upwards.
func TestFullScaleSineIsNotClipped(t *testing.T) {
	for _, hz := range []float64{60, 110, 440, 1100} {
		codes := make([]int, 48000)
		for i := range codes {
			codes[i] = int(math.Round(32767 * math.Sin(2*math.Pi*hz*float64(i)/48000)))
		}
		wantNoRemarks(t, mustDecode(t, riff(fmtChunk(tagPCM, 1, 48000, 16), chunk("data", le16(codes...)))))
	}
}

// Blocks and cuts in any sizes give what one slice would.
func TestBlocksAndTrim(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		channels := rapid.IntRange(1, 3).Draw(t, "channels")
		rec, err := newRecording(input{maxValues: maxValues}, "test", 48000, channels)
		if err != nil {
			t.Fatal(err)
		}
		var want []float32
		for range rapid.IntRange(1, 5).Draw(t, "pieces") {
			n := rapid.IntRange(0, 40000).Draw(t, "frames") * channels
			dst, err := rec.space(n, 0)
			if err != nil {
				t.Fatal(err)
			}
			for i := range dst {
				dst[i] = float32(len(want))
				want = append(want, dst[i])
			}
		}
		front := rapid.IntRange(0, 100000).Draw(t, "front")
		back := rapid.IntRange(0, 100000).Draw(t, "back")
		rec.trim(front, back)
		want = want[min(front*channels, len(want)):]
		want = want[:len(want)-min(back*channels, len(want))]
		var got []float32
		for _, b := range rec.blocks {
			got = append(got, b...)
		}
		if len(got) != rec.values || !slices.Equal(got, want) {
			t.Fatalf("%d values in blocks, %d counted, want %d", len(got), rec.values, len(want))
		}
	})
}

func TestSpaceRefusesMore(t *testing.T) {
	rec, err := newRecording(input{maxValues: 100}, "test", 48000, 2)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := rec.space(100, 0); err != nil {
		t.Error(err)
	}
	_, err = rec.space(2, 0)
	if err == nil || !strings.HasSuffix(err.Error(), "that larkhand reads of a file with 2 channels at 48000 Hz: cut it into shorter files") {
		t.Errorf("error %v", err)
	}
}
