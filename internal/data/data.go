// Package data finds the public data that the project is measured on, and says where it is missing. The data are no part
// of the project; everything builds and its tests pass without them.
package data

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// Variable names the environment variable that holds the folder of the data.
const Variable = "LARKHAND_DATA"

// ErrMissing says that the data are not there.
var ErrMissing = errors.New("no data")

// Folder gives the folder of one set, such as "piano": in the folder that LARKHAND_DATA names, else in ../shared/data
// beside the project. The error wraps ErrMissing where there is none.
func Folder(set string) (string, error) {
	root := os.Getenv(Variable)
	if root == "" {
		project, err := projectFolder()
		if err != nil {
			return "", err
		}
		root = filepath.Join(project, "..", "shared", "data")
	}
	folder := filepath.Join(root, set)
	if info, err := os.Stat(folder); err != nil || !info.IsDir() {
		return "", fmt.Errorf("%w: put the set %s into a folder and name that folder in %s", ErrMissing, set, Variable)
	}
	return folder, nil
}

// projectFolder is the nearest folder above the working directory that holds go.mod.
func projectFolder() (string, error) {
	folder, err := os.Getwd()
	if err != nil {
		return "", fmt.Errorf("data: working directory: %w", err)
	}
	for {
		if _, err := os.Stat(filepath.Join(folder, "go.mod")); err == nil {
			return folder, nil
		}
		parent := filepath.Dir(folder)
		if parent == folder {
			return "", fmt.Errorf("%w: name their folder in %s, or work inside the project", ErrMissing, Variable)
		}
		folder = parent
	}
}
