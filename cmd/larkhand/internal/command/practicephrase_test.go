package command

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"larkhand/internal/phrase"
	"larkhand/internal/phrasebook"
	"larkhand/internal/singer"
	"larkhand/internal/soundfile"
)

// The phrase Rain, 1 2 3 5 of a minor scale in quarters of half a second, from the bar line.
var rainSteps = []int{0, 2, 3, 7} // semitones above the tonic

const rainUpbeat = 0.25 // s from the file's beginning to the bar line

// singRain writes take and answer, on a tonic, to a folder; wrong plays the last note a semitone too high.
func singRain(t *testing.T, tonic int, wrong bool) (take, answer string) {
	t.Helper()
	dir := t.TempDir()
	take, answer = filepath.Join(dir, "take.wav"), filepath.Join(dir, "answer.mid")
	const rate, beat, ticks = 16000, 0.5, 960
	var notes []singer.Note
	var track smf.Track
	track.Add(0, smf.MetaTempo(60/beat))
	for i, s := range rainSteps {
		at := rainUpbeat + beat*float64(i)
		notes = append(notes, singer.Note{Onset: at, Offset: at + 0.9*beat, Pitch: float64(tonic + s), Syllable: "da"})
		key := uint8(tonic + s)
		if wrong && i == len(rainSteps)-1 {
			key++
		}
		track.Add(ticks/8, midi.NoteOn(0, key, 80))
		track.Add(ticks-ticks/8, midi.NoteOff(0, key))
	}
	track.Close(0)
	if err := soundfile.WriteWAV(take, singer.Render(notes, singer.Mezzo, rate, 3), rate); err != nil {
		t.Fatal(err)
	}
	song := smf.New()
	song.TimeFormat = smf.MetricTicks(ticks)
	if err := song.Add(track); err != nil {
		t.Fatal(err)
	}
	if err := song.WriteFile(answer); err != nil {
		t.Fatal(err)
	}
	return take, answer
}

// run runs the program and wants it to do what it is asked for.
func run(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := Run(t.Context(), args, &out, &errs); code != exitDone {
		t.Fatalf("%q: code %d\n%s%s", args, code, &out, &errs)
	}
	return out.String()
}

// TestPractiseAKeptPhrase: a phrase is sung and played in two keys, first C and then, C being known, F; each has its record and its date, and in a circle each player has
// records of their own.
func TestPractiseAKeptPhrase(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	dir := filepath.Join(t.TempDir(), "journal")
	run(t, "phrases", "keep", "Rain", "--numbers", "1 2 3 5", "--scale", "minor", "--numbering", "scale", "--journal", dir)
	const c, f = 60, 65
	practise := func(tonic int, wrong bool, more ...string) string {
		take, answer := singRain(t, tonic, wrong)
		args := []string{
			"practice", "--plain", "--fast", "--journal", dir, "--mic", take, "--mic", take, "--midi", answer, "--loop-starts", "0.25",
			"--key", "C minor", "--chart", "Cm7 | Fm7", "--tempo", "120", "--bars", "2", "--loop-alone", "no", "--phrase", "rain", "--phrase-keys", "weak",
		}
		return run(t, append(args, more...)...)
	}
	cards := func(player string) map[string]phrase.Card {
		e, err := phrasebook.Open(filepath.Join(dir, phraseFolder)).Find("Rain")
		if err != nil {
			t.Fatal(err)
		}
		return e.Cards[player]
	}

	says := func(out string, sentences ...string) {
		t.Helper()
		for _, s := range sentences {
			if !strings.Contains(out, s) {
				t.Errorf("it does not say %q:\n%s", s, out)
			}
		}
	}

	out := practise(c, false)
	says(out, "\nSing Rain in C minor, then play it.\n", "C is the weakest key now: never tried in this key.", "The answer is Rain as it is kept.")
	if got := cards(""); len(got) != 1 || got["C"].Repetitions != 1 {
		t.Errorf("after the first round %+v\n%s", got, out)
	}
	out = practise(f, false)
	says(out, "\nSing Rain in F minor, then play it.\n", "F is the weakest key now: never tried in this key.", "The answer is Rain as it is kept.")
	got := cards("")
	if len(got) != 2 || got["F"].Repetitions != 1 || got["F"].Due().Sub(got["F"].Last) != 24*time.Hour {
		t.Errorf("after the second round %+v\n%s", got, out)
	}
	if due := run(t, "phrases", "due", "--journal", dir); !strings.Contains(due, "Nothing is due.") {
		t.Errorf("due: %s", due)
	}

	says(practise(c, false, "--players", "Sunnel, Ilvane"), "Sunnel sings Rain in C minor, Ilvane plays it.")
	practise(c, true, "--players", "Ilvane, Sunnel")
	if sunnel, ilvane := cards("Sunnel"), cards("Ilvane"); len(sunnel) != 1 || len(ilvane) != 1 || ilvane["C"].Repetitions != 1 || sunnel["C"].Repetitions != 0 || sunnel["C"].Tries != 1 {
		t.Errorf("Sunnel %+v, Ilvane %+v", sunnel, ilvane)
	}
	if len(cards("")) != 2 || cards("")["C"].Tries != 1 {
		t.Errorf("without a name %+v", cards(""))
	}
	if list := run(t, "history", "--journal", dir); strings.Count(list, "minor") < 4 || !strings.Contains(list, "F minor") {
		t.Errorf("history:\n%s", list)
	}
}

// TestSizeByTheJournal: practice proposes a size by the rounds of earlier sessions, and progress says the same of them.
func TestSizeByTheJournal(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	dir := filepath.Join(t.TempDir(), "journal")
	take, answer := singRain(t, 60, false)
	practise := func() string {
		return run(t, "practice", "--plain", "--fast", "--journal", dir, "--mic", take, "--mic", take, "--midi", answer, "--loop-starts", "0.25",
			"--key", "C minor", "--chart", "Cm7 | Fm7", "--tempo", "120", "--bars", "2", "--loop-alone", "no")
	}
	for _, want := range []string{
		"Next: one note.\nBegin small: one note. It grows as soon as you know what you play.\n",
		"Next: two neighbours of the scale.\nThat size holds, 1 of 1 answer known, so one step up: two neighbours of the scale.\n",
		"Next: three notes of the scale, up or down.\n",
		// 12 notes from C4 to G4, of which the middle one is Eb4, are a range.
		"Next: four notes of the scale, up and back or down and back, between about Db4 and F4.\n",
	} {
		if out := practise(); !strings.Contains(out, want) {
			t.Errorf("it does not say %q:\n%s", want, out)
		}
	}
	said := run(t, "progress", "--journal", dir)
	_, next, _ := strings.Cut(practise(), "\nNext: ")
	next, _, _ = strings.Cut(next, ", between")
	if next == "" || !strings.Contains(strings.Join(strings.Fields(said), " "), "Sing next - "+next) {
		t.Errorf("practice says %q, progress:\n%s", next, said)
	}
}

// TestPhraseThatIsNotKept: practice does not begin, and says which phrases there are; nor does it without a key.
func TestPhraseThatIsNotKept(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	dir := filepath.Join(t.TempDir(), "journal")
	run(t, "phrases", "keep", "Rain", "--numbers", "1 2 3 5", "--scale", "minor", "--journal", dir)
	take, answer := singRain(t, 60, false)
	for more, want := range map[string]string{
		"--phrase=Snow":                                          `no such phrase as "Snow"; there are: Rain`,
		"--phrase=Rain --phrase-keys=sideways":                   `"sideways" is no way through keys: write stay, fourths, semitones, random, weak or due`,
		"--phrase=Rain --key= --chart=Cm7 --phrase-keys=fourths": "a kept phrase needs a key to begin in",
	} {
		var out, errs bytes.Buffer
		args := append([]string{"practice", "--plain", "--fast", "--journal", dir, "--mic", take, "--mic", take, "--midi", answer}, strings.Fields(more)...)
		if code := Run(t.Context(), args, &out, &errs); code == exitDone || !strings.Contains(errs.String(), want) {
			t.Errorf("%s: code %d, %q; want %q", more, code, errs.String(), want)
		}
	}
}
