package midiin

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// pianoFolder is the folder of 1,123 real performances (Tominaga, Knoblich, Sebanz, Scientific Reports 12, 21296, 2022,
// experiment 1), which is not part of this project.
func pianoFolder(t *testing.T) string {
	data := os.Getenv("LARKHAND_DATA")
	if data == "" {
		data = filepath.Join("..", "..", "shared", "data")
	}
	folder := filepath.Join(data, "piano")
	if _, err := os.Stat(filepath.Join(folder, "index.csv")); err != nil {
		t.Skip("skipped: no data")
	}
	return folder
}

// pianoIndex reads index.csv: for each performance a map from the column's name to its value.
func pianoIndex(t *testing.T, folder string) []map[string]string {
	f, err := os.Open(filepath.Join(folder, "index.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var index []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, column := range rows[0] {
			m[column] = row[i]
		}
		index = append(index, m)
	}
	return index
}

// TestRealPerformances: every file has the notes that the index of the data counts. What DropGhosts would take from these
// true notes of 35 pianists, staccato and soft playing too, is its cost: at most 1 in 10,000.
func TestRealPerformances(t *testing.T) {
	folder := pianoFolder(t)
	total, dropped := 0, 0
	for _, row := range pianoIndex(t, folder) {
		f, err := ReadFile(filepath.Join(folder, "mid", row["id"]+".mid"))
		if err != nil {
			t.Fatal(err)
		}
		if len(f.Remarks) > 0 {
			t.Errorf("%s: remarks %q", row["id"], f.Remarks)
		}
		notes, _ := Notes(f, Options{})
		checkNotes(t, notes)
		if want, _ := strconv.Atoi(row["notes"]); len(notes) != want {
			t.Errorf("%s: %d notes, the index says %d", row["id"], len(notes), want)
		}
		if row["edit_distance"] == "0" {
			_, ghosts := DropGhosts(notes)
			total, dropped = total+len(notes), dropped+ghosts
		}
	}
	t.Logf("ghosts taken from %d true notes: %d", total, dropped)
	if dropped*10_000 > total {
		t.Errorf("%d of %d true notes would be dropped as ghosts", dropped, total)
	}
}
