package midiin

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// at is a message at its time, for tables.
type at struct {
	t   float64
	msg []byte
}

// Short names for messages on channel 1.
func on(t float64, key, velocity byte) at { return at{t, []byte{0x90, key, velocity}} }
func off(t float64, key byte) at          { return at{t, []byte{0x80, key, 64}} }
func cc(t float64, number, value byte) at { return at{t, []byte{0xB0, number, value}} }
func (a at) on1(channel byte) at {
	return at{a.t, append([]byte{a.msg[0]&0xF0 | (channel - 1)}, a.msg[1:]...)}
}
func bend(t float64, lsb, msb byte) at { return at{t, []byte{0xE0, lsb, msb}} }
func play(r *Reader, messages ...at) {
	for _, m := range messages {
		r.Message(m.t, m.msg)
	}
}

// note is a played note of velocity 64 on channel 1 without bend.
func note(key int, onset, released, offset float64) Note {
	return Note{Onset: onset, Released: released, Offset: offset, Key: key, Pitch: float64(key), Velocity: 64}
}

func TestMessagesToNotes(t *testing.T) {
	for _, c := range []struct {
		name     string
		messages []at
		want     []Note
	}{
		{"nothing", nil, nil},
		{"on and off", []at{on(1, 60, 64), off(2, 60)}, []Note{note(60, 1, 2, 2)}},
		{"velocity 0 closes", []at{on(1, 60, 64), on(2, 60, 0)}, []Note{note(60, 1, 2, 2)}},
		{"struck again without off", []at{on(1, 60, 64), on(2, 60, 64), off(3, 60), off(4, 60)}, []Note{note(60, 1, 2, 2), note(60, 2, 3, 3)}},
		{"off before on at one time", []at{on(1, 60, 64), off(2, 60), on(2, 60, 64), off(3, 60)}, []Note{note(60, 1, 2, 2), note(60, 2, 3, 3)}},
		{"on before off at one time", []at{on(1, 60, 64), on(2, 60, 64), off(2, 60), off(3, 60)}, []Note{note(60, 1, 2, 2), note(60, 2, 3, 3)}},
		{"on before two offs at one time", []at{on(1, 60, 64), on(2, 60, 64), off(2, 60), off(2, 60), off(3, 60)}, []Note{note(60, 1, 2, 2), note(60, 2, 2, 2)}},
		{"on and off at one time, key up before", []at{on(1, 60, 64), off(1, 60), off(2, 60)}, []Note{note(60, 1, 1, 1)}},
		{"off without on", []at{off(1, 60), on(2, 62, 64), off(3, 62)}, []Note{note(62, 2, 3, 3)}},
		{"channels are apart", []at{on(1, 60, 64), off(2, 60).on1(2), off(3, 60)}, []Note{note(60, 1, 3, 3)}},
		{"sustain", []at{on(1, 60, 64), cc(1.5, 64, 127), off(2, 60), cc(3, 64, 0)}, []Note{note(60, 1, 2, 3)}},
		{"half pedal 64 holds", []at{on(1, 60, 64), cc(1.5, 64, 64), off(2, 60), cc(3, 64, 0)}, []Note{note(60, 1, 2, 3)}},
		{"half pedal 63 does not", []at{on(1, 60, 64), cc(1.5, 64, 63), off(2, 60), cc(3, 64, 0)}, []Note{note(60, 1, 2, 2)}},
		{"half pedal lets go at 63", []at{on(1, 60, 64), cc(1.5, 64, 90), off(2, 60), cc(3, 64, 70), cc(4, 64, 63)}, []Note{note(60, 1, 2, 4)}},
		{"pedal up with the key down", []at{cc(0, 64, 127), on(1, 60, 64), cc(2, 64, 0), off(3, 60)}, []Note{note(60, 1, 3, 3)}},
		{"struck again under the pedal", []at{cc(0, 64, 127), on(1, 60, 64), off(2, 60), on(3, 60, 64), off(4, 60), cc(5, 64, 0)}, []Note{note(60, 1, 2, 3), note(60, 3, 4, 5)}},
		{"sostenuto holds what was down", []at{on(1, 60, 64), cc(2, 66, 127), on(3, 64, 64), off(4, 60), off(4, 64), cc(5, 66, 0)}, []Note{note(60, 1, 4, 5), note(64, 3, 4, 4)}},
		{"sostenuto pressed on does not catch more", []at{on(1, 60, 64), cc(2, 66, 127), on(3, 64, 64), cc(3, 66, 127), off(4, 64), off(4, 60), cc(5, 66, 0)}, []Note{note(60, 1, 4, 5), note(64, 3, 4, 4)}},
		{"sostenuto within sustain", []at{on(1, 60, 64), cc(1, 66, 127), cc(1, 64, 127), off(2, 60), cc(3, 66, 0), cc(4, 64, 0)}, []Note{note(60, 1, 2, 4)}},
		{"all notes off", []at{on(1, 60, 64), cc(2, 123, 0), off(3, 60)}, []Note{note(60, 1, 2, 2)}},
		{"all notes off under the pedal", []at{cc(0, 64, 127), on(1, 60, 64), cc(2, 123, 0), cc(3, 64, 0)}, []Note{note(60, 1, 2, 3)}},
		{"all sound off under the pedal", []at{cc(0, 64, 127), on(1, 60, 64), off(1.5, 60), on(1.7, 62, 64), cc(2, 120, 0), cc(3, 64, 0)}, []Note{note(60, 1, 1.5, 2), note(62, 1.7, 2, 2)}},
		{"reset all controllers lifts the pedals", []at{cc(0, 64, 127), on(1, 60, 64), off(2, 60), cc(3, 121, 0), cc(4, 64, 0)}, []Note{note(60, 1, 2, 3)}},
		{"mode 4: one note a string", []at{cc(0, 126, 2), on(1, 60, 64), on(2, 62, 64), off(2.1, 60), off(3, 62)}, []Note{note(60, 1, 2, 2), note(62, 2, 3, 3)}},
		{"poly again", []at{cc(0, 126, 2), cc(0, 127, 0), on(1, 60, 64), on(2, 62, 64), off(2.5, 60), off(3, 62)}, []Note{note(60, 1, 2.5, 2.5), note(62, 2, 3, 3)}},
		{"the end closes", []at{on(1, 60, 64)}, []Note{note(60, 1, 9, 9)}},
		{"the end closes under the pedal", []at{cc(0, 64, 127), on(1, 60, 64), off(2, 60)}, []Note{note(60, 1, 2, 9)}},
		{"time going back", []at{on(2, 60, 64), off(1, 60)}, []Note{note(60, 2, 2, 2)}},
		{"time that is no number", []at{on(2, 60, 64), off(math.NaN(), 60), on(math.Inf(1), 62, 64), off(3, 62)}, []Note{note(60, 2, 2, 2), note(62, 2, 3, 3)}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := NewReader(Options{})
			play(r, c.messages...)
			got := r.Finish(9)
			if len(got) == 0 && len(c.want) == 0 {
				return
			}
			if d := cmp.Diff(c.want, got); d != "" {
				t.Error(d)
			}
		})
	}
}

// TestOtherMessagesAreIgnored: nothing but a complete channel message does anything to a note that sounds.
func TestOtherMessagesAreIgnored(t *testing.T) {
	r := NewReader(Options{})
	play(r, on(1, 60, 64))
	for _, msg := range [][]byte{
		nil, {}, {0x80}, {0x80, 60}, {0x80, 60, 64, 0}, {60, 64}, {0x80, 0xBC, 64}, {0x80, 60, 0xFF}, {0xC0, 1, 2},
		{0xF0, 1, 2, 0xF7}, {0xF8}, {0xFE}, {0xFF}, {0xF2, 1, 2}, {0xFF, 0x2F, 0}, {0xC0, 60}, {0xD0, 60}, {0xA0, 60, 0},
	} {
		r.Message(2, msg)
	}
	if d := cmp.Diff([]Note{note(60, 1, 3, 3)}, r.Notes(3)); d != "" {
		t.Error(d)
	}
}

// TestNotesWhileSounding: the running list ends sounding notes at now and leaves the Reader as it was.
func TestNotesWhileSounding(t *testing.T) {
	r := NewReader(Options{})
	play(r, cc(0, 64, 127), on(1, 60, 64), off(1.5, 60), on(2, 64, 64))
	if d := cmp.Diff([]Note{note(60, 1, 1.5, 3), note(64, 2, 3, 3)}, r.Notes(3)); d != "" {
		t.Error(d)
	}
	play(r, off(4, 64), cc(5, 64, 0))
	if d := cmp.Diff([]Note{note(60, 1, 1.5, 5), note(64, 2, 4, 5)}, r.Finish(6)); d != "" {
		t.Error(d)
	}
	if got := r.Remarks(); got != nil {
		t.Errorf("remarks %q, want none", got)
	}
}

func TestUnclosedNotesAreRemarked(t *testing.T) {
	f := mustParse(t, smfBytes(0, 96, fromHex(t, "00 90 3C 40 00 40 40 60 40 00 60 FF 2F 00")))
	notes, remarks := Notes(f, Options{})
	if len(notes) != 2 || notes[0].Offset != 1 || notes[1].Offset != .5 {
		t.Errorf("notes %+v, want ends 1 and 0.5 s", notes)
	}
	if len(remarks) != 1 || !strings.HasPrefix(remarks[0], "1 note was never released") {
		t.Errorf("remarks %q", remarks)
	}
}

// TestMessageAllocatesNothing: but for the growth of the list of notes, which has room for 256 at first.
func TestMessageAllocatesNothing(t *testing.T) {
	r := NewReader(Options{})
	now := 0.0
	send := func(msg ...byte) {
		now += .001
		r.Message(now, msg)
	}
	var value byte
	one := func() {
		send(0xB0, 64, 127)
		send(0x90, 60, 64)
		for range 40 {
			value = (value + 11) & 0x7F
			send(0xE0, value, value)
		}
		send(0x80, 60, 64)
		send(0xB0, 64, 0)
		send(0xF8)
	}
	if got := testing.AllocsPerRun(200, one); got != 0 {
		t.Errorf("%v allocations a note, want 0", got)
	}
}

// TestRandomMessages: whatever comes, notes are in order, end after they begin, never overlap on one key of one channel,
// and looking at them, be it ahead of messages that are still on their way, changes nothing.
func TestRandomMessages(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		watched, alone := NewReader(Options{}), NewReader(Options{})
		now := 0.0
		for range rapid.IntRange(0, 80).Draw(t, "messages") {
			now += rapid.SampledFrom([]float64{0, 0, .01, .3}).Draw(t, "later")
			msg := randomMessage(t)
			watched.Message(now, msg)
			alone.Message(now, msg)
			checkNotes(t, watched.Notes(now+rapid.SampledFrom([]float64{-1, 0, .02, 5}).Draw(t, "looked at")))
		}
		got := alone.Finish(now + 1)
		checkNotes(t, got)
		if d := cmp.Diff(got, watched.Finish(now+1)); d != "" {
			t.Fatalf("looking at the notes changed them: %s", d)
		}
	})
}

func randomMessage(t *rapid.T) []byte {
	channel := rapid.SampledFrom([]byte{0, 1, 14, 15}).Draw(t, "channel")
	switch kind := rapid.SampledFrom([]byte{0x80, 0x90, 0x90, 0xB0, 0xE0}).Draw(t, "kind"); kind {
	case 0xB0:
		number := rapid.SampledFrom([]byte{6, 6, 38, 64, 66, 96, 97, 98, 100, 101, 120, 121, 123, 126, 127}).Draw(t, "controller")
		return []byte{kind | channel, number, rapid.SampledFrom([]byte{0, 1, 6, 14, 64, 127}).Draw(t, "value")}
	case 0xE0:
		return []byte{kind | channel, rapid.Byte().Draw(t, "lsb") & 0x7F, rapid.Byte().Draw(t, "msb") & 0x7F}
	default:
		return []byte{kind | channel, rapid.ByteRange(60, 62).Draw(t, "key"), rapid.SampledFrom([]byte{0, 20, 90}).Draw(t, "velocity")}
	}
}

// checkNotes holds notes to what note.go promises.
func checkNotes(t interface{ Fatalf(string, ...any) }, notes []Note) {
	last := map[[2]int]Note{}
	onset := 0.0
	for _, n := range notes {
		id := [2]int{n.Channel, n.Key}
		switch before, seen := last[id]; {
		case n.Onset < onset:
			t.Fatalf("out of order: %+v after %v", n, onset)
		case !(n.Onset <= n.Released && n.Released <= n.Offset):
			t.Fatalf("times: %+v", n)
		case n.Velocity < 1 || n.Velocity > 127 || n.Key < 0 || n.Key > 127 || n.Channel < 0 || n.Channel > 15:
			t.Fatalf("range: %+v", n)
		case !(math.Abs(n.Pitch-float64(n.Key)) < reachSemitones):
			t.Fatalf("pitch: %+v", n)
		case seen && before.Offset > n.Onset:
			t.Fatalf("one key twice at once: %+v, %+v", before, n)
		}
		last[id], onset = n, n.Onset
	}
}

func TestInstrument(t *testing.T) {
	for name, want := range map[string]Instrument{"keys": Keys, "guitar": Guitar, " Guitar ": Guitar} {
		got, err := ParseInstrument(name)
		if err != nil || got != want {
			t.Errorf("%q: %v, %v; want %v", name, got, err, want)
		}
	}
	if _, err := ParseInstrument("lute"); err == nil || err.Error() != `instrument "lute" is unknown: use keys or guitar` {
		t.Errorf("lute: %v", err)
	}
	if got := Guitar.String() + " " + Instrument(7).String(); got != "guitar Instrument(7)" {
		t.Error(got)
	}
}

func TestNewReaderPanics(t *testing.T) {
	for _, bad := range []float64{-1, 128, math.NaN()} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("bend range %v: no panic", bad)
				}
			}()
			NewReader(Options{BendRange: bad})
		}()
	}
}
