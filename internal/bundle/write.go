package bundle

import (
	"archive/zip"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"strings"
	"time"
)

// Writer writes a bundle file by file. Make one with NewZip or NewFolder, give it rounds, and Close it: the manifest comes last.
type Writer struct {
	manifest Manifest
	put      func(name string, data []byte) error
	finish   func() error
}

// Piece is a file of a round that is to be written.
type Piece struct {
	Name string // in the round's folder: "take1.flac"
	Role Role
	Data []byte
}

// NewZip writes a zip file to w. program is the version that writes.
func NewZip(w io.Writer, program string, made time.Time) *Writer {
	archive := zip.NewWriter(w)
	put := func(name string, data []byte) error {
		method := zip.Deflate
		if strings.HasSuffix(name, ".flac") { // packed already
			method = zip.Store
		}
		out, err := archive.CreateHeader(&zip.FileHeader{Name: name, Method: method, Modified: made})
		if err != nil {
			return err
		}
		_, err = out.Write(data)
		return err
	}
	return newWriter(program, made, put, archive.Close)
}

// NewFolder writes the files into a folder that is there.
func NewFolder(dir, program string, made time.Time) *Writer {
	put := func(name string, data []byte) error {
		to := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		return os.WriteFile(to, data, 0o644)
	}
	return newWriter(program, made, put, func() error { return nil })
}

func newWriter(program string, made time.Time, put func(string, []byte) error, finish func() error) *Writer {
	return &Writer{manifest: Manifest{Schema: Schema, Program: program, Made: made, Rounds: []Round{}, Files: []File{}}, put: put, finish: finish}
}

// Round adds a round with its files; r.Files is made here.
func (w *Writer) Round(r Round, pieces []Piece) error {
	r.Files = []File{}
	for _, p := range pieces {
		name := path.Join("rounds", r.UID, p.Name)
		if err := checkName(name); err != nil {
			return fmt.Errorf("bundle: %w", err)
		}
		if err := w.put(name, p.Data); err != nil {
			return err
		}
		r.Files = append(r.Files, fileOf(name, p.Role, p.Data))
	}
	w.manifest.Rounds = append(w.manifest.Rounds, r)
	return nil
}

// File adds a copy for other programs that belongs to no round, such as rounds.csv.
func (w *Writer) File(name string, data []byte) error {
	if err := w.put(name, data); err != nil {
		return err
	}
	w.manifest.Files = append(w.manifest.Files, fileOf(name, Copy, data))
	return nil
}

// Rounds is how many rounds were written.
func (w *Writer) Rounds() int { return len(w.manifest.Rounds) }

// Close writes the manifest and ends the zip file. Nothing may be written afterwards.
func (w *Writer) Close() error {
	data, err := json.MarshalIndent(w.manifest, "", " ")
	if err != nil {
		return err
	}
	if err := w.put(ManifestName, append(data, '\n')); err != nil {
		return err
	}
	return w.finish()
}
