package soundfile

import (
	"bytes"
	"encoding/binary"
	"math"
	"strings"
	"testing"
)

// A faultless file of one second, and what can be done to it. Each row names a
// part of the sentence that a player is told.
func TestWAVDamagedButRead(t *testing.T) {
	const rate = 8000
	samples := tone(440, 0.5, rate, 2*rate)
	whole := encoded(t, func(b *bytes.Buffer) error { return EncodeWAV(b, samples, rate) })
	const header = 44 // bytes before the first sample
	for name, c := range map[string]struct {
		file   []byte
		frames int    // -1: all, after some silence
		remark string // "" for none
	}{
		"whole":                        {whole, 2 * rate, ""},
		"cut in the middle":            {whole[:header+2*rate], rate, "cut short: 1.0 s of 2.0 s could be read"},
		"cut inside a sample":          {whole[:header+2*rate+1], rate, "cut short: 1.0 s of 2.0 s could be read"},
		"cut after 12 ms":              {whole[:header+192], 96, "cut short: 0.012 s of 2.0 s could be read"},
		"killed recorder, sizes 0":     {withSize(t, withSize(t, whole, "RIFF", 0), "data", 0), 2 * rate, "the header's length is wrong"},
		"streamed, sizes 0xFFFFFFFF":   {withSize(t, withSize(t, whole, "RIFF", math.MaxUint32), "data", math.MaxUint32), 2 * rate, "the header's length is wrong"},
		"streamed, 0x7FFFF000":         {withSize(t, whole, "data", 0x7ffff000), 2 * rate, "the header's length is wrong"},
		"length half a second short":   {withSize(t, whole, "data", 3*rate), 3 * rate / 2, ""},
		"junk after the sound":         {append(bytes.Clone(whole), 1, 2, 3), 2 * rate, ""},
		"last chunk header cut":        {append(bytes.Clone(whole), "LIS"...), 2 * rate, ""},
		"frame length 0":               {withFmt(whole, 12, 0), 2 * rate, "the header's frame length of 0 bytes is wrong and was taken as 2"},
		"frame length 7":               {withFmt(whole, 12, 7), 2 * rate, "the header's frame length of 7 bytes is wrong and was taken as 2"},
		"bytes a second 0 (not used)":  {withFmt(whole, 8, 0), 2 * rate, ""},
		"killed, silence at first":     {withSize(t, riff(fmtChunk(tagPCM, 1, rate, 16), chunk("data", make([]byte, 32)), whole[44:]), "data", 0), -1, "the header's length is wrong"},
		"format chunk of 18 bytes":     {riff(chunk("fmt ", append(fmtChunk(tagPCM, 1, rate, 16)[8:], 0, 0)), whole[36:]), 2 * rate, ""},
		"RF64 without a ds64 chunk":    {append([]byte("RF64"), withSize(t, whole, "data", math.MaxUint32)[4:]...), 2 * rate, "the header's length is wrong"},
		"ID3 tag before the RIFF file": {append([]byte("ID3\x04\x00\x00\x00\x00\x00\x03abc"), whole...), 2 * rate, ""},
	} {
		t.Run(name, func(t *testing.T) {
			s := mustDecode(t, c.file)
			want := samples
			if c.frames < 0 { // 16 silent frames come first
				want = append(make([]float32, 16), samples...)
			} else {
				want = want[:c.frames]
			}
			wantSamples(t, s.Samples, want, 0.5/32768)
			if c.remark == "" {
				wantNoRemarks(t, s)
			} else {
				wantRemark(t, s, c.remark)
			}
		})
	}
}

// withFmt overwrites a 16-bit field of the fmt chunk of a file that EncodeWAV made.
func withFmt(file []byte, at int, value uint16) []byte {
	out := bytes.Clone(file)
	binary.LittleEndian.PutUint16(out[20+at:], value)
	return out
}

// Files that cannot be read, each with its sentence.
func TestErrors(t *testing.T) {
	format := fmtChunk(tagPCM, 1, 48000, 16)
	data := chunk("data", le16(1, 2, 3, 4))
	opus := oggPage([]byte("OpusHead\x01\x01"))
	for name, c := range map[string]struct {
		file []byte
		want string
	}{
		"empty":           {nil, "take is empty: record it again, or copy it again if it came from another device"},
		"text":            {[]byte("Cm7 | Fm7 | G7b9 | Cm7\n"), "take is not a sound file: larkhand reads WAV, FLAC, Ogg Vorbis and MP3"},
		"word WAVE":       {[]byte("A text. WAVE is a word in it."), "take is not a sound file: larkhand reads WAV, FLAC, Ogg Vorbis and MP3"},
		"one byte":        {[]byte("R"), "take is not a sound file: larkhand reads WAV, FLAC, Ogg Vorbis and MP3"},
		"UTF-16 text":     {[]byte("\xff\xfeT\x00a\x00k\x00e\x00 \x001\x00"), "take is not a sound file: larkhand reads WAV, FLAC, Ogg Vorbis and MP3"},
		"MIDI":            {[]byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60"), "take is a MIDI file, not a sound: give a recording as WAV, FLAC, Ogg Vorbis or MP3"},
		"MIDI in RIFF":    {[]byte("RIFF\x00\x00\x00\x00RMIDdata"), "take is a MIDI file, not a sound: give a recording as WAV, FLAC, Ogg Vorbis or MP3"},
		"Opus":            {opus, "take is Opus in Ogg, which larkhand does not read: convert it to WAV or FLAC"},
		"Ogg, other":      {oggPage([]byte("\x80theora")), "take is an Ogg file without Vorbis sound at its start: convert it to WAV or FLAC"},
		"M4A":             {[]byte("\x00\x00\x00\x20ftypM4A \x00\x00\x00\x00"), "take is an M4A or MP4 file (AAC or Apple Lossless), which larkhand does not read: convert it to WAV or FLAC"},
		"AAC":             {[]byte("\xff\xf1\x50\x80\x02\x1f\xfc"), "take is an AAC file, which larkhand does not read: convert it to WAV or FLAC"},
		"AIFF":            {[]byte("FORM\x00\x00\x00\x20AIFFCOMM"), "take is an AIFF file, which larkhand does not read: convert it to WAV or FLAC"},
		"RIFX":            {[]byte("RIFX\x00\x00\x00\x20WAVEfmt "), "take is a big-endian WAV file (RIFX), which larkhand does not read: convert it to ordinary WAV"},
		"MP3, 2.5":        {bytes.Repeat(mpegFrame(0, 3, 8, 0), 3), "take is an MP3 file at 11025 Hz, below the 16000 Hz that larkhand reads in MP3: convert it to WAV or FLAC"},
		"MPEG layer 2":    {bytes.Repeat(mpegFrame(3, 2, 8, 0), 3), "take is an MPEG layer 2 file, which larkhand does not read: convert it to WAV or FLAC"},
		"MP3 too garbled": {testFile(t, "tone-22050.mp3"), "take is an MP3 file at 22050 Hz and 80 kbit/s, which larkhand cannot decode rightly: convert it to WAV or FLAC"},

		"only RIFF":          {riff(), "take is a WAV file without sound: nothing of use follows its header, so record or copy it again"},
		"no data chunk":      {riff(format), "take is a WAV file without sound: it has no data chunk, so record or copy it again"},
		"no fmt chunk":       {riff(data), "take is a WAV file without a format (fmt) chunk, so its sound cannot be read: save it again as WAV"},
		"fmt chunk cut":      {riff(chunk("fmt ", make([]byte, 8)), data), "take is a WAV file whose format (fmt) chunk is cut short: save it again as WAV"},
		"data empty":         {riff(format, chunk("data", nil)), "take holds no sound: record it again"},
		"data empty, LIST":   {riff(format, chunk("data", nil), chunk("LIST", []byte("INFO"))), "take holds no sound: record it again"},
		"2 GB in 44 bytes":   {withSize(t, riff(format, chunk("data", nil)), "data", 0x7fffffff), "take is cut short and holds no sound: its header promises 2147483647 bytes of sound and the file has 0, so record or copy it again"},
		"2 GB junk chunk":    {withSize(t, riff(chunk("junk", nil), format, data), "junk", 0x7fffffff), "take is a WAV file without sound: nothing of use follows its header, so record or copy it again"},
		"empty chunks":       {riff(bytes.Repeat(chunk("junk", nil), 5000), format, data), "take is a WAV file without sound: nothing of use follows its header, so record or copy it again"},
		"0 channels":         {riff(fmtChunk(tagPCM, 0, 48000, 16), data), "take says that it has 0 channels: larkhand reads 1 to 32, so save it again as a mono or stereo file"},
		"65535 channels":     {riff(fmtChunkAligned(tagPCM, 65535, 48000, 16, 2), data), "take says that it has 65535 channels: larkhand reads 1 to 32, so save it again as a mono or stereo file"},
		"rate 0":             {riff(fmtChunk(tagPCM, 1, 0, 16), data), "take says that its sampling rate is 0 Hz: larkhand reads 8000 to 192000 Hz, so save it again at 44100 or 48000 Hz"},
		"rate 384000":        {riff(fmtChunk(tagPCM, 1, 384000, 16), data), "take says that its sampling rate is 384000 Hz: larkhand reads 8000 to 192000 Hz, so save it again at 44100 or 48000 Hz"},
		"0 bits":             {riff(fmtChunkAligned(tagPCM, 1, 48000, 0, 0), data), "take is a WAV file with 0 bits a sample: larkhand reads 8, 16, 24 and 32 bits, so save it as 16-bit or 24-bit PCM WAV"},
		"64-bit whole codes": {riff(fmtChunk(tagPCM, 1, 48000, 64), data), "take is a WAV file with 64 bits a sample: larkhand reads 8, 16, 24 and 32 bits, so save it as 16-bit or 24-bit PCM WAV"},
		"16-bit float":       {riff(fmtChunk(tagFloat, 1, 48000, 16), data), "take is a WAV file with floating-point samples of 16 bits: larkhand reads 32 and 64 bits, so save it as 32-bit float WAV"},
		"ADPCM":              {riff(fmtChunk(0x11, 1, 48000, 4), data), "take is a WAV file whose sound is coded in IMA ADPCM, which larkhand does not read: save it as 16-bit or 24-bit PCM WAV"},
		"unknown coding":     {riff(fmtChunk(0x1234, 1, 48000, 16), data), "take is a WAV file whose sound is coded in WAVE format 4660, which larkhand does not read: save it as 16-bit or 24-bit PCM WAV"},
		"extensible, cut":    {riff(fmtChunk(tagExtensible, 1, 48000, 16), data), "take is a WAV file in an extended format that larkhand does not know: save it as 16-bit or 24-bit PCM WAV"},

		"FLAC mark only":   {[]byte("fLaC"), "take is a FLAC file whose header is damaged, so it cannot be read: copy or record it again"},
		"FLAC header only": {flacOf(t, tone(440, 0.5, 48000, 100), 48000)[:42], "take is damaged or cut short and holds no sound that can be read: record or copy it again"},
		"Vorbis mark only": {oggPage([]byte("\x01vorbis")), "take is an Ogg Vorbis file whose header is damaged, so it cannot be read: copy or record it again"},
		"Vorbis, headers":  {testFile(t, "tone.ogg")[:2000], "take is an Ogg Vorbis file whose header is damaged, so it cannot be read: copy or record it again"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Decode("take", bytes.NewReader(c.file))
			if err == nil {
				t.Fatal("no error")
			}
			if err.Error() != c.want {
				t.Errorf("got:  %s\nwant: %s", err, c.want)
			}
		})
	}
}

// oggPage is a page with one packet, first and last of its stream.
func oggPage(packet []byte) []byte {
	return oggPageOf(oggLast, 0, packet)
}

// oggPageOf is a page with whole packets.
func oggPageOf(flags byte, position int64, packets ...[]byte) []byte {
	var segments []byte
	for _, p := range packets {
		segments = append(segments, bytes.Repeat([]byte{255}, len(p)/255)...)
		segments = append(segments, byte(len(p)%255))
	}
	b := append([]byte("OggS\x00"), flags)
	b = binary.LittleEndian.AppendUint64(b, uint64(position))
	b = append(b, make([]byte, 12)...) // serial, sequence, checksum
	b = append(append(b, byte(len(segments))), segments...)
	return mendOggChecksums(append(b, bytes.Join(packets, nil)...))
}

// repaged is an Ogg Vorbis file with a page for every packet, so that there are
// places between pages where it can be cut.
func repaged(t testing.TB, file []byte) []byte {
	t.Helper()
	var out []byte
	decoder, err := openVorbis(&oggReader{r: bytes.NewReader(file)})
	if err != nil {
		t.Fatal(err)
	}
	ogg := &oggReader{r: bytes.NewReader(file)}
	position := int64(0)
	for i := 0; ; i++ {
		p, err := ogg.next()
		if err != nil {
			return out
		}
		if i >= 3 { // three headers come first
			samples, err := decoder.Decode(p.data)
			if err != nil {
				t.Fatal(err)
			}
			position += int64(len(samples) / decoder.Channels())
		}
		if p.last {
			out = append(out, oggPageOf(oggLast, p.position, p.data)...)
		} else {
			out = append(out, oggPageOf(0, position, p.data)...)
		}
	}
}

// mendOggChecksums puts the right checksum into every whole page.
func mendOggChecksums(file []byte) []byte {
	out := bytes.Clone(file)
	for at := 0; at+oggHeaderBytes <= len(out); {
		if string(out[at:at+4]) != "OggS" {
			at++
			continue
		}
		length := oggHeaderBytes + int(out[at+26])
		if at+length > len(out) {
			break
		}
		for _, s := range out[at+oggHeaderBytes : at+length] {
			length += int(s)
		}
		if at+length > len(out) {
			break
		}
		clear(out[at+22 : at+26])
		binary.LittleEndian.PutUint32(out[at+22:], oggChecksum(0, out[at:at+length]))
		at += length
	}
	return out
}

// mpegFrame is an empty frame: version bits (3, 2 or 0), layer, bit-rate and
// rate index; stereo, without a checksum.
func mpegFrame(version, layer, bitrate, rate uint32) []byte {
	word := 0x7ff<<21 | version<<19 | (4-layer)<<17 | 1<<16 | bitrate<<12 | rate<<10
	head := binary.BigEndian.AppendUint32(nil, word)
	h, _ := parseMPEG(head)
	return append(head, make([]byte, h.bytes()-mpegHeaderBytes)...)
}

// A FLAC, Vorbis or MP3 file cut anywhere gives what lies before the cut, or a
// sentence; with a remark as soon as sound is missing.
func TestCompressedCutShort(t *testing.T) {
	for name, file := range map[string][]byte{
		"FLAC":   flacOf(t, tone(440, 0.5, 44100, 22050), 44100),
		"Vorbis": repaged(t, testFile(t, "tone.ogg")),
		"MP3":    testFile(t, "tone.mp3"),
	} {
		t.Run(name, func(t *testing.T) {
			whole := mustDecode(t, file)
			heard := 0
			for cut := 1; cut < len(file); cut += 37 {
				s, err := Decode("take", bytes.NewReader(file[:len(file)-cut]))
				if err != nil {
					continue
				}
				heard++
				if len(s.Samples) > len(whole.Samples) {
					t.Fatalf("%d bytes cut: %d samples of %d", cut, len(s.Samples), len(whole.Samples))
				}
				if len(s.Samples) < len(whole.Samples) && !strings.Contains(strings.Join(s.Remarks, "\n"), "cut short") {
					t.Fatalf("%d bytes cut, %d of %d samples, and only these remarks: %q", cut, len(s.Samples), len(whole.Samples), s.Remarks)
				}
				wantSamples(t, s.Samples, whole.Samples[:len(s.Samples)], 1e-6)
			}
			if heard < 5 {
				t.Errorf("only %d of the cut files could be read", heard)
			}
		})
	}
}

// One wrong byte at three quarters: the sound before it is read, with a remark.
func TestCompressedDamaged(t *testing.T) {
	for name, file := range map[string][]byte{
		"FLAC":   flacOf(t, tone(440, 0.5, 44100, 22050), 44100),
		"Vorbis": repaged(t, testFile(t, "tone.ogg")),
	} {
		t.Run(name, func(t *testing.T) {
			whole := mustDecode(t, file)
			bad := bytes.Clone(file)
			bad[len(bad)*3/4] ^= 0x10
			s, err := Decode("take", bytes.NewReader(bad))
			if err != nil {
				t.Fatal(err)
			}
			if len(s.Samples) >= len(whole.Samples) {
				t.Errorf("%d samples of %d in spite of the damage", len(s.Samples), len(whole.Samples))
			}
			wantRemark(t, s, "damaged: ")
			wantSamples(t, s.Samples, whole.Samples[:len(s.Samples)], 1e-6)
		})
	}
}

// A file longer than the limit is refused before its samples are in memory.
func TestTooLong(t *testing.T) {
	samples := tone(440, 0.5, 8000, 8000)
	for name, file := range map[string][]byte{
		"WAV":    encoded(t, func(b *bytes.Buffer) error { return EncodeWAV(b, samples, 8000) }),
		"FLAC":   flacOf(t, samples, 8000),
		"Vorbis": testFile(t, "tone.ogg"),
		"MP3":    testFile(t, "tone.mp3"),
	} {
		_, err := decode("take", bytes.NewReader(file), 4000)
		if err == nil || !strings.Contains(err.Error(), "minutes that larkhand reads of a mono file at") {
			t.Errorf("%s: error %v", name, err)
		}
	}
}
