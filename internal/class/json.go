package class

import (
	"encoding/json"
	"io"
	"math"
	"time"

	"larkhand/internal/progress"
	"larkhand/internal/report"
	"larkhand/internal/stats"
)

// Schema is the name and version of Document.
const Schema = "larkhand.class/1"

// Document is the table as JSON. No list is ever null.
type Document struct {
	Schema  string           `json:"schema"` // Schema
	From    *time.Time       `json:"from"`   // begin of the first round; null without rounds
	To      *time.Time       `json:"to"`
	Rounds  int              `json:"rounds"`
	Players []PlayerDocument `json:"players"`
}

// PlayerDocument is one player.
type PlayerDocument struct {
	Player    string           `json:"player"` // the teacher's label
	Sessions  int              `json:"sessions"`
	Rounds    int              `json:"rounds"`
	Answers   int              `json:"answers"`
	Enough    bool             `json:"enough"` // answers from which something can be claimed
	Known     ShareDocument    `json:"known"`
	Unsure    int              `json:"unsure"`
	Pieces    int              `json:"pieces"` // answers in pieces, which are not known, searched or unsure
	Habits    []HabitDocument  `json:"habits"` // those that can be claimed
	Response  SpreadDocument   `json:"response_seconds"`
	Settling  SettlingDocument `json:"settling"`
	Trends    []TrendDocument  `json:"trends"` // those that can be claimed
	Steps     int              `json:"steps"`  // rounds in which numbers or letters were written down
	Weak      []WeakDocument   `json:"weak_links"`
	Listen    []ListenDocument `json:"listen_first"`
	Sentences []string         `json:"sentences"`
}

// ShareDocument is a share with its 95 % interval.
type ShareDocument struct {
	Hits   int           `json:"hits"`
	Trials int           `json:"trials"`
	Share  report.Number `json:"share"` // 0 to 1; null without trials
	Low    report.Number `json:"low"`
	High   report.Number `json:"high"`
}

// SpreadDocument is a median with quartiles; null without values.
type SpreadDocument struct {
	Count  int           `json:"count"`
	Lower  report.Number `json:"lower"`
	Median report.Number `json:"median"`
	Upper  report.Number `json:"upper"`
}

// HabitDocument is a habit.
type HabitDocument struct {
	Kind   string        `json:"kind"`  // correction, creep, hesitation, restart, touch
	By     string        `json:"by"`    // degree, interval, or "" anywhere
	Place  string        `json:"place"` // "degree 6"; "" anywhere
	Rounds ShareDocument `json:"rounds"`
	Others ShareDocument `json:"others"`
}

// WeakDocument is a link between voice and fingers that fails more than the others, or somewhere.
type WeakDocument struct {
	Link   string          `json:"link"`
	Failed ShareDocument   `json:"failed"` // of the rounds in which it was compared
	Others ShareDocument   `json:"others"` // the same of all other links
	Named  bool            `json:"named"`  // it fails more than the others
	Where  []FaultDocument `json:"where"`  // where it fails more than elsewhere
}

// FaultDocument is a place at which a link fails.
type FaultDocument struct {
	By     string        `json:"by"`    // degree, interval, key
	Place  string        `json:"place"` // "6", "a fifth up", "Gb major"
	Rounds ShareDocument `json:"rounds"`
	Others ShareDocument `json:"others"`
}

// SettlingDocument compares take 2 with take 1.
type SettlingDocument struct {
	State    string            `json:"state"` // settles, no difference shown, loosens; "" where there are too few
	Rounds   int               `json:"rounds"`
	Spread   [2]SpreadDocument `json:"spread_cents"` // of take 1 and take 2
	Centre   [2]SpreadDocument `json:"centre_cents"`
	Steadier ShareDocument     `json:"steadier"`
	Other    ShareDocument     `json:"other_phrase"`
}

// TrendDocument is how a quantity moves.
type TrendDocument struct {
	Quantity string        `json:"quantity"`
	PerMonth report.Number `json:"per_four_weeks"` // share 0 to 1, s or cents
	P        report.Number `json:"p"`
}

// ListenDocument is a round to listen to.
type ListenDocument struct {
	Bundle string    `json:"bundle"`
	UID    string    `json:"uid"`
	At     time.Time `json:"at"`
	Key    string    `json:"key"`
	Reason string    `json:"reason"`
}

// JSON writes the table as a Document, on one line.
func (t Table) JSON(w io.Writer) error {
	d := Document{Schema: Schema, Rounds: t.Rounds, Players: []PlayerDocument{}}
	if !t.From.IsZero() {
		d.From, d.To = &t.From, &t.To
	}
	for _, l := range t.Players {
		d.Players = append(d.Players, playerDocument(l))
	}
	return json.NewEncoder(w).Encode(d)
}

func playerDocument(l Line) PlayerDocument {
	d := PlayerDocument{
		Player: l.Label, Sessions: l.Sessions, Rounds: l.Rounds, Answers: l.Answers, Enough: l.Enough, Known: shareDocument(l.Known), Unsure: l.Unsure, Pieces: l.Pieces,
		Habits: []HabitDocument{}, Response: spreadDocument(l.Response), Trends: []TrendDocument{}, Listen: []ListenDocument{}, Sentences: l.Sentences(),
		Steps: l.Steps, Weak: []WeakDocument{},
		Settling: SettlingDocument{State: string(l.Settling.State), Rounds: l.Settling.Takes, Steadier: shareDocument(l.Settling.Steadier), Other: shareDocument(l.Settling.Other)},
	}
	for i := range d.Settling.Spread {
		d.Settling.Spread[i], d.Settling.Centre[i] = spreadDocument(l.Settling.Spread[i]), spreadDocument(l.Settling.Centre[i])
	}
	for _, h := range l.Habits {
		d.Habits = append(d.Habits, HabitDocument{string(h.Kind), string(h.By), h.Place, shareDocument(h.Share), shareDocument(h.Others)})
	}
	for _, w := range l.Weak {
		one := WeakDocument{string(w.Name), shareDocument(w.Failed), shareDocument(w.Others), w.Named, []FaultDocument{}}
		for _, f := range w.Faults {
			one.Where = append(one.Where, FaultDocument{string(f.Dimension), f.Name, shareDocument(f.Rounds), shareDocument(f.Others)})
		}
		d.Weak = append(d.Weak, one)
	}
	for _, t := range l.Trends {
		d.Trends = append(d.Trends, TrendDocument{string(t.Quantity), digits(t.PerMonth), digits(t.P)})
	}
	for _, r := range l.Listen {
		d.Listen = append(d.Listen, ListenDocument(r))
	}
	return d
}

func shareDocument(s progress.Share) ShareDocument {
	return ShareDocument{s.Hits, s.Trials, digits(s.Value), digits(s.Low), digits(s.High)}
}

func spreadDocument(s stats.Spread) SpreadDocument {
	lower, median, upper := middle(s)
	return SpreadDocument{s.N, digits(lower), digits(median), digits(upper)}
}

// digits keeps four digits after the point: a tenth of a percent with a digit to spare.
func digits(x float64) report.Number {
	const scale = 1e4
	return report.Number(math.Round(x*scale) / scale)
}
