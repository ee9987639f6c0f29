package midiin

import (
	"bytes"
	"math"
	"testing"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"
)

// TestReadsWhatGomidiWrites: random valid files of gomidi's writer (gitlab.com/gomidi/midi/v2/smf v2.3.18) give the same
// messages as gomidi's reader, and the same times within its rounding: it cuts to whole microseconds once for each tempo
// mark before a message (at most 8 here) and once for the message, so at most 9 us, and 1 for the rounding here.
func TestReadsWhatGomidiWrites(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		data := randomFile(t)
		want := gomidiReads(t, data)
		f, err := Parse(data)
		if err != nil || len(f.Remarks) > 0 {
			t.Fatalf("error %v, remarks %q", err, f.Remarks)
		}
		got := map[string][]int64{}
		for _, e := range f.Events {
			key := string(e.Append(nil))
			got[key] = append(got[key], int64(math.Round(e.Time*1e6)))
		}
		total := 0
		for key, times := range want {
			total += len(times)
			if len(got[key]) != len(times) {
				t.Fatalf("message % X: %d times, want %d", key, len(got[key]), len(times))
			}
			for i, micros := range times {
				if diff := got[key][i] - micros; diff < -10 || diff > 10 {
					t.Fatalf("message % X: at %d us, gomidi says %d", key, got[key][i], micros)
				}
			}
		}
		if total != len(f.Events) {
			t.Fatalf("%d events, want %d", len(f.Events), total)
		}
		for i := 1; i < len(f.Events); i++ {
			if f.Events[i].Time < f.Events[i-1].Time {
				t.Fatalf("event %d goes back in time", i)
			}
		}
	})
}

// randomFile writes 1 to 4 tracks with tempo marks in any of them. Each message is told from all others by its bytes, so
// that times can be compared whatever the order of messages in a tick.
func randomFile(t *rapid.T) []byte {
	var s *smf.SMF
	tracks := rapid.IntRange(1, 4).Draw(t, "tracks")
	if tracks == 1 {
		s = smf.New()
	} else {
		s = smf.NewSMF1()
	}
	s.TimeFormat = smf.MetricTicks(rapid.SampledFrom([]uint16{24, 96, 480, 960, 15360}).Draw(t, "division"))
	s.NoRunningStatus = rapid.Bool().Draw(t, "no running status")
	tempi, serial := 0, 0
	for range tracks {
		var track smf.Track
		for range rapid.IntRange(0, 30).Draw(t, "events") {
			delta := rapid.SampledFrom([]uint32{0, 0, 1, 100, 480, 20000}).Draw(t, "delta")
			kind := rapid.IntRange(0, 7).Draw(t, "kind")
			if kind == 0 && tempi < 8 {
				tempi++
				track.Add(delta, smf.MetaTempo(rapid.Float64Range(20, 300).Draw(t, "tempo")))
				continue
			}
			serial++
			track.Add(delta, randomWritten(kind, uint8(serial&0x7F), uint8(serial>>7)))
		}
		track.Close(rapid.SampledFrom([]uint32{0, 7}).Draw(t, "rest"))
		if err := s.Add(track); err != nil {
			t.Fatalf("add: %v", err)
		}
	}
	var b bytes.Buffer
	if _, err := s.WriteTo(&b); err != nil {
		t.Fatalf("write: %v", err)
	}
	return b.Bytes()
}

func randomWritten(kind int, serial, channel uint8) []byte {
	switch kind {
	case 1:
		return midi.NoteOn(channel, serial, 1)
	case 2:
		return midi.NoteOff(channel, serial)
	case 3:
		return midi.ControlChange(channel, serial, 64)
	case 4:
		return midi.ProgramChange(channel, serial)
	case 5:
		return midi.AfterTouch(channel, serial)
	case 6:
		return midi.SysEx([]byte{serial, channel})
	default:
		return smf.MetaText("text")
	}
}

// gomidiReads gives the times in microseconds of every channel message.
func gomidiReads(t *rapid.T, data []byte) map[string][]int64 {
	times := map[string][]int64{}
	reader := smf.ReadTracksFrom(bytes.NewReader(data)).Do(func(e smf.TrackEvent) {
		if b := e.Message.Bytes(); len(b) > 0 && b[0] >= 0x80 && b[0] < 0xF0 {
			times[string(b)] = append(times[string(b)], e.AbsMicroSeconds)
		}
	})
	if err := reader.Error(); err != nil {
		t.Fatalf("gomidi cannot read its own file: %v", err)
	}
	return times
}
