package soundfile

import (
	"bytes"
	"errors"
	"io"
	"testing"

	"github.com/jfreymuth/oggvorbis"
)

// snrDB is how far the difference from the wanted samples lies below them. Both
// must have the same length.
func snrDB(t testing.TB, got, want []float32) float64 {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d samples, want %d", len(got), len(want))
	}
	signal, noise := 0.0, 0.0
	for i := range want {
		d := float64(got[i]) - float64(want[i])
		signal += float64(want[i]) * float64(want[i])
		noise += d * d
	}
	return dB(signal / noise)
}

// The tone from its formula. Measured are 39.8 dB at the encoder's quality 2; a
// shift by one sample alone would leave 24 dB.
func TestVorbisTone(t *testing.T) {
	s := mustDecode(t, testFile(t, "tone.ogg"))
	if s.Rate != 44100 || s.Channels != 1 || s.Format != "Ogg Vorbis" {
		t.Errorf("got %d Hz, %d channels, %q", s.Rate, s.Channels, s.Format)
	}
	if snr := snrDB(t, s.Samples, tone(440, 0.5, 44100, 22050)); snr < 35 {
		t.Errorf("%.1f dB above the noise, want 35", snr)
	}
	wantNoRemarks(t, s)
}

// The whole reader of the same library, with its own Ogg layer, as a second opinion.
func TestVorbisLikeOggvorbis(t *testing.T) {
	for name, file := range map[string][]byte{
		"as encoded": testFile(t, "tone.ogg"),
		"repaged":    repaged(t, testFile(t, "tone.ogg")),
	} {
		want, _, err := oggvorbis.ReadAll(bytes.NewReader(file))
		if err != nil {
			t.Fatal(err)
		}
		t.Run(name, func(t *testing.T) {
			wantSamples(t, mustDecode(t, file).Samples, want, 0)
		})
	}
}

// moved shifts the position of every page that has sound.
func moved(t *testing.T, file []byte, by int64) []byte {
	t.Helper()
	ogg := &oggReader{r: bytes.NewReader(file)}
	var out []byte
	for i := 0; ; i++ {
		p, err := ogg.next()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		flags := byte(0)
		if p.last {
			flags = oggLast
		}
		if p.position > 0 {
			p.position = max(0, p.position+by)
		}
		out = append(out, oggPageOf(flags, p.position, p.data)...)
	}
}

// Vorbis I, appendix A.2: a first position smaller than what was decoded drops
// samples at the beginning; a larger one is a stream cut out of a longer one.
func TestVorbisPositions(t *testing.T) {
	file := repaged(t, testFile(t, "tone.ogg"))
	whole := mustDecode(t, file).Samples
	early := mustDecode(t, moved(t, file, -100))
	wantSamples(t, early.Samples, whole[100:], 0)
	late := mustDecode(t, moved(t, file, 1e6))
	wantSamples(t, late.Samples, whole, 0)
}

func TestVorbisSecondSound(t *testing.T) {
	file := testFile(t, "tone.ogg")
	s := mustDecode(t, append(bytes.Clone(file), file...))
	wantRemark(t, s, "a second sound follows in the file and was left out")
	wantSamples(t, s.Samples, mustDecode(t, file).Samples, 0)
}

// bitWriter builds a setup header.
type bitWriter struct {
	data []byte
	at   int
}

func (b *bitWriter) put(value uint64, n int) *bitWriter {
	for i := range n {
		if b.at%8 == 0 {
			b.data = append(b.data, 0)
		}
		b.data[b.at/8] |= byte(value>>i&1) << (b.at % 8)
		b.at++
	}
	return b
}

// setupWith is a setup header up to the end of its only codebook.
func setupWith(codebook func(*bitWriter)) []byte {
	b := &bitWriter{data: []byte("\x05vorbis"), at: 56}
	b.put(0, 8) // one codebook
	codebook(b)
	return b.data
}

// Headers that would cost the decoder its memory or its time are refused before
// it sees them.
func TestVorbisHostileHeaders(t *testing.T) {
	good := func(b *bitWriter) *bitWriter { // two entries of one dimension, no values
		return b.put(codebookMark, 24).put(1, 16).put(2, 24).put(0, 2).put(0, 5).put(0, 5).put(0, 4)
	}
	// one time-domain transform, one floor 1 with one class of one dimension
	rest := func(b *bitWriter) *bitWriter {
		return b.put(0, 6).put(0, 16).put(0, 6).put(1, 16).put(1, 5).put(0, 4).put(0, 3).put(0, 2).put(0, 8).put(0, 2).put(4, 4).put(3, 4)
	}
	residue := func(b *bitWriter, begin, end uint64) *bitWriter {
		return b.put(0, 6).put(1, 16).put(begin, 24).put(end, 24).put(15, 24).put(0, 6).put(0, 8).put(0, 3).put(0, 1)
	}
	for name, c := range map[string]struct {
		codebook func(*bitWriter)
		ok       bool
	}{
		"small and right":       {func(b *bitWriter) { residue(rest(good(b)), 0, 16) }, true},
		"residue ends before 0": {func(b *bitWriter) { residue(rest(good(b)), 16, 0) }, false},
		"cut":                   {func(b *bitWriter) { rest(good(b)) }, false},
		"floor 0":               {func(b *bitWriter) { good(b).put(0, 6).put(0, 16).put(0, 6).put(0, 16).put(0, 200) }, false},
		"another mark":          {func(b *bitWriter) { b.put(codebookMark+1, 24).put(1, 16).put(2, 24).put(0, 400) }, false},
		"16 million entries":    {func(b *bitWriter) { b.put(codebookMark, 24).put(65535, 16).put(1<<24-1, 24).put(1, 1).put(0, 400) }, false},
		"no entries":            {func(b *bitWriter) { b.put(codebookMark, 24).put(1, 16).put(0, 24).put(0, 400) }, false},
		"no dimensions":         {func(b *bitWriter) { b.put(codebookMark, 24).put(0, 16).put(2, 24).put(0, 400) }, false},
		"no used entry":         {func(b *bitWriter) { b.put(codebookMark, 24).put(1, 16).put(2, 24).put(2, 2).put(0, 400) }, false},
		"ordered, counts are 0": {func(b *bitWriter) { b.put(codebookMark, 24).put(1, 16).put(2, 24).put(1, 1).put(0, 400) }, false},
		"ordered, counts too big": {func(b *bitWriter) {
			b.put(codebookMark, 24).put(1, 16).put(2, 24).put(1, 1).put(0, 5).put(3, 2).put(0, 400)
		}, false},
	} {
		if err := checkVorbisSetup(setupWith(c.codebook)); (err == nil) != c.ok {
			t.Errorf("%s: error %v", name, err)
		}
	}
}

// rootOf against its definition, and against the standard's own meaning for
// powers: 8 values of 3 dimensions need 2 steps in each.
func TestRootOf(t *testing.T) {
	for _, c := range []struct{ entries, dimensions, want int }{
		{8, 3, 2}, {7, 3, 1}, {9, 3, 2}, {625, 4, 5}, {624, 4, 4}, {1, 1, 1}, {6561, 8, 3}, {65535, 1, 65535},
	} {
		if got := rootOf(c.entries, c.dimensions); got != c.want {
			t.Errorf("rootOf(%d, %d) is %d, want %d", c.entries, c.dimensions, got, c.want)
		}
	}
}

// The bounds on headers are far above what the encoder needs: 10,821 entries
// and 60,260 values were the most, over all rates and the qualities -1 to 10 of
// oggenc (vorbis-tools 1.4.2), measured November 2026.
func TestVorbisHeaderSizes(t *testing.T) {
	const mostEntries, mostValues = 10821, 60260
	if maxBookEntries < 4*mostEntries || maxBookValues < 4*mostValues {
		t.Error("the bounds leave less than four times what real files need")
	}
	headers := &oggReader{r: bytes.NewReader(testFile(t, "tone.ogg"))}
	var p oggPacket
	for range 3 {
		var err error
		if p, err = headers.next(); err != nil {
			t.Fatal(err)
		}
	}
	if err := checkVorbisSetup(p.data); err != nil {
		t.Error(err)
	}
	if err := checkVorbisSetup(p.data[:len(p.data)/2]); err == nil {
		t.Error("half a header passes")
	}
}
