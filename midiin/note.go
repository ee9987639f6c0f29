package midiin

// Note is one played note.
type Note struct {
	Onset, Offset float64 // s since the zero of the file or of the session's clock; Offset >= Onset
	Released      float64 // s when the key went up; Offset is later where the sustain pedal held the note
	Key           int     // 0 to 127, the key that was struck
	Pitch         float64 // MIDI number as it sounded: Key plus pitch bend (the value held longest in the note)
	Velocity      int     // 1 to 127
	Channel       int     // 0 to 15
}
