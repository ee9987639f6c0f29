package bundle

import (
	"archive/zip"
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
)

// Reader is an open bundle. Its methods may be called from several goroutines.
type Reader struct {
	Name     string // as it was named to Open
	Manifest Manifest
	limits   Limits
	entries  map[string]entry
	closing  io.Closer
}

// entry is a file of the bundle as it lies there.
type entry struct {
	open   func() (io.ReadCloser, error)
	packed int64 // bytes it takes up in the bundle
}

// Contents are the bytes of a round's files, as long and with the checksums that the manifest says.
type Contents struct {
	Takes  [][]byte
	Answer []byte
	Result []byte // JSON; nil where there is none

	Backings      [][]byte
	Path, Hearing []byte // JSON; nil where there is none
}

// Open opens a zip file or a folder that "larkhand export" wrote and checks everything but the files' contents.
func Open(path string) (*Reader, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", path, cause(err))
	}
	if info.IsDir() {
		return openFolder(path, Usual)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", path, cause(err))
	}
	r, err := Read(path, f, info.Size(), Usual)
	if err != nil {
		f.Close()
		return nil, err
	}
	r.closing = f
	return r, nil
}

// Read reads a bundle that is a zip file of so many bytes. Errors begin with name.
func Read(name string, from io.ReaderAt, size int64, lim Limits) (*Reader, error) {
	r := &Reader{Name: name, limits: lim, entries: map[string]entry{}}
	archive, err := zip.NewReader(from, size)
	if err != nil {
		return nil, fmt.Errorf("%s is no zip file or a damaged one; name a file that \"larkhand export\" wrote", name)
	}
	if len(archive.File) > lim.Entries {
		return nil, fmt.Errorf("%s holds %d files, more than the %d that are read; export fewer rounds at a time", name, len(archive.File), lim.Entries)
	}
	if err := apart(archive, size); err != nil {
		return nil, fmt.Errorf("%s %w", name, err)
	}
	names := nameSet{}
	for _, f := range archive.File {
		plain := strings.TrimSuffix(f.Name, "/")
		if err := checkName(plain); err != nil {
			return nil, fmt.Errorf("%s %w", name, err)
		}
		if !names.add(plain) {
			return nil, fmt.Errorf("%s is refused: it holds the file %q twice", name, plain)
		}
		if f.Mode().IsDir() {
			continue
		}
		if !f.Mode().IsRegular() {
			return nil, fmt.Errorf("%s is refused: %q in it is a link or a device and no file", name, f.Name)
		}
		r.entries[f.Name] = entry{f.Open, int64(f.CompressedSize64)}
	}
	return r, r.readManifest()
}

// apart refuses files that share bytes of the zip file, by which few bytes become many (Fifield 2019, "A better zip bomb", WOOT).
func apart(archive *zip.Reader, size int64) error {
	type span struct{ from, to int64 }
	var spans []span
	for _, f := range archive.File {
		from, err := f.DataOffset()
		if err != nil {
			return errors.New("is a damaged zip file; export or copy it again")
		}
		to := from + int64(f.CompressedSize64)
		if to < from || to > size {
			return errors.New("is a damaged zip file; export or copy it again")
		}
		spans = append(spans, span{from, to})
	}
	slices.SortFunc(spans, func(a, b span) int { return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to)) })
	for i := 1; i < len(spans); i++ {
		if spans[i].from < spans[i-1].to {
			return errors.New("is refused: files in it lie over one another, as in a zip bomb")
		}
	}
	return nil
}

// openFolder reads a bundle that is a folder. No link is followed, in it or out of it.
func openFolder(path string, lim Limits) (*Reader, error) {
	root, err := os.OpenRoot(path)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", path, cause(err))
	}
	r := &Reader{Name: path, limits: lim, entries: map[string]entry{}, closing: root}
	if info, err := root.Lstat(ManifestName); err != nil || !info.Mode().IsRegular() {
		root.Close()
		return nil, fmt.Errorf("%s holds no %s; name a folder or a zip file that \"larkhand export\" wrote", path, ManifestName)
	}
	r.entries[ManifestName] = r.inFolder(root, ManifestName)
	if err := r.readManifest(); err != nil {
		root.Close()
		return nil, err
	}
	add := func(files []File) {
		for _, f := range files {
			r.entries[f.Name] = r.inFolder(root, f.Name)
		}
	}
	for _, round := range r.Manifest.Rounds {
		add(round.Files)
	}
	add(r.Manifest.Files)
	return r, nil
}

// inFolder is a file below a root; each part of its name must be a folder and no link.
func (r *Reader) inFolder(root *os.Root, name string) entry {
	return entry{open: func() (io.ReadCloser, error) {
		for at, c := range name {
			if c != '/' {
				continue
			}
			if info, err := root.Lstat(name[:at]); err != nil || !info.IsDir() {
				return nil, missingOr(err, errLink)
			}
		}
		info, err := root.Lstat(name)
		if err != nil || !info.Mode().IsRegular() {
			return nil, missingOr(err, errLink)
		}
		return root.Open(name)
	}, packed: r.limits.CopyBytes} // nothing is packed in a folder
}

var errLink = errors.New("is a link or a device and no file")

func missingOr(err, other error) error {
	if err != nil {
		return err
	}
	return other
}

// readManifest reads manifest.json.
func (r *Reader) readManifest() error {
	if _, there := r.entries[ManifestName]; !there {
		return fmt.Errorf("%s is no larkhand bundle: it holds no %s; name a file that \"larkhand export\" wrote", r.Name, ManifestName)
	}
	data, err := r.read(ManifestName, r.limits.ManifestBytes)
	if err != nil {
		return err
	}
	m, err := readManifest(data, r.limits)
	if err != nil {
		return fmt.Errorf("%s %w", r.Name, err)
	}
	r.Manifest = m
	return nil
}

// read unpacks a file of at most so many bytes, counting while it reads.
func (r *Reader) read(name string, most int64) ([]byte, error) {
	e, there := r.entries[name]
	if !there {
		return nil, fmt.Errorf("%s lacks the file %q, which its manifest names; export the rounds again", r.Name, name)
	}
	from, err := e.open()
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%s lacks the file %q, which its manifest names; export the rounds again", r.Name, name)
	case errors.Is(err, errLink):
		return nil, fmt.Errorf("%s is refused: %q in it %w", r.Name, name, err)
	case err != nil:
		return nil, fmt.Errorf("%s: the file %q cannot be read (%w); export or copy it again", r.Name, name, cause(err))
	}
	defer from.Close()
	byRatio := max(r.limits.RatioFrom, e.packed*r.limits.Ratio)
	var out bytes.Buffer
	n, err := io.Copy(&out, io.LimitReader(from, min(most, byRatio)+1))
	switch {
	case n > byRatio:
		return nil, fmt.Errorf("%s is refused: the file %q unpacks to more than %d times its size, as in a zip bomb", r.Name, name, r.limits.Ratio)
	case n > most:
		return nil, fmt.Errorf("%s is refused: the file %q is longer than %d bytes", r.Name, name, most)
	case err != nil:
		return nil, fmt.Errorf("%s: the file %q is damaged; export or copy it again", r.Name, name)
	}
	return out.Bytes(), nil
}

// contents reads a file and compares it with the manifest.
func (r *Reader) contents(f File) ([]byte, error) {
	data, err := r.read(f.Name, f.Bytes)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(data)
	if int64(len(data)) != f.Bytes || !strings.EqualFold(hex.EncodeToString(sum[:]), f.SHA256) {
		return nil, fmt.Errorf("%s: the file %q is not the one that was exported (its checksum is another); export or copy it again", r.Name, f.Name)
	}
	return data, nil
}

// Round reads the files that a round is judged from, and what was said of it. Copies for other programs are not read.
func (r *Reader) Round(round Round) (Contents, error) {
	var c Contents
	for _, f := range round.Files {
		if mostOf[f.Role] == 0 {
			continue
		}
		data, err := r.contents(f)
		if err != nil {
			return Contents{}, err
		}
		switch f.Role {
		case Take:
			c.Takes = append(c.Takes, data)
		case Answer:
			c.Answer = data
		case Result:
			c.Result = data
		case Backing:
			c.Backings = append(c.Backings, data)
		case Path:
			c.Path = data
		case Hearing:
			c.Hearing = data
		}
	}
	return c, nil
}

// Close closes the file or the folder.
func (r *Reader) Close() error {
	if r.closing == nil {
		return nil
	}
	return r.closing.Close()
}

// cause is the system's own reason, without the operation and path that os errors put before it.
func cause(err error) error {
	var path *os.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}
