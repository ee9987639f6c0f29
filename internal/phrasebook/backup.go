package phrasebook

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"larkhand/internal/safefile"
)

// Check reads all phrases, the removed ones too: how many can be read, and a sentence for each file that cannot.
func (b Book) Check() (phrases int, problems []string) {
	for _, dir := range b.folders() {
		kept, err := list(dir)
		phrases += len(kept)
		problems = append(problems, sentences(err)...)
	}
	return phrases, problems
}

// sentences are those of the errors that were joined.
func sentences(err error) []string {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		var all []string
		for _, e := range joined.Unwrap() {
			all = append(all, e.Error())
		}
		return all
	}
	if err != nil {
		return []string{err.Error()}
	}
	return nil
}

// Backup copies all phrases, the removed ones too, into another folder, and gives how many files it wrote: those that are there
// already and the same are left alone. What the other folder has and this one has no more stays there; but a phrase that has since been
// removed or restored is not there twice. Files that are no phrases, damaged ones for instance, are copied as they are.
func (b Book) Backup(to Book) (copied int, err error) {
	from, target := b.folders(), to.folders()
	for i := range from {
		names, err := fileNames(from[i])
		if err != nil {
			return copied, err
		}
		for _, name := range names {
			wrote, err := copyPhrase(filepath.Join(from[i], name), filepath.Join(target[i], name))
			if err != nil {
				return copied, fmt.Errorf("the phrases could not be copied to %s: %w", to.dir, err)
			}
			if wrote {
				copied++
			}
			other := 1 - i // where it lay in the backup before it was removed or restored
			if _, err := os.Lstat(filepath.Join(from[other], name)); !errors.Is(err, fs.ErrNotExist) {
				continue
			}
			if err := os.Remove(filepath.Join(target[other], name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return copied, fmt.Errorf("the phrases could not be copied to %s: %w", to.dir, err)
			}
		}
	}
	return copied, nil
}

// folders are that of the phrases and that of the removed ones.
func (b Book) folders() [2]string { return [2]string{b.dir, filepath.Join(b.dir, removedName)} }

// fileNames are the names of the phrases' files in a folder; none where there is no such folder.
func fileNames(dir string) ([]string, error) {
	files, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("the phrases in %s cannot be read: %w", dir, err)
	}
	var names []string
	for _, f := range files {
		if f.Type().IsRegular() && strings.HasSuffix(f.Name(), suffix) && !strings.HasPrefix(f.Name(), ".") {
			names = append(names, f.Name())
		}
	}
	return names, nil
}

// copyPhrase copies a file unless the same is there.
func copyPhrase(from, to string) (wrote bool, err error) {
	info, err := os.Stat(from)
	if err != nil {
		return false, err
	}
	if info.Size() > longestFile {
		return false, fmt.Errorf("%s is too long for a phrase; move it out of the folder", from)
	}
	data, err := os.ReadFile(from)
	if err != nil {
		return false, err
	}
	if there, err := os.ReadFile(to); err == nil && bytes.Equal(there, data) {
		return false, nil
	}
	if err := os.MkdirAll(filepath.Dir(to), dirMode); err != nil {
		return false, err
	}
	return true, safefile.Write(to, fileMode, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}
