package journal

import (
	"path/filepath"

	"github.com/adrg/xdg"
)

// Names inside the journal's folder.
const (
	databaseName  = "journal.db"
	roundsName    = "rounds"
	partsName     = "parts"
	recordingName = "recording"
	lockName      = "lock"
	recordName    = "round.json"
)

// folderName is that of larkhand below the folders that XDG gives.
const folderName = "larkhand"

// DefaultDir is where the journal lies unless another folder is named: larkhand below $XDG_DATA_HOME, which is ~/.local/share
// where it is not set. Nothing is made.
func DefaultDir() string {
	return filepath.Join(xdg.DataHome, folderName) // xdg.DataFile would make the folder
}

// Paths tells where things lie.
type Paths struct {
	Dir       string // the whole journal
	Database  string // a file
	Rounds    string // takes and answers, a folder a month and one a round
	Recording string // rounds that are being sung
}

// Where tells where the things of a journal in dir lie. Nothing is made, and nothing need be there.
func Where(dir string) Paths {
	return Paths{
		Dir:       dir,
		Database:  filepath.Join(dir, databaseName),
		Rounds:    filepath.Join(dir, roundsName),
		Recording: filepath.Join(dir, recordingName),
	}
}

// Where tells where the things of this journal lie.
func (j *Journal) Where() Paths { return Where(j.dir) }
