package render

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
)

// Grains sings by csound's formant wave functions.
type Grains struct{}

// Name of the renderer.
func (Grains) Name() string { return "csound fof" }

// Missing says what is not installed.
func (Grains) Missing() string { return missingPrograms("csound") }

// Sings every style.
func (Grains) Sings(Style) bool { return true }

// orchestra reads the curves of tables 10 (Hz), 11 (level) and, for formant k, 20+k (Hz), 30+k (level), 40+k (bandwidth), and adds
// five formants. Rise 3 ms, length 20 ms and decay 7 ms of a grain are those of the csound manual's example of fof.
const orchestra = `<CsoundSynthesizer>
<CsOptions>
-d -m0 -W -f -o out.wav
</CsOptions>
<CsInstruments>
sr = %d
ksmps = 10
nchnls = 1
0dbfs = 1
giSine ftgen 1, 0, 16384, 10, 1
giRise ftgen 2, 0, 1024, 19, 0.5, 0.5, 270, 0.5
%sinstr 1
kAt line 0, p3, p3 / %g
kHz tablei kAt, 10
kLevel tablei kAt, 11
aSum = 0
%sout aSum * a(kLevel)
endin
</CsInstruments>
<CsScore>
i 1 0 %g
</CsScore>
</CsoundSynthesizer>
`

// Render sings the phrases.
func (Grains) Render(ctx context.Context, phrases [][]Note) ([]Sound, error) {
	var out []Sound
	for i, notes := range phrases {
		if err := check(notes); err != nil {
			return nil, err
		}
		samples, err := grainPhrase(ctx, notes)
		if err != nil {
			return nil, err
		}
		out = append(out, Sound{finish(samples, uint64(i)), notes})
	}
	return out, nil
}

func grainPhrase(ctx context.Context, notes []Note) ([]float64, error) {
	folder, err := os.MkdirTemp("", "larkhand-grains-")
	if err != nil {
		return nil, fmt.Errorf("render: %w", err)
	}
	defer os.RemoveAll(folder)
	curves := map[int][]float64{}
	points := int(length(notes)/curveHop) + 2
	for i := range points {
		t := float64(i) * curveHop
		v := vowelAt(notes, t)
		curves[10] = append(curves[10], hertz(pitchAt(notes, t)))
		curves[11] = append(curves[11], gain(levelAt(notes, t, true)))
		for k := range formants {
			curves[20+k] = append(curves[20+k], v.hz[k])
			curves[30+k] = append(curves[30+k], gain(v.db[k]))
			curves[40+k] = append(curves[40+k], v.width[k])
		}
	}
	var tables, sum bytes.Buffer
	for _, number := range append([]int{10, 11}, series(20, 30, 40)...) {
		name := "c" + strconv.Itoa(number)
		if err := writeNumbers(filepath.Join(folder, name), curves[number]); err != nil {
			return nil, err
		}
		fmt.Fprintf(&tables, "gi%s ftgen %d, 0, %d, -23, \"%s\"\n", name, number, -len(curves[number]), name)
	}
	for k := range formants {
		fmt.Fprintf(&sum, "kF%[1]d tablei kAt, %[2]d\nkA%[1]d tablei kAt, %[3]d\nkB%[1]d tablei kAt, %[4]d\n", k, 20+k, 30+k, 40+k)
		fmt.Fprintf(&sum, "aF%[1]d fof 0.2 * kA%[1]d, kHz, kF%[1]d, 0, kB%[1]d, 0.003, 0.02, 0.007, 60, 1, 2, p3\naSum = aSum + aF%[1]d\n", k)
	}
	text := fmt.Sprintf(orchestra, Rate, tables.String(), curveHop, sum.String(), length(notes))
	if err := os.WriteFile(filepath.Join(folder, "voice.csd"), []byte(text), 0o600); err != nil {
		return nil, fmt.Errorf("render: %w", err)
	}
	if err := program(ctx, folder, "csound", "voice.csd"); err != nil {
		return nil, err
	}
	return readBack(filepath.Join(folder, "out.wav"))
}

// series numbers the tables of the formants.
func series(bases ...int) []int {
	var out []int
	for _, base := range bases {
		for k := range formants {
			out = append(out, base+k)
		}
	}
	return out
}

// writeNumbers writes one number a line.
func writeNumbers(path string, numbers []float64) error {
	var text bytes.Buffer
	for _, x := range numbers {
		fmt.Fprintln(&text, strconv.FormatFloat(x, 'g', 8, 64))
	}
	if err := os.WriteFile(path, text.Bytes(), 0o600); err != nil {
		return fmt.Errorf("render: %w", err)
	}
	return nil
}
