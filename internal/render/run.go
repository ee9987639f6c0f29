package render

import (
	"context"
	"fmt"
	"os/exec"
	"strings"
	"time"

	"larkhand/internal/soundfile"
)

// programLimit is the longest that one run of a program may take.
const programLimit = 2 * time.Minute

// missingPrograms names those that are not on the path.
func missingPrograms(names ...string) string {
	var absent []string
	for _, name := range names {
		if _, err := exec.LookPath(name); err != nil {
			absent = append(absent, name)
		}
	}
	if len(absent) == 0 {
		return ""
	}
	return strings.Join(absent, " and ") + " not installed"
}

// program runs a program in a folder; the error holds what it said last.
func program(ctx context.Context, folder, name string, args ...string) error {
	ctx, cancel := context.WithTimeout(ctx, programLimit)
	defer cancel()
	command := exec.CommandContext(ctx, name, args...)
	command.Dir = folder
	command.WaitDelay = time.Second
	said, err := command.CombinedOutput()
	if err != nil {
		text := strings.TrimSpace(string(said))
		return fmt.Errorf("render: %s: %w: %s", name, err, text[max(0, len(text)-200):])
	}
	return nil
}

// readBack reads what a program wrote.
func readBack(path string) ([]float64, error) {
	sound, err := soundfile.Read(path)
	if err != nil {
		return nil, fmt.Errorf("render: %w", err)
	}
	if sound.Rate != Rate {
		return nil, fmt.Errorf("render: %s has the rate %d Hz, want %d", path, sound.Rate, Rate)
	}
	out := make([]float64, len(sound.Samples))
	for i, x := range sound.Samples {
		out[i] = float64(x)
	}
	return out, nil
}
