package round

import (
	"slices"
	"testing"
)

// What screens are shown of numbers and letters, hearing again, pieces and the mark.
func TestViewBetweenSingingAndPlaying(t *testing.T) {
	setup := form(t)
	setup.Steps = true
	setup.Players = []Person{{Name: "Sunnel"}, {Name: "Ilvane"}}
	m := NewMachine(setup)
	if v := m.View(0); !v.Steps || !slices.Contains(v.Can, HearKey) || slices.Contains(v.Can, HearTake) || slices.Contains(v.Can, Misheard) {
		t.Errorf("before the start: %+v", v)
	}
	run(m, told()...)
	v := m.View(11)
	if v.PartName != "numbers" || !v.Open || v.SecondsLeft != 0 || v.Turn.Name != "Ilvane" || v.Prompt != "Ilvane: Write down the numbers of what was sung." {
		t.Errorf("numbers: %+v", v)
	}
	for _, a := range []Action{GoOn, Repeat, Skip, Stop, Steps, HearTake, HearNotes, HearKey, HearChord, SingAgain, Pieces, Misheard, Quit} {
		if !slices.Contains(v.Can, a) {
			t.Errorf("%s cannot be done in the numbers", a)
		}
	}
	run(m, press(12, HearNotes))
	if v := m.View(12.5); v.Sounding != "what was understood of take 2" || v.Sound.Take != 2 || v.SoundFor != 0 {
		t.Errorf("asked for: %+v", v)
	}
	run(m, began(13, 4), press(13.5, Misheard), press(13.6, Steps), press(13.7, Pieces))
	if v := m.View(14); v.SoundFor != 1 || !v.Misheard || v.Steps || !v.InPieces || v.Piece != 1 {
		t.Errorf("sounding, marked: %+v", v)
	}
	if v := m.View(17); v.Sounding != "" || v.SoundFor != 0 {
		t.Errorf("after its end: %+v", v)
	}
	run(m, write(18, "1 1"), write(19, "C C"))
	if v := m.View(19); v.Part != PartThinking || !v.Open || v.Prompt != "Ilvane: Play it when you are ready." {
		t.Errorf("thinking: %+v", v)
	}
	run(m, play(20, 60))
	if v := m.View(20.1); v.Piece != 1 || !v.Open || slices.Contains(v.Can, HearTake) || slices.Contains(v.Can, Pieces) || v.Prompt != "Ilvane: Play the phrase piece by piece; go on when it is whole." {
		t.Errorf("the first piece: %+v", v)
	}
	run(m, let(20.5, 60))
	for at, piece := range map[float64]int{21: 1, 21.9: 1, 22.1: 2} { // 1.5 s after the last key was let go
		if v := m.View(at); v.Piece != piece || !slices.Contains(v.Can, HearTake) {
			t.Errorf("at %g s: %+v", at, v)
		}
	}
	run(m, press(23, GoOn))
	if v := m.View(23); v.Part != PartVerdict || !v.Misheard || slices.Contains(v.Can, SingAgain) || !slices.Contains(v.Can, Misheard) || !slices.Contains(v.Can, HearTake) {
		t.Errorf("verdict: %+v", v)
	}
	run(m, press(24, GoOn))
	if v := m.View(24); v.Misheard || v.InPieces || v.Piece != 0 {
		t.Errorf("the next round: %+v", v)
	}
}
