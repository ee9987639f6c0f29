package progress

import (
	"math"
	"slices"
	"time"

	"larkhand/hunt"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/internal/stats"
	"larkhand/match"
	"larkhand/voice"
)

// Round is one judged round, as far as progress needs it.
type Round struct {
	At           time.Time // when it began
	Sang, Played bool      // what the player whose progress it is did in it
	Key          string    // "C minor"
	Tempo        float64   // quarter notes a minute; NaN without a loop
	Label        hunt.Label
	Response     float64      // s; NaN where not known
	Takes        [2]Centring  // take 1 and take 2
	Agreement    Agreement    // of the two takes
	Seconds      float64      // from the first onset of the phrase to the last, in the last take
	Pieces       bool         // the answer was played in pieces
	Heard        bool         // something was sounded for the player between the takes and the answer: key, chord, a take or its notes
	Notes        []Note       // of the phrase, in order
	Links        []LinkResult // between voice and fingers, in order; nil where nothing was written down
}

// Centring says how centred and steady a take is: medians over its clear notes. Both are NaN where nothing was sung.
type Centring struct {
	CentreCents float64 // distance from the tempered pitch, 0 or more
	SpreadCents float64 // interquartile range of the pitch, 0 or more
}

// Agreement says whether take 2 is the phrase of take 1.
type Agreement uint8

// What two takes have to do with one another.
const (
	OneTake Agreement = iota
	SamePhrase
	OtherPhrase
)

// Note is one note of the phrase and what became of it.
type Note struct {
	Degree  string        // "b3"
	Step    int           // semitones from the note before, up is positive; NoStep where it is not known
	Verdict match.Verdict // never Added
	Kinds   Kinds         // evidence that leads to this note
	Outside bool          // the key has no such note
	Pitch   int           // MIDI number of the likeliest tempered pitch
}

// NoStep stands for "no interval": the first note of a phrase, and notes beside an unclear one.
const NoStep = math.MinInt8

// Kinds is a set of kinds of evidence.
type Kinds uint8

// AllKinds are the kinds of evidence in the order of the bits of Kinds: the first has bit 1.
var AllKinds = [...]hunt.Kind{hunt.Correction, hunt.Creep, hunt.Hesitation, hunt.Restart, hunt.Touch}

// KindOf is the set of one kind, empty for an unknown one.
func KindOf(k hunt.Kind) Kinds {
	for i, known := range AllKinds {
		if k == known {
			return 1 << i
		}
	}
	return 0
}

// Has reports whether the kind is in the set.
func (s Kinds) Has(k hunt.Kind) bool { return s&KindOf(k) != 0 }

// trouble reports whether the note was wrong, left out or groped for.
func (n *Note) trouble() bool {
	return n.Verdict == match.Different || n.Verdict == match.LeftOut || n.counts() && n.Kinds != 0
}

// counts reports whether the note has a say: the voice was clear.
func (n *Note) counts() bool { return n.Verdict != match.Unclear }

// tries are the kinds that are played notes before the right one.
var tries = KindOf(hunt.Correction) | KindOf(hunt.Creep) | KindOf(hunt.Restart) | KindOf(hunt.Touch)

// firstTouch reports whether the note was played as sung, without another one before it.
func (n *Note) firstTouch() bool { return n.Verdict == match.Same && n.Kinds&tries == 0 }

// outcome of a round for what is mastered: 1 it held, 0 it did not, open where that cannot be told or where the phrase was not played as a
// whole, from memory alone.
type outcome int8

const (
	failed outcome = iota
	held
	open
)

func (r *Round) outcome() outcome {
	if r.Pieces || r.Heard || r.unclear() {
		return open
	}
	for i := range r.Notes {
		if n := &r.Notes[i]; n.Verdict == match.Different || n.Verdict == match.LeftOut {
			return failed
		}
	}
	switch r.Label {
	case hunt.Known:
		return held
	case hunt.Searched:
		return failed
	}
	return open
}

// Where the voice does not decide, as package steps has it: so many notes, and one in so many.
const (
	fewUnclear   = 2
	unclearShare = 3
)

// unclear reports whether the voice does not say what the phrase was.
func (r *Round) unclear() bool {
	n := 0
	for i := range r.Notes {
		if !r.Notes[i].counts() {
			n++
		}
	}
	return n >= fewUnclear && unclearShare*n >= len(r.Notes)
}

// timed reports whether the response time is one: from the end of singing to the first note, with nothing done between.
func (r *Round) timed() bool {
	return !math.IsNaN(r.Response) && !r.Pieces && !r.Heard && r.Links == nil
}

// largestStep is the widest interval of the phrase in semitones, 0 where none is known.
func (r *Round) largestStep() int {
	widest := 0
	for i := range r.Notes {
		if n := &r.Notes[i]; n.Step != NoStep {
			widest = max(widest, n.Step, -n.Step)
		}
	}
	return widest
}

// Row makes the row of a judged round.
func Row(r round.Round, at time.Time, sang, played bool) Round {
	row := Round{
		At: at, Sang: sang, Played: played, Key: r.Key.String(), Tempo: math.NaN(),
		Label: r.Finding.Label, Response: math.NaN(), Takes: [2]Centring{unsung, unsung}, Notes: NotesOf(r), Links: LinksOf(r),
		Pieces: len(r.Pieces) > 0, Heard: HeardAny(r.Helped),
	}
	if n := len(r.Phrase); n > 0 {
		row.Seconds = r.Phrase[n-1].Onset - r.Phrase[0].Onset
	}
	if r.Loop != nil {
		row.Tempo = r.Loop.Tempo
	}
	if r.ResponseSeconds != nil {
		row.Response = *r.ResponseSeconds
	}
	for i, take := range r.Takes {
		row.Takes[i] = CentringOf(take)
	}
	if r.Agreement != nil {
		row.Agreement = OtherPhrase
		if r.Agreement.SamePhrase {
			row.Agreement = SamePhrase
		}
	}
	return row
}

// HeardAny reports whether something was sounded for the player before the answer.
func HeardAny(h round.Helped) bool {
	h.SungAgain = 0 // is no sound
	return !h.Zero()
}

var unsung = Centring{math.NaN(), math.NaN()}

// CentringOf is how centred and steady a take is.
func CentringOf(take round.Take) Centring {
	if take.Written {
		return unsung
	}
	return Centring{
		CentreCents: medianOfClear(take.Voice.Notes, func(n voice.Note) float64 { return math.Abs(n.CentreCents) }),
		SpreadCents: medianOfClear(take.Voice.Notes, func(n voice.Note) float64 { return n.SpreadCents }),
	}
}

func medianOfClear(notes []voice.Note, quantity func(voice.Note) float64) float64 {
	var values []float64
	for _, n := range notes {
		if !n.Unclear {
			values = append(values, quantity(n))
		}
	}
	return stats.Median(values)
}

// NotesOf are the notes of a round's phrase.
func NotesOf(r round.Round) []Note {
	notes := make([]Note, len(r.Phrase))
	for i, s := range r.Phrase {
		notes[i] = Note{Degree: r.Key.Degree(s.Semitone, r.Numbering), Step: NoStep, Verdict: match.Unclear,
			Pitch: s.Semitone, Outside: Outside(r.Key, s.Semitone)}
		if i > 0 && !s.Unclear && !r.Phrase[i-1].Unclear {
			notes[i].Step = within(s.Semitone-r.Phrase[i-1].Semitone, widestStep)
		}
	}
	for _, p := range r.Alignment.Pairs {
		if p.Sung != match.None {
			notes[p.Sung].Verdict = p.Verdict
		}
	}
	for _, e := range r.Finding.Evidence {
		if at := Target(e); at != match.None {
			notes[at].Kinds |= KindOf(e.Kind)
		}
	}
	return notes
}

// Outside reports whether a key has no such note.
func Outside(k music.Key, midi int) bool {
	const octave = 12 // semitones
	return !slices.Contains(k.PitchClasses(), (midi%octave+octave)%octave)
}

// widestStep is the widest interval that a row holds, semitones: four octaves are beyond any voice.
const widestStep = 48

func within(n, most int) int { return max(-most, min(n, most)) }

// Target is the sung note that evidence leads to: the last one that it names; match.None where it names none.
func Target(e hunt.Evidence) int {
	if len(e.Sung) == 0 {
		return match.None
	}
	return e.Sung[len(e.Sung)-1]
}
