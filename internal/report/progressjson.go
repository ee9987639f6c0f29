package report

import (
	"encoding/json"
	"io"
	"time"

	"larkhand/internal/progress"
	"larkhand/internal/stats"
)

// ProgressSchema is the name and version of ProgressDocument.
const ProgressSchema = "larkhand.progress/1"

// ProgressDocument is what a player's rounds show. Shares are 0 to 1, times s, deviation cents, intervals semitones. What is not known
// is null; no list is ever null.
type ProgressDocument struct {
	Schema    string            `json:"schema"` // ProgressSchema
	Player    string            `json:"player"`
	From      *time.Time        `json:"from"` // begin of the first round; null without rounds
	To        *time.Time        `json:"to"`   // begin of the last round
	Sessions  int               `json:"sessions"`
	Enough    bool              `json:"enough"` // answers enough to claim anything
	Summary   SummaryDocument   `json:"summary"`
	Settling  SettlingDocument  `json:"settling"`
	Recent    RecentDocument    `json:"recent"`
	Grain     string            `json:"grain"` // session, week, month: how long a point is
	Points    []PointDocument   `json:"points"`
	Trends    []TrendDocument   `json:"trends"`
	Habits    []HabitDocument   `json:"habits"`
	Trouble   []TroubleDocument `json:"trouble"`
	Length    MasteredDocument  `json:"length"` // phrase length that is mastered, notes
	Leap      MasteredDocument  `json:"leap"`   // largest leap that is mastered, semitones
	Steps     int               `json:"steps"`  // rounds in which the player wrote down numbers or letters
	Links     []LinksDocument   `json:"links"`  // between voice and fingers: those that were compared, in order
	Next      NextDocument      `json:"next"`
	Sentences []string          `json:"sentences"` // the most important first
}

// ShareDocument is hits among trials with Wilson's 95 % interval.
type ShareDocument struct {
	Hits   int    `json:"hits"`
	Trials int    `json:"trials"`
	Value  Number `json:"value"`
	Low    Number `json:"low"`
	High   Number `json:"high"`
}

// SpreadDocument is a median between its quartiles.
type SpreadDocument struct {
	N      int    `json:"n"`
	Lower  Number `json:"lower"`
	Median Number `json:"median"`
	Upper  Number `json:"upper"`
}

// SummaryDocument is what a number of rounds were like.
type SummaryDocument struct {
	Rounds      int                    `json:"rounds"`
	Answers     int                    `json:"answers"`
	Known       ShareDocument          `json:"known"`
	Unsure      int                    `json:"unsure"`
	Pieces      int                    `json:"pieces"` // answers in pieces, which are not known, searched or unsure
	FirstTouch  ShareDocument          `json:"first_touch"`
	Response    SpreadDocument         `json:"response_seconds"`
	Takes       [2]TakeQualityDocument `json:"takes"`
	LongestHeld int                    `json:"longest_held"`
	WidestHeld  int                    `json:"widest_held"`
}

// TakeQualityDocument is what first or second takes were like.
type TakeQualityDocument struct {
	CentreCents SpreadDocument `json:"centre_cents"`
	SpreadCents SpreadDocument `json:"spread_cents"`
}

// SettlingDocument says whether the second take settles.
type SettlingDocument struct {
	SamePhrase        ShareDocument  `json:"same_phrase"`
	CentreChangeCents SpreadDocument `json:"centre_change_cents"` // negative is better centred
	SpreadChangeCents SpreadDocument `json:"spread_change_cents"` // negative is steadier
}

// RecentDocument is the state of the last rounds.
type RecentDocument struct {
	Known        ShareDocument `json:"known"`
	Response     Number        `json:"response_seconds"` // median
	ResponseLow  Number        `json:"response_low"`     // 95 % interval by the bootstrap over sessions
	ResponseHigh Number        `json:"response_high"`
}

// PointDocument is a stretch of time.
type PointDocument struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
	SummaryDocument
}

// LinksDocument is what became of one link over many rounds.
type LinksDocument struct {
	Name   string              `json:"name"`   // voice, ear to numbers, numbers to letters, letters to fingers; ear to letters, numbers to fingers where a step was left out
	Failed ShareDocument       `json:"failed"` // of the rounds in which it was compared, those in which it failed
	Others ShareDocument       `json:"others"` // the same of all other links together
	Named  bool                `json:"named"`  // it fails more than the others
	Where  []LinkTableDocument `json:"where"`  // by degree, interval, key
}

// LinkTableDocument is where a link failed.
type LinkTableDocument struct {
	By    string             `json:"by"`
	Cells []LinkCellDocument `json:"cells"`
}

// LinkCellDocument is how often a link failed at one degree, after one interval or in one key.
type LinkCellDocument struct {
	Name   string        `json:"name"`
	Rounds ShareDocument `json:"rounds"`
	Others ShareDocument `json:"others"`
	Named  bool          `json:"named"` // it fails more there than elsewhere
}

// TrendDocument is how a quantity moves over time.
type TrendDocument struct {
	Quantity string `json:"quantity"`
	Points   int    `json:"points"`
	PerMonth Number `json:"per_month"` // Theil-Sen slope in 28 days
	Z        Number `json:"z"`         // Mann-Kendall
	P        Number `json:"p"`
	Claimed  bool   `json:"claimed"`
}

// HabitDocument is how often a kind of evidence stands in the answers.
type HabitDocument struct {
	Kind  string        `json:"kind"`
	Share ShareDocument `json:"share"`
	Named bool          `json:"named"`
}

// TroubleDocument is the trouble by degree, interval, key or place.
type TroubleDocument struct {
	By    string         `json:"by"`
	Cells []CellDocument `json:"cells"`
}

// CellDocument is the trouble at one degree, interval, key or place.
type CellDocument struct {
	Name   string         `json:"name"`
	Notes  ShareDocument  `json:"notes"`
	Rounds ShareDocument  `json:"rounds"`
	Others ShareDocument  `json:"others"`
	Kinds  map[string]int `json:"kinds"` // notes to which each kind of evidence leads
	Wrong  int            `json:"wrong"`
	Named  bool           `json:"named"` // stands out from the others
}

// MasteredDocument is the largest size at which rounds hold; 0 where none can be claimed.
type MasteredDocument struct {
	Size  int           `json:"size"`
	Share ShareDocument `json:"share"`
}

// NextDocument is what to sing next.
type NextDocument struct {
	Direction string        `json:"direction"` // up, stay, down from the size before; "" where no round says anything of it
	Rung      int           `json:"rung"`      // of the ladder of sizes, from 1
	Name      string        `json:"name"`      // of the rung: how to make a phrase of it
	Chance    Number        `json:"chance"`    // that the answer will be known, 0 to 1
	Length    int           `json:"length"`    // notes
	Leap      int           `json:"leap"`      // semitones
	Keys      []string      `json:"keys"`
	Tempo     Number        `json:"tempo"` // quarter notes a minute
	Held      ShareDocument `json:"held"`  // of the last rounds that say something of the size
	Reasons   []string      `json:"reasons"`
}

// JSON writes the progress as a ProgressDocument, on one line.
func (v ProgressView) JSON(w io.Writer) error { return json.NewEncoder(w).Encode(v.Document()) }

// Document makes the document.
func (v ProgressView) Document() ProgressDocument {
	g := v.Progress
	d := ProgressDocument{
		Schema: ProgressSchema, Player: v.Player, Sessions: g.Sessions, Enough: g.Enough, Summary: summaryDocument(g.Summary),
		Settling: SettlingDocument{
			SamePhrase:        shareDocument(g.Settling.SamePhrase),
			CentreChangeCents: spreadDocument(g.Settling.CentreChangeCents, centsDigits),
			SpreadChangeCents: spreadDocument(g.Settling.SpreadChangeCents, centsDigits),
		},
		Recent: RecentDocument{
			Known:    shareDocument(g.Recent.Known),
			Response: rounded(g.Recent.Response, timeDigits), ResponseLow: rounded(g.Recent.ResponseLow, timeDigits), ResponseHigh: rounded(g.Recent.ResponseHigh, timeDigits),
		},
		Grain: string(g.Grain), Points: []PointDocument{}, Trends: []TrendDocument{}, Habits: []HabitDocument{}, Trouble: []TroubleDocument{},
		Length: MasteredDocument{g.Length.Size, shareDocument(g.Length.Share)}, Leap: MasteredDocument{g.Leap.Size, shareDocument(g.Leap.Share)},
		Next: NextDocument{
			Direction: string(g.Next.Direction), Rung: g.Next.Rung + 1, Name: g.Next.Name, Chance: rounded(g.Next.Chance, chanceDigits), Length: g.Next.Length, Leap: g.Next.Leap, Keys: filled(g.Next.Keys),
			Tempo: rounded(g.Next.Tempo, tempoDigits), Held: shareDocument(g.Next.Held), Reasons: filled(g.Next.Reasons),
		},
		Steps: g.Steps, Links: []LinksDocument{}, Sentences: filled(g.Sentences),
	}
	if g.Rounds > 0 {
		d.From, d.To = &g.From, &g.To
	}
	for _, p := range g.Points {
		d.Points = append(d.Points, PointDocument{p.From, p.To, summaryDocument(p.Summary)})
	}
	for _, t := range g.Trends {
		d.Trends = append(d.Trends, TrendDocument{string(t.Quantity), t.Points, rounded(t.PerMonth, slopeDigits), rounded(t.Z, ratioDigits), rounded(t.P, slopeDigits), t.Claimed})
	}
	for _, h := range g.Habits {
		d.Habits = append(d.Habits, HabitDocument{string(h.Kind), shareDocument(h.Share), h.Named})
	}
	for _, t := range g.Tables {
		d.Trouble = append(d.Trouble, troubleDocument(t))
	}
	for _, l := range g.Links {
		d.Links = append(d.Links, linksDocument(l))
	}
	return d
}

// Digits after the point of what only progress has.
const (
	tempoDigits = 1 // finer than anybody taps
	slopeDigits = 4 // a hundredth of a point of a share in four weeks
)

func troubleDocument(t progress.Table) TroubleDocument {
	d := TroubleDocument{By: string(t.Dimension), Cells: []CellDocument{}}
	for _, c := range t.Cells {
		cell := CellDocument{Name: c.Name, Notes: shareDocument(c.Notes), Rounds: shareDocument(c.Rounds), Others: shareDocument(c.Others),
			Kinds: map[string]int{}, Wrong: c.Wrong, Named: c.Named}
		for i, kind := range progress.AllKinds {
			cell.Kinds[string(kind)] = c.Kinds[i]
		}
		d.Cells = append(d.Cells, cell)
	}
	return d
}

func linksDocument(l progress.Link) LinksDocument {
	d := LinksDocument{Name: string(l.Name), Failed: shareDocument(l.Failed), Others: shareDocument(l.Others), Named: l.Named, Where: []LinkTableDocument{}}
	for _, t := range l.Tables {
		table := LinkTableDocument{By: string(t.Dimension), Cells: []LinkCellDocument{}}
		for _, c := range t.Cells {
			table.Cells = append(table.Cells, LinkCellDocument{c.Name, shareDocument(c.Rounds), shareDocument(c.Others), c.Named})
		}
		d.Where = append(d.Where, table)
	}
	return d
}

func summaryDocument(s progress.Summary) SummaryDocument {
	d := SummaryDocument{
		Rounds: s.Rounds, Answers: s.Answers, Known: shareDocument(s.Known), Unsure: s.Unsure, Pieces: s.Pieces, FirstTouch: shareDocument(s.FirstTouch),
		Response: spreadDocument(s.Response, timeDigits), LongestHeld: s.LongestHeld, WidestHeld: s.WidestHeld,
	}
	for i, t := range s.Takes {
		d.Takes[i] = TakeQualityDocument{spreadDocument(t.CentreCents, centsDigits), spreadDocument(t.SpreadCents, centsDigits)}
	}
	return d
}

func shareDocument(s progress.Share) ShareDocument {
	return ShareDocument{s.Hits, s.Trials, rounded(s.Value, chanceDigits), rounded(s.Low, chanceDigits), rounded(s.High, chanceDigits)}
}

func spreadDocument(s stats.Spread, digits int) SpreadDocument {
	return SpreadDocument{s.N, rounded(s.Lower, digits), rounded(s.Median, digits), rounded(s.Upper, digits)}
}
