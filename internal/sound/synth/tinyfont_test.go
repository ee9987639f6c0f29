package synth

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"testing"

	"larkhand/internal/loop"
)

// tinyFont writes a SoundFont 2 file with the presets that the backing needs, all of them one looped sine of tinyHz on tinyRoot, by the layout of
// the SoundFont 2.04 specification.
func tinyFont(presets ...[2]uint16) []byte {
	wave := make([]int16, tinyPeriod*tinyPeriods+46) // the specification wants 46 zero samples after each recording
	for i := range tinyPeriod * tinyPeriods {
		wave[i] = int16(16000 * math.Sin(2*math.Pi*float64(i)/tinyPeriod))
	}
	info := list("INFO", chunkOf("ifil", uint16(2), uint16(4)), chunkOf("INAM", []byte("tiny\x00\x00")))
	samples := list("sdta", chunkOf("smpl", wave))
	return pack("RIFF", append([]byte("sfbk"), bytes.Join([][]byte{info, samples, tinyHydra(presets)}, nil)...))
}

const (
	tinyPeriod  = 100 // samples
	tinyPeriods = 40
	tinyRate    = 44100
	tinyRoot    = 69 // the key on which the recording sounds at its own rate
	tinyHz      = float64(tinyRate) / tinyPeriod
)

// completePresets are the ones that the backing needs.
var completePresets = [][2]uint16{{0, loop.BassProgram}, {0, loop.CompingProgram}, {128, 0}}

// tinyHydra writes the tables: each preset has one zone with the one instrument, which has one zone with the one recording.
func tinyHydra(presets [][2]uint16) []byte {
	const generatorInstrument, generatorSample, generatorLoop = 41, 53, 54
	var phdr, pbag, pgen []any
	for i, p := range presets {
		phdr = append(phdr, name20("preset"), p[1], p[0], uint16(i), uint32(0), uint32(0), uint32(0))
		pbag = append(pbag, uint16(i), uint16(0))
		pgen = append(pgen, uint16(generatorInstrument), uint16(0))
	}
	n := uint16(len(presets))
	phdr = append(phdr, name20("EOP"), uint16(0), uint16(0), n, uint32(0), uint32(0), uint32(0))
	pbag = append(pbag, n, uint16(0))
	pgen = append(pgen, uint32(0))
	end := uint32(tinyPeriod * tinyPeriods)
	return list("pdta",
		chunkOf("phdr", phdr...), chunkOf("pbag", pbag...), chunkOf("pmod", make([]byte, 10)), chunkOf("pgen", pgen...),
		chunkOf("inst", name20("sine"), uint16(0), name20("EOI"), uint16(1)),
		chunkOf("ibag", uint16(0), uint16(0), uint16(2), uint16(0)),
		chunkOf("imod", make([]byte, 10)),
		chunkOf("igen", uint16(generatorLoop), uint16(1), uint16(generatorSample), uint16(0), uint32(0)),
		chunkOf("shdr",
			name20("sine"), uint32(0), end, uint32(tinyPeriod*10), uint32(tinyPeriod*30), uint32(tinyRate), uint8(tinyRoot), int8(0), uint16(0), uint16(1),
			name20("EOS"), make([]byte, 26)),
	)
}

func name20(s string) []byte {
	return append([]byte(s), make([]byte, 20-len(s))...)
}

func chunkOf(name string, values ...any) []byte {
	var b bytes.Buffer
	for _, v := range values {
		if err := binary.Write(&b, binary.LittleEndian, v); err != nil {
			panic(err)
		}
	}
	return pack(name, b.Bytes())
}

func pack(name string, body []byte) []byte {
	return append(binary.LittleEndian.AppendUint32([]byte(name), uint32(len(body))), body...)
}

func list(name string, chunks ...[]byte) []byte {
	return pack("LIST", append([]byte(name), bytes.Join(chunks, nil)...))
}

// writeFont puts a font into a file.
func writeFont(t testing.TB, path string, font []byte) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, font, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func openTiny(t testing.TB, rate int) Synth {
	t.Helper()
	s, err := OpenFont(writeFont(t, filepath.Join(t.TempDir(), "tiny.sf2"), tinyFont(completePresets...)), rate)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
