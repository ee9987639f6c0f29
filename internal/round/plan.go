package round

// This file is what the machine is told of the next round by whoever plans it.

// takePlan takes the key that is planned for the next round, in semitones above the setup's. It counts between rounds alone, so that nothing that sounds
// is changed by it, and stays behind a key that the player asked for.
func (m *Machine) takePlan(shift int) {
	between := m.part == PartVerdict || m.part == PartIdle
	if !between || m.next.shift != m.shift {
		return
	}
	shift = mod12(shift)
	m.planned = &shift
}

// heedPlan lets the next round lie in the key that is planned.
func (m *Machine) heedPlan() {
	m.next.shift = m.nextShift()
	m.planned = nil
}

// nextShift is where the next round lies, in semitones above the setup.
func (m *Machine) nextShift() int {
	if m.planned != nil {
		return *m.planned
	}
	return m.next.shift
}

// KeyAsked is true where the player asked for another key for the next round.
func (m *Machine) KeyAsked() bool { return m.next.shift != m.shift }

// NextTurn tells who sings and who plays in the next round, as indices into Setup.Players; within a round it is this one.
func (m *Machine) NextTurn() (singer, player int) { return m.singer(), m.player() }
