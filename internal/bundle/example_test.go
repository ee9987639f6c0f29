package bundle_test

import (
	"bytes"
	"fmt"
	"time"

	"larkhand/internal/bundle"
)

func Example() {
	made := time.Date(2026, 3, 4, 18, 30, 0, 0, time.UTC)
	var file bytes.Buffer
	w := bundle.NewZip(&file, "1.0.0", made)
	round := bundle.Round{UID: "20260304-183000-00000001", At: made, Played: "Ann", Key: "C minor"}
	err := w.Round(round, []bundle.Piece{
		{Name: "take1.flac", Role: bundle.Take, Data: []byte("fLaC ...")},
		{Name: "answer.mid", Role: bundle.Answer, Data: []byte("MThd ...")},
	})
	if err != nil {
		panic(err)
	}
	if err := w.Close(); err != nil {
		panic(err)
	}
	r, err := bundle.Read("ann.zip", bytes.NewReader(file.Bytes()), int64(file.Len()), bundle.Usual)
	if err != nil {
		panic(err)
	}
	c, err := r.Round(r.Manifest.Rounds[0])
	fmt.Printf("%s, %q, %v\n", r.Manifest.Rounds[0].Played, c.Answer, err)
	// Output: Ann, "MThd ...", <nil>
}
