package round

import "testing"

// The key or pedal that is to go on is learned by pressing it: it does nothing the first time and goes on from then on.
func TestLearningWhatGoesOn(t *testing.T) {
	m := NewMachine(Setup{Timing: NoLoop})
	at := 0.0
	give := func(e Event) []Command {
		at++
		e.Time = at
		return m.Handle(e)
	}
	press := func(a Action) []Command { return give(Event{Kind: Pressed, Action: a}) }
	press(Learn)
	if v := m.View(at); !v.Learning || v.GoOnKey != 0 {
		t.Fatalf("learning %v, key %d", v.Learning, v.GoOnKey)
	}
	if commands := give(Event{Kind: NotePlayed, Key: 36}); len(commands) > 0 || m.View(at).Part != PartIdle {
		t.Errorf("the key that is learned does something: %v", commands)
	}
	if v := m.View(at); v.Learning || v.GoOnKey != 36 || m.GoOnKey() != 36 {
		t.Errorf("learning %v, key %d", v.Learning, v.GoOnKey)
	}
	give(Event{Kind: NotePlayed, Key: 36})
	if v := m.View(at); v.Part != PartTake1 {
		t.Errorf("the learned key does not go on: %v", v.Part)
	}
	press(Stop)
	press(Learn)
	give(Event{Kind: PedalDown})
	if v := m.View(at); !v.GoOnPedal || v.GoOnKey != 0 || v.Part != PartIdle {
		t.Errorf("pedal %v, key %d, %v", v.GoOnPedal, v.GoOnKey, v.Part)
	}
	give(Event{Kind: PedalDown})
	if v := m.View(at); v.Part != PartTake1 {
		t.Errorf("the pedal does not go on: %v", v.Part)
	}
	press(Learn)
	press(Learn)
	if v := m.View(at); v.Learning {
		t.Error("a second key press does not end the learning")
	}
}

// What is played as an answer is never taken for a key to be learned.
func TestNothingIsLearnedFromAnAnswer(t *testing.T) {
	m := NewMachine(Setup{Timing: NoLoop})
	at := 0.0
	press := func(a Action) {
		at++
		m.Handle(Event{Kind: Pressed, Action: a, Time: at})
	}
	for _, step := range []struct {
		part Part
		may  bool
	}{{PartTake1, true}, {PartTake2, false}, {PartThinking, false}} {
		press(GoOn)
		if got := m.View(at).Part; got != step.part {
			t.Fatalf("part %v, want %v", got, step.part)
		}
		press(Learn)
		if got := m.View(at).Learning; got != step.may {
			t.Errorf("%v: learning %v, want %v", step.part, got, step.may)
		}
	}
	m.Handle(Event{Kind: NotePlayed, Key: 60, Time: at + 1})
	if v := m.View(at + 1); v.GoOnKey != 0 || v.Part != PartAnswer {
		t.Errorf("key %d, part %v", v.GoOnKey, v.Part)
	}
}
