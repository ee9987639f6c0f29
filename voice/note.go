package voice

// Frame is what the voice did around one moment. Frames lie every Hop seconds.
type Frame struct {
	Time   float64 // s since the first sample; the frame is centred here
	F0     float64 // Hz, 60 to 1100; NaN where unvoiced
	Voiced float64 // how periodic the sound is, 0 to 1
	Level  float64 // dBFS (RMS, full-scale sine = -3.01); -100 is the floor
}

// Note is one sung note.
type Note struct {
	Onset, Offset float64 // s since the first sample; Offset > Onset
	Pitch         float64 // MIDI number as it sounded, A4 = 69 = 440 Hz; 69.25 is A4 plus 25 cents
	Semitone      int     // likeliest tempered pitch, MIDI number, judged against the take's own moving reference
	// Chance holds the probabilities that the singer meant Semitone-1, Semitone and Semitone+1; they sum to 1.
	Chance         [3]float64
	ReferenceCents float64 // where the take's own tuning lay at this note, cents above A4 = 440 Hz temperament
	CentreCents    float64 // distance from the tempered pitch on the take's own tuning: 100*(Pitch-Semitone) - ReferenceCents
	SpreadCents    float64 // interquartile range of the pitch inside the note
	Level          float64 // dBFS, median inside the note
	Confidence     float64 // 0 to 1: that this is one note of its own and was meant as Semitone
	Unclear        bool    // the voice does not decide: between two pitches, too short, or barely voiced
}

// Take is one singing of a phrase, analysed.
type Take struct {
	Duration    float64 // s
	TuningCents float64 // the take's own tuning: median of the notes' ReferenceCents; 0 without notes
	Clarity     float64 // share of the loud frames that have one clear pitch, 0 to 1: near 1 for one voice, low for noise or several instruments
	Frames      []Frame
	Notes       []Note
}
