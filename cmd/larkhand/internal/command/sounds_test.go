package command

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"larkhand/internal/bleed"
	"larkhand/internal/bleed/roomsim"
	"larkhand/internal/music"
	"larkhand/internal/singer"
	"larkhand/internal/soundfile"
)

const testRate = 16000 // Hz

// sing is the script command "sing FILE PITCH ...": a synthesized voice sings the MIDI numbers, one every 0.45 s from 0.5 s on,
// to a WAV file; 60.3 is 30 cents sharp.
func sing(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: sing FILE PITCH ...")
	}
	ts.Check(soundfile.WriteWAV(ts.MkAbs(args[0]), sung(ts, args[1:]), testRate))
}

func sung(ts *testscript.TestScript, pitches []string) []float32 {
	const first, beat, length = 0.5, 0.45, 0.38 // s
	var notes []singer.Note
	for i, text := range pitches {
		pitch, err := strconv.ParseFloat(text, 64)
		ts.Check(err)
		onset := first + beat*float64(i)
		notes = append(notes, singer.Note{Onset: onset, Offset: onset + length, Pitch: pitch, Syllable: "da"})
	}
	const seed = 7
	return singer.Render(notes, singer.Baritone, testRate, seed)
}

// band is the script command "band FILE": one pass of a loop of four bars at 144 quarter notes a minute, 48 kHz.
func band(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: band FILE")
	}
	ts.Check(soundfile.WriteWAV(ts.MkAbs(args[0]), bandLoop(ts), roomsim.BackingRate))
}

func bandLoop(ts *testscript.TestScript) []float32 {
	const tempo, seed = 144, 5
	loop, err := roomsim.Backing("Cm7 | Fm7 | G7 | Cm7", tempo, seed)
	ts.Check(err)
	return loop
}

// beside is the script command "beside FILE DB [+gain] PITCH ...": the pitches sung as by sing, after one pass of band's loop, which
// plays from a speaker in a living room all the time, DB over the voice. The clocks are 20 ppm apart. With +gain the recorder turns its gain
// up and down.
func beside(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 {
		ts.Fatalf("usage: beside FILE DB [+gain] PITCH ...")
	}
	level, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	pitches := args[2:]
	setup := roomsim.Setup{Room: roomsim.Living(), DelayMs: 60, SkewPPM: 20, BleedDB: level, NoiseDBFS: -55, Drive: 0.5, CountIn: 6.7, Seed: 3}
	if pitches[0] == "+gain" {
		setup.AGC, pitches = true, pitches[1:]
	}
	voice := bleed.ToWorkRate(sung(ts, pitches), testRate)
	length := setup.CountIn + float64(len(voice))/roomsim.Rate + 1
	rec := setup.Record(voice, roomsim.Repeat(bandLoop(ts), int(length*roomsim.BackingRate)))
	ts.Check(soundfile.WriteWAV(ts.MkAbs(args[0]), rec.Take, roomsim.Rate))
}

// play is the script command "play FILE NOTE ...": a MIDI file with the notes, 0.45 s apart and 0.4 s long at velocity 70. A NOTE is a
// MIDI number, several joined by + for a chord, with @SECONDS where it begins somewhere else, :SECONDS for another length and
// /VELOCITY for another one, in this order.
func play(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: play FILE [NOTE ...]")
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), played(ts, args[1:]), 0o644))
}

// played is the bytes of a MIDI file.
func played(ts *testscript.TestScript, notes []string) []byte {
	type message struct {
		time float64
		midi midi.Message
	}
	var messages []message
	next := 0.0
	for _, text := range notes {
		length, velocity := 0.4, uint64(70)
		if before, after, ok := strings.Cut(text, "/"); ok {
			v, err := strconv.ParseUint(after, 10, 7)
			ts.Check(err)
			velocity, text = v, before
		}
		if before, after, ok := strings.Cut(text, ":"); ok {
			length, text = seconds(ts, after), before
		}
		if before, after, ok := strings.Cut(text, "@"); ok {
			next, text = seconds(ts, after), before
		}
		for _, key := range strings.Split(text, "+") {
			k, err := strconv.ParseUint(key, 10, 7)
			ts.Check(err)
			messages = append(messages, message{next, midi.NoteOn(0, uint8(k), uint8(velocity))}, message{next + length, midi.NoteOff(0, uint8(k))})
		}
		next += 0.45
	}
	slices.SortStableFunc(messages, func(a, b message) int { return int(math.Round(1e6 * (a.time - b.time))) })
	const ticksPerSecond = 960 // 480 a quarter note, 120 quarter notes a minute
	var track smf.Track
	now := 0.0
	for _, m := range messages {
		track.Add(uint32(math.Round((m.time-now)*ticksPerSecond)), m.midi)
		now = m.time
	}
	track.Close(0)
	file := smf.New()
	file.TimeFormat = smf.MetricTicks(480)
	ts.Check(file.Add(track))
	var b bytes.Buffer
	_, err := file.WriteTo(&b)
	ts.Check(err)
	return b.Bytes()
}

// badMIDI is the script command "badmidi FILE KIND": a file that is no good answer.
func badMIDI(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: badmidi FILE KIND")
	}
	whole := played(ts, []string{"60", "63", "67", "65"})
	const header, trackHead = 14, 8 // bytes of the two chunk heads before the events
	switch args[1] {
	case "empty":
		whole = nil
	case "cut":
		whole = whole[:header+trackHead+(len(whole)-header-trackHead)*2/3]
	case "damaged": // nothing but noise from the second byte on
		random := rand.New(rand.NewPCG(8, 9))
		for i := 1; i < len(whole); i++ {
			whole[i] = byte(random.Uint32())
		}
	case "giant": // a track that promises 2 GB, with nothing in it
		whole = whole[:header+trackHead]
		binary.BigEndian.PutUint32(whole[header+4:], 2_000_000_000)
	default:
		ts.Fatalf("badmidi: no kind %q", args[1])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), whole, 0o644))
}

func seconds(ts *testscript.TestScript, text string) float64 {
	s, err := strconv.ParseFloat(text, 64)
	ts.Check(err)
	return s
}

// badSound is the script command "badsound FILE KIND": a sound that is no good or no perfect take.
func badSound(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: badsound FILE KIND")
	}
	path := ts.MkAbs(args[0])
	make, ok := badSounds[args[1]]
	if !ok {
		ts.Fatalf("badsound: no kind %q", args[1])
	}
	ts.Check(os.WriteFile(path, make(ts), 0o644))
}

var tune = []string{"48", "51", "55", "53", "51", "50", "48"} // C minor 1 3 5 4 3 2 1

// badSounds makes the bytes of a file.
var badSounds = map[string]func(*testscript.TestScript) []byte{
	"empty":  func(*testscript.TestScript) []byte { return nil },
	"silent": func(*testscript.TestScript) []byte { return wav(make([]float32, 2*testRate)) },
	"short": func(ts *testscript.TestScript) []byte {
		return wav(sung(ts, tune)[testRate/2 : testRate/2+testRate/10])
	},
	"noise": func(*testscript.TestScript) []byte {
		return wav(withNoise(make([]float32, 3*testRate), 0.1))
	},
	"noisy": func(ts *testscript.TestScript) []byte { return wav(withNoise(sung(ts, tune), 0.03)) },
	"quiet": func(ts *testscript.TestScript) []byte { return wav(scaled(sung(ts, tune), 0.01, 0)) },
	"clipped": func(ts *testscript.TestScript) []byte {
		return wav(scaled(sung(ts, tune), 20, 0))
	},
	"offset": func(ts *testscript.TestScript) []byte { return wav(scaled(sung(ts, tune), 1, 0.3)) },
	"nan": func(ts *testscript.TestScript) []byte {
		samples := sung(ts, tune)
		for i := 2000; i < 2100; i++ {
			samples[i] = float32(math.NaN())
		}
		var b bytes.Buffer
		ts.Check(soundfile.EncodeWAVFloat(&b, samples, testRate))
		return b.Bytes()
	},
	"song": func(*testscript.TestScript) []byte { return wav(song()) },
	"cut": func(ts *testscript.TestScript) []byte {
		whole := wav(sung(ts, tune))
		return whole[:len(whole)/2]
	},
	"damaged": func(ts *testscript.TestScript) []byte { // nothing but noise from the header on
		whole := wav(sung(ts, tune))
		random := rand.New(rand.NewPCG(1, 2))
		for i := 4; i < len(whole); i++ {
			whole[i] = byte(random.Uint32())
		}
		return whole
	},
	"giant": func(*testscript.TestScript) []byte { // a header that promises 2 GB, in 50 bytes
		whole := wav(make([]float32, 3))
		binary.LittleEndian.PutUint32(whole[4:], 2_000_000_036)
		binary.LittleEndian.PutUint32(whole[40:], 2_000_000_000)
		return whole
	},
}

func wav(samples []float32) []byte {
	var b bytes.Buffer
	if err := soundfile.EncodeWAV(&b, samples, testRate); err != nil {
		panic(err) // a bytes.Buffer does not fail
	}
	return b.Bytes()
}

// scaled multiplies by gain, adds an offset and clips at full scale.
func scaled(samples []float32, gain, offset float32) []float32 {
	for i, s := range samples {
		samples[i] = min(max(gain*s+offset, -1), 1)
	}
	return samples
}

func withNoise(samples []float32, deviation float64) []float32 {
	random := rand.New(rand.NewPCG(3, 4))
	for i := range samples {
		samples[i] += float32(deviation * random.NormFloat64())
	}
	return samples
}

// song is four bars of chords in three voices over a bass, with a beat of noise: what a player finds who records the loop with the voice,
// or takes a song for a take.
func song() []float32 {
	chords := [][]float64{{36, 60, 63, 67}, {41, 60, 65, 68}, {43, 59, 65, 67}, {36, 58, 63, 67}}
	const bar = 1.2 // s
	out := make([]float32, int(bar*float64(len(chords))*testRate))
	for _, voice := range []int{0, 1, 2, 3} {
		tone := singer.Tone(func(t float64) float64 {
			return music.MIDIToHz(chords[min(int(t/bar), len(chords)-1)][voice])
		}, bar*float64(len(chords)), testRate)
		for i := range out {
			out[i] += 0.5 * tone[i]
		}
	}
	random := rand.New(rand.NewPCG(5, 6))
	for i := range out {
		inBeat := float64(i%(testRate*3/10)) / testRate
		out[i] += float32(0.2 * math.Exp(-inBeat/0.03) * random.NormFloat64())
	}
	return out
}

// remember is the script command "remember": it notes the bytes of every file in the work directory; "unchanged" compares.
func remember(ts *testscript.TestScript, _ bool, _ []string) {
	ts.Setenv("REMEMBERED", digest(ts))
}

func unchanged(ts *testscript.TestScript, neg bool, _ []string) {
	if (digest(ts) == ts.Getenv("REMEMBERED")) == neg {
		ts.Fatalf("files in the work directory: changed is %v, want %v", !neg, neg)
	}
}

func digest(ts *testscript.TestScript) string {
	var b strings.Builder
	ts.Check(filesBelow(ts.MkAbs("."), func(path string, data []byte, mode os.FileMode) {
		fmt.Fprintf(&b, "%s %v %x\n", path, mode, sum(data))
	}))
	return b.String()
}
