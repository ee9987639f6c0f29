package midiin

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// rpn sets a registered parameter on channel 1, ending with its null.
func rpn(t float64, msb, lsb, data byte) []at {
	return []at{cc(t, 101, msb), cc(t, 100, lsb), cc(t, 6, data), cc(t, 101, 127), cc(t, 100, 127)}
}

// on1 moves messages to a channel, 1 to 16.
func on1(channel byte, messages []at) []at {
	moved := make([]at, len(messages))
	for i, m := range messages {
		moved[i] = m.on1(channel)
	}
	return moved
}

// bentKey60 is the pitch of key 60 played for a second on the channel after the messages.
func bentKey60(opt Options, channel byte, messages ...[]at) float64 {
	r := NewReader(opt)
	for _, m := range messages {
		play(r, m...)
	}
	play(r, on(1, 60, 64).on1(channel), off(2, 60).on1(channel))
	return r.Finish(3)[0].Pitch
}

// TestBendArithmetic: MIDI 1.0, bend = (value - 8192) / 8192 * range; the values are computed by hand from that.
func TestBendArithmetic(t *testing.T) {
	wide := rpn(0, 0, 0, 48)
	for _, c := range []struct {
		name     string
		messages [][]at
		want     float64
	}{
		{"centre 00 40", [][]at{{bend(0, 0x00, 0x40)}}, 60},
		{"00 60 with 2", [][]at{{bend(0, 0x00, 0x60)}}, 61},
		{"7F 7F with 2", [][]at{{bend(0, 0x7F, 0x7F)}}, 60 + 2*8191.0/8192},
		{"00 00 with 2", [][]at{{bend(0, 0x00, 0x00)}}, 58},
		{"one step with 2 is 0.0244 cents", [][]at{{bend(0, 0x01, 0x40)}}, 60 + 2.0/8192},
		{"00 50 with 48", [][]at{wide, {bend(0, 0x00, 0x50)}}, 72},
		{"one step with 48 is 0.586 cents", [][]at{wide, {bend(0, 0x01, 0x40)}}, 60 + 48.0/8192},
		{"range changed after the bend", [][]at{{bend(0, 0x00, 0x60)}, wide}, 84},
		{"semitones and cents", [][]at{{cc(0, 101, 0), cc(0, 100, 0), cc(0, 6, 12), cc(0, 38, 50), bend(0, 0, 0x60)}}, 66.25},
		{"semitones set the cents to 0", [][]at{{cc(0, 101, 0), cc(0, 100, 0), cc(0, 38, 50), cc(0, 6, 12), bend(0, 0, 0x60)}}, 66},
		{"a step up is a cent (RP-018)", [][]at{{cc(0, 101, 0), cc(0, 100, 0), cc(0, 96, 99), bend(0, 0, 0)}}, 60 - 2.01},
		{"a step down is a cent", [][]at{{cc(0, 101, 0), cc(0, 100, 0), cc(0, 97, 0), bend(0, 0, 0)}}, 60 - 1.99},
		{"after null data goes nowhere", [][]at{rpn(0, 0, 0, 2), {cc(0, 6, 24), bend(0, 0, 0x60)}}, 61},
		{"non-registered parameter 0 is another", [][]at{{cc(0, 101, 0), cc(0, 100, 0), cc(0, 99, 0), cc(0, 98, 0), cc(0, 6, 24), bend(0, 0, 0x60)}}, 61},
		{"fine tuning is another", [][]at{rpn(0, 0, 1, 24), {bend(0, 0, 0x60)}}, 61},
		{"data before any choice goes nowhere", [][]at{{cc(0, 6, 24), bend(0, 0, 0x60)}}, 61},
		{"reset centres the bend, keeps the range (RP-015)", [][]at{wide, {bend(0, 0, 0x60), cc(0, 121, 0)}}, 60},
		{"the range survives a reset (RP-015)", [][]at{wide, {cc(0, 121, 0), bend(0, 0, 0x60)}}, 84},
		{"reset chooses no parameter (RP-015)", [][]at{{cc(0, 101, 0), cc(0, 100, 0), cc(0, 121, 0), cc(0, 6, 24), bend(0, 0, 0x60)}}, 61},
		{"another channel's bend", [][]at{on1(2, []at{bend(0, 0, 0x60)})}, 60},
		{"another channel's range", [][]at{on1(2, wide), {bend(0, 0, 0x60)}}, 61},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := bentKey60(Options{}, 1, c.messages...); math.Abs(got-c.want) > 1e-9 {
				t.Errorf("pitch %v, want %v", got, c.want)
			}
		})
	}
	if got := bentKey60(Options{BendRange: 12}, 1, []at{bend(0, 0, 0x60)}); got != 66 {
		t.Errorf("range 12 by option: %v, want 66", got)
	}
}

// TestMPE: zones and ranges of the MPE specification 1.0 (RPN 6): lower zone with 15 members = channels 2 to 16, master 1;
// upper zone with 7 = channels 15 down to 9, master 16; members +-48 semitones, master +-2, and the master's bend adds.
func TestMPE(t *testing.T) {
	lower := func(members byte) []at { return rpn(0, 0, 6, members) }
	upper := func(members byte) []at { return on1(16, rpn(0, 0, 6, members)) }
	half := []at{bend(0, 0, 0x60)} // half of the range up
	for _, c := range []struct {
		name     string
		channel  byte
		messages [][]at
		want     float64
	}{
		{"no zone", 2, [][]at{on1(2, half)}, 61},
		{"lower 15, channel 2", 2, [][]at{lower(15), on1(2, half)}, 84},
		{"lower 15, channel 16", 16, [][]at{lower(15), on1(16, half)}, 84},
		{"lower 15, master", 1, [][]at{lower(15), half}, 61},
		{"lower 7, channel 9 is outside", 9, [][]at{lower(7), on1(9, half)}, 61},
		{"upper 7, channel 9", 9, [][]at{upper(7), on1(9, half)}, 84},
		{"upper 7, channel 15", 15, [][]at{upper(7), on1(15, half)}, 84},
		{"upper 7, channel 8 is outside", 8, [][]at{upper(7), on1(8, half)}, 61},
		{"upper 7, master", 16, [][]at{upper(7), on1(16, half)}, 61},
		{"the master's bend adds", 2, [][]at{lower(15), on1(2, half), half}, 85},
		{"the other zone's master does not", 2, [][]at{lower(7), upper(7), on1(2, half), on1(16, half)}, 84},
		{"range of one member is that of all", 3, [][]at{lower(15), on1(2, rpn(0, 0, 0, 24)), on1(3, half)}, 72},
		{"range of one upper member is that of all", 14, [][]at{upper(3), on1(15, rpn(0, 0, 0, 24)), on1(14, half)}, 72},
		{"and not the master's", 1, [][]at{lower(15), on1(2, rpn(0, 0, 0, 24)), half}, 61},
		{"range of the master", 2, [][]at{lower(15), rpn(0, 0, 0, 12), half}, 66},
		{"a newer zone takes channels", 9, [][]at{upper(7), lower(10), on1(9, half), half}, 85},
		{"and leaves the rest", 13, [][]at{upper(7), lower(10), on1(13, half), on1(16, half)}, 85},
		{"for good", 9, [][]at{upper(7), lower(10), lower(0), on1(9, half)}, 61},
		{"a newer upper zone takes channels", 9, [][]at{lower(10), upper(7), on1(9, half), on1(16, half)}, 85},
		{"members 0 ends the zone", 2, [][]at{lower(15), lower(0), on1(2, half), half}, 61},
		{"and gives the master its usual range", 1, [][]at{lower(15), rpn(0, 0, 0, 12), lower(0), half}, 61},
		{"no zone on other channels", 3, [][]at{on1(2, rpn(0, 0, 6, 5)), on1(3, half)}, 61},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := bentKey60(Options{}, c.channel, c.messages...); math.Abs(got-c.want) > 1e-9 {
				t.Errorf("pitch %v, want %v", got, c.want)
			}
		})
	}
}

// TestMPEMasterPedal: the master's pedal holds the notes of its members.
func TestMPEMasterPedal(t *testing.T) {
	r := NewReader(Options{})
	play(r, rpn(0, 0, 6, 15)...)
	play(r, on(1, 60, 64).on1(3), cc(1, 64, 127), off(2, 60).on1(3), cc(4, 64, 0))
	if n := r.Finish(5)[0]; n.Released != 2 || n.Offset != 4 {
		t.Errorf("%+v, want released 2, offset 4", n)
	}
}

// TestPedalOfAnEndedZone: a zone that ends with its pedal down leaves no note sounding for ever.
func TestPedalOfAnEndedZone(t *testing.T) {
	r := NewReader(Options{})
	play(r, rpn(0, 0, 6, 15)...)
	play(r, on(1, 60, 64).on1(3), cc(1, 64, 127), off(2, 60).on1(3))
	play(r, rpn(3, 0, 6, 0)...)
	if n := r.Finish(9)[0]; n.Released != 2 || n.Offset != 3 {
		t.Errorf("%+v, want released 2, offset 3", n)
	}
}

// TestStringsBendApart: in mode 4 each string bends for itself.
func TestStringsBendApart(t *testing.T) {
	r := NewReader(Options{Instrument: Guitar})
	play(r, cc(0, 126, 6), on(1, 60, 64), on(1, 64, 64).on1(2), bend(1, 0, 0x60).on1(2), off(2, 60), off(2, 64).on1(2))
	notes := r.Finish(3)
	if notes[0].Pitch != 60 || math.Abs(notes[1].Pitch-65) > 1e-9 {
		t.Errorf("pitches %v and %v, want 60 and 65", notes[0].Pitch, notes[1].Pitch)
	}
}

// value14 is the bend message for a number of semitones at a range of 2.
func value14(t, semitones float64) at {
	v := min(16383, bendCentre+int(math.Round(semitones/2*bendCentre)))
	return bend(t, byte(v&0x7F), byte(v>>7))
}

// TestPitchHeldLongest: curves as players bend, a message every 10 ms from 1 s on while key 60 is down. Values come within
// 5 cents: the vibrato passes its centre in steps of 15 cents, and what of the way to a held pitch lies within a quarter of a
// semitone of it still counts.
func TestPitchHeldLongest(t *testing.T) {
	const within = .05
	ramp := func(x, from, to float64) float64 { return min(1, max(0, (x-from)/(to-from))) }
	for _, c := range []struct {
		name   string
		length float64                 // s
		curve  func(x float64) float64 // semitones at x s after the onset
		want   float64
	}{
		{"bend up a whole step and stay", .6, func(x float64) float64 { return 2 * ramp(x, .1, .25) }, 62},
		{"stay, then bend up at the end", .6, func(x float64) float64 { return 2 * ramp(x, .45, .55) }, 60},
		{"scoop of 150 ms from 2 below", .5, func(x float64) float64 { return -2 + 2*ramp(x, 0, .15) }, 60},
		{"vibrato of 40 cents at 6 Hz, 6 turns after the attack", 1.06, func(x float64) float64 { return .4 * math.Sin(2*math.Pi*6*x) }, 60},
		{"bent up 1 with vibrato", 1, func(x float64) float64 { return ramp(x, .05, .2) + .2*math.Sin(2*math.Pi*5*x)*ramp(x, .2, .21) }, 61},
		{"attack of 50 ms a fourth of a tone off", .2, func(x float64) float64 {
			if x < .05 {
				return .5
			}
			return 0
		}, 60},
		{"flat half step, held longer than the start", .6, func(x float64) float64 { return .9 * ramp(x, .25, .3) }, 60.9},
		{"flat half step, held shorter than the start", .6, func(x float64) float64 { return .9 * ramp(x, .4, .45) }, 60},
		{"curl of a quarter tone, then on to the half step", .7, func(x float64) float64 { return .5*ramp(x, .2, .22) + .5*ramp(x, .36, .38) }, 61},
		{"pre-bend released", .8, func(x float64) float64 { return 2 - 2*ramp(x, .2, .35) }, 60},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := NewReader(Options{Instrument: Guitar})
			play(r, value14(1, c.curve(0)), on(1, 60, 64))
			for x := .01; x < c.length; x += .01 {
				play(r, value14(1+x, c.curve(x)))
			}
			play(r, off(1+c.length, 60))
			if got := r.Finish(3)[0].Pitch; math.Abs(got-c.want) > within {
				t.Errorf("pitch %.4f, want %v", got, c.want)
			}
		})
	}
}

// TestThinnedBends: a bend of a minute with a message every millisecond, far more than are kept: 25 s at +1, then 35 s at
// -1, each with jitter of 2 cents. The log stays in bounds and the pitch is still -1 within 2 cents (the jitter).
func TestThinnedBends(t *testing.T) {
	r := NewReader(Options{})
	play(r, on(0, 60, 64))
	for i := range 60_000 {
		x := float64(i) / 1000
		goal := 1.0
		if x >= 25 {
			goal = -1
		}
		play(r, value14(x, goal+.02*float64(i%3-1)))
	}
	if n := len(r.channels[0].bend.log); n > maxBendSteps {
		t.Errorf("%d steps are kept", n)
	}
	play(r, off(60, 60))
	if got := r.Finish(60)[0].Pitch; math.Abs(got-59) > .02 {
		t.Errorf("pitch %v, want 59", got)
	}
}

// TestLongestStepWins: any stepwise bend gives the pitch of its longest step when that is longer than all others together.
func TestLongestStepWins(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := NewReader(Options{BendRange: 12})
		play(r, on(1, 60, 64))
		others := rapid.IntRange(0, 30).Draw(t, "others")
		before := rapid.IntRange(0, others).Draw(t, "before")
		want := rapid.IntRange(0, 16383).Draw(t, "value")
		now := 1.0
		for i := range others + 1 {
			value, length := rapid.IntRange(0, 16383).Draw(t, "other"), .01
			if i == before {
				value, length = want, 1
			}
			play(r, bend(now, byte(value&0x7F), byte(value>>7)))
			now += length
		}
		play(r, off(now, 60))
		got := r.Finish(now)[0].Pitch
		if exact := 60 + float64(want-bendCentre)/bendCentre*12; math.Abs(got-exact) > .25*.3/1.3 {
			t.Fatalf("pitch %v, want %v within what 0.3 s of others a quarter semitone off can do", got, exact)
		}
	})
}
