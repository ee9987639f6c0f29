package screen

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/adrg/xdg"
	"github.com/pelletier/go-toml/v2"

	"larkhand/internal/safefile"
)

// SettingsFile is where settings are remembered: practice.toml in the user's folder for settings. Neither has to be there.
func SettingsFile() string { return filepath.Join(xdg.ConfigHome, "larkhand", "practice.toml") }

// LoadSettings reads remembered settings. A file that is not there gives the usual ones, as does a setting that it does not hold.
func LoadSettings(path string) (Settings, error) {
	s := Usual()
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return s, nil
	}
	if err != nil {
		return s, fmt.Errorf("cannot read the settings: %w", err)
	}
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&s); err != nil {
		place := ""
		var wrong *toml.DecodeError
		if errors.As(err, &wrong) {
			line, _ := wrong.Position()
			place = fmt.Sprintf(", line %d", line)
		}
		return Usual(), fmt.Errorf("the settings in %s%s cannot be read (%w): mend or delete that file", path, place, err)
	}
	return s, nil
}

// SaveSettings remembers settings: the whole file or nothing, in a folder that is made where needed.
func SaveSettings(path string, s Settings) error {
	text, err := toml.Marshal(s)
	if err == nil {
		err = replace(path, text)
	}
	if err != nil {
		return fmt.Errorf("cannot remember the settings: %w", err)
	}
	return nil
}

// replace writes the file whole or not at all.
func replace(path string, text []byte) error {
	const folderMode, fileMode = 0o700, 0o600 // for the owner alone
	if err := os.MkdirAll(filepath.Dir(path), folderMode); err != nil {
		return err
	}
	return safefile.WriteBytes(path, fileMode, text)
}
