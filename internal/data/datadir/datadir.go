// Package datadir finds the folder with the public recordings and transcriptions that larkhand is measured on. It is no part
// of the program; a machine without that folder builds and tests everything else.
//
// Non-goals: nothing is read, fetched or written here.
package datadir

import (
	"os"
	"path/filepath"
)

// Variable is the environment variable that names the folder.
const Variable = "LARKHAND_DATA"

// beside is where the folder lies relative to the repository's root where the variable is not set.
const beside = "../shared/data"

// Find returns the folder, and false where there is none. It looks at the environment variable, else beside the
// repository, whose root is the nearest folder upwards with a go.mod.
func Find() (string, bool) {
	folder := os.Getenv(Variable)
	if folder == "" {
		root, ok := repository()
		if !ok {
			return "", false
		}
		folder = filepath.Join(root, filepath.FromSlash(beside))
	}
	info, err := os.Stat(folder)
	return folder, err == nil && info.IsDir()
}

// repository is the nearest folder upwards from the working directory with a go.mod.
func repository() (string, bool) {
	at, err := os.Getwd()
	if err != nil {
		return "", false
	}
	for {
		if _, err := os.Stat(filepath.Join(at, "go.mod")); err == nil {
			return at, true
		}
		up := filepath.Dir(at)
		if up == at {
			return "", false
		}
		at = up
	}
}
