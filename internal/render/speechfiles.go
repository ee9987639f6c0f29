package render

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"

	"larkhand/internal/soundfile"
)

// writeJob writes the source of one phrase and what is to become of it.
func writeJob(folder string, number int, notes []Note, voice map[string]spoken) error {
	source, pieces := speechSource(notes, voice)
	samples := make([]float32, len(source))
	for i, x := range source {
		samples[i] = float32(x)
	}
	if err := soundfile.WriteWAV(filepath.Join(folder, fmt.Sprintf("s%d.wav", number)), samples, Rate); err != nil {
		return fmt.Errorf("render: %w", err)
	}
	end := float64(len(source)) / Rate
	var pitch, duration []point
	at := 0.0
	for _, p := range pieces {
		stretch := p.length / (p.to - p.from)
		edge := min(stretchEdge, (p.to-p.from)/4)
		duration = append(duration, point{p.from + edge, stretch}, point{p.to - edge, stretch})
		for t := 0.0; t < p.length; t += curveHop {
			pitch = append(pitch, point{p.from + t/stretch, hertz(pitchAt(notes, at+t))})
		}
		at += p.length
	}
	if err := writeTier(filepath.Join(folder, fmt.Sprintf("p%d.PitchTier", number)), "PitchTier", end, pitch); err != nil {
		return err
	}
	return writeTier(filepath.Join(folder, fmt.Sprintf("d%d.DurationTier", number)), "DurationTier", end, duration)
}

// point is one value of a tier at a time of the source, s.
type point struct{ t, value float64 }

// writeTier writes praat's short text format.
func writeTier(path, class string, end float64, points []point) error {
	var text bytes.Buffer
	fmt.Fprintf(&text, "File type = \"ooTextFile\"\nObject class = %q\n\n0\n%.6f\n%d\n", class, end, len(points))
	for _, p := range points {
		fmt.Fprintf(&text, "%.6f\n%.6f\n", p.t, p.value)
	}
	if err := os.WriteFile(path, text.Bytes(), 0o600); err != nil {
		return fmt.Errorf("render: %w", err)
	}
	return nil
}
