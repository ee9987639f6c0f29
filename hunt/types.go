package hunt

// Kind is a kind of evidence that the answer was searched for.
type Kind string

// The kinds of evidence.
const (
	Correction Kind = "correction"
	Creep      Kind = "creep"
	Hesitation Kind = "hesitation"
	Restart    Kind = "restart"
	Touch      Kind = "touch"
)

// Label is the finding in one word.
type Label string

// The labels: Known below p = 0.5, Searched above 0.8, Unsure between.
const (
	Known    Label = "known"
	Unsure   Label = "unsure"
	Searched Label = "searched"
)

// Evidence is one place in the answer that speaks for searching.
type Evidence struct {
	Kind          Kind
	Onset, Offset float64 // s on the answer's clock
	Sung, Played  []int   // indices of the notes it is about; either may be empty
	Text          string  // one sentence for the player
	Weight        float64 // its share of the log-odds
}

// Finding says whether the answer was known or searched for.
type Finding struct {
	Searched float64 // probability that it was searched for, 0 to 1
	Label    Label
	Evidence []Evidence // in time order
}
