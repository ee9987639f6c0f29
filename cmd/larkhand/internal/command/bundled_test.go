package command

import (
	"io/fs"
	"os"
	"path/filepath"

	"github.com/rogpeppe/go-internal/testscript"
)

// spoil is the script command "spoil FOLDER NAME": it changes the last byte of the first file of that name below a folder.
func spoil(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: spoil FOLDER NAME")
	}
	found := ""
	ts.Check(filepath.WalkDir(ts.MkAbs(args[0]), func(path string, entry fs.DirEntry, err error) error {
		if err == nil && found == "" && entry.Name() == args[1] {
			found = path
		}
		return err
	}))
	data, err := os.ReadFile(found)
	ts.Check(err)
	data[len(data)-1]++
	ts.Check(os.WriteFile(found, data, 0o644))
}
