package journal

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"
)

// TestHearing: what lies beside the takes comes back as it was saved, is looked at like the takes, and goes with the round.
func TestHearing(t *testing.T) {
	j, err := Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	e := withFiles(t, plain(t, began))
	starts := -1.0
	e.Backings, e.Path = [][]byte{e.Takes[0], e.Takes[1]}, []byte(`{"Delay":0.01}`)
	e.Hearing = Hearing{BackingStarts: &starts, Alone: &[2]float64{0, 9.5}, TakeStarts: []float64{-10, 0}}
	id, err := j.Save(ctx, e)
	if err != nil {
		t.Fatal(err)
	}
	s, err := j.Round(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(s.Hearing, e.Hearing) || len(s.Takes) != 2 || len(s.Backings) != 2 || s.Path.State != Good || filepath.Base(s.Answer.Path) != "answer.mid" {
		t.Errorf("%+v, %d takes, %d backings, path %s, answer %s", s.Hearing, len(s.Takes), len(s.Backings), s.Path.State, s.Answer.Path)
	}
	if data, err := os.ReadFile(s.Path.Path); err != nil || string(data) != string(e.Path) {
		t.Errorf("%s, error %v", data, err)
	}
	for i, name := range []string{s.Backings[1].Path, filepath.Join(filepath.Dir(s.Path.Path), hearingName)} {
		if err := os.Remove(name); err != nil {
			t.Fatal(err)
		}
		s, err := j.Round(ctx, id)
		if err != nil || len(s.Remarks()) != i+1 {
			t.Errorf("%v, error %v", s.Remarks(), err)
		}
	}
	if health, err := j.Check(ctx); err != nil || len(health.Problems) != 2 {
		t.Errorf("%v, error %v", health.Problems, err)
	}
}

// TestHearingRefused: what cannot be judged with is not kept.
func TestHearingRefused(t *testing.T) {
	j, err := Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	good := withFiles(t, plain(t, began))
	for name, change := range map[string]func(*Entry){
		"more backings than takes": func(e *Entry) { e.Backings = [][]byte{e.Takes[0], e.Takes[0], e.Takes[0]} },
		"a backing that is MIDI":   func(e *Entry) { e.Backings = [][]byte{e.Answer} },
		"a path that is no JSON":   func(e *Entry) { e.Path = []byte("{") },
		"backings without takes":   func(e *Entry) { e.Takes, e.Answer, e.Backings = nil, nil, [][]byte{e.Takes[0]} },
	} {
		e := good
		change(&e)
		if _, err := j.Save(ctx, e); err == nil {
			t.Errorf("%s was kept", name)
		}
	}
	if health, err := j.Check(ctx); err != nil || health.Rounds != 0 || len(health.Problems) != 0 {
		t.Errorf("%+v, error %v", health, err)
	}
}
