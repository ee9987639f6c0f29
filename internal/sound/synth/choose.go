package synth

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
)

// PlainName is what a player writes in place of a font's path to get the own plain sounds.
const PlainName = "plain"

// maxFoundBytes is the largest font that is taken without being asked for: a larger one takes seconds to read (own choice; the common small ones have
// 3 to 32 MB, FluidR3_GM has 148).
const maxFoundBytes = 64 << 20

// systemFonts is where Linux systems keep SoundFonts.
const systemFonts = "/usr/share/sounds/sf2"

// Choose finds the synthesizer for a rate in Hz: the font of the flag; else the font of the configuration; else the first font that works in
// the user's folder ($XDG_DATA_HOME/larkhand, in ~/.local/share where that is not set), then of the system; else the plain sounds. Flag and configuration may
// say PlainName, or nothing. A font that was asked for by the flag must work; of the others remarks say why they were passed over.
func Choose(flag, config string, rate int) (s Synth, remarks []string, err error) {
	return choose(flag, config, fontFolders(), rate)
}

// fontFolders are the folders that are searched.
func fontFolders() (folders []string) {
	data := os.Getenv("XDG_DATA_HOME")
	if home, err := os.UserHomeDir(); !filepath.IsAbs(data) && err == nil { // the base directory specification wants relative ones ignored
		data = filepath.Join(home, ".local", "share")
	}
	if filepath.IsAbs(data) {
		folders = append(folders, filepath.Join(data, "larkhand"))
	}
	return append(folders, systemFonts)
}

func choose(flag, config string, folders []string, rate int) (s Synth, remarks []string, err error) {
	if flag != "" {
		s, err = open(flag, rate)
		return s, nil, err
	}
	if config != "" {
		if s, err = open(config, rate); err == nil {
			return s, nil, nil
		}
		remarks = append(remarks, err.Error())
	}
	for _, path := range found(folders) {
		info, err := os.Stat(path)
		if err == nil && info.Size() > maxFoundBytes {
			remarks = append(remarks, fmt.Sprintf("the SoundFont %s has %d MB and is passed over; name it to use it", path, info.Size()>>20))
			continue
		}
		if s, err = OpenFont(path, rate); err == nil {
			return s, remarks, nil
		}
		remarks = append(remarks, err.Error())
	}
	s, err = Plain(rate)
	return s, remarks, err
}

func open(name string, rate int) (Synth, error) {
	if name == PlainName {
		return Plain(rate)
	}
	return OpenFont(name, rate)
}

// found lists the fonts in the folders, in each by name.
func found(folders []string) (paths []string) {
	for _, folder := range folders {
		entries, _ := os.ReadDir(folder) // a folder that is not there or cannot be read has no fonts
		var names []string
		for _, e := range entries {
			if filepath.Ext(e.Name()) == ".sf2" {
				names = append(names, e.Name())
			}
		}
		slices.Sort(names)
		for _, name := range names {
			paths = append(paths, filepath.Join(folder, name))
		}
	}
	return paths
}
