package report

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/mattn/go-runewidth"
)

// HistorySchema is the name and version of HistoryDocument.
const HistorySchema = "larkhand.history/1"

// HistoryView is a list of rounds. Rows is read once, while it is written.
type HistoryView struct {
	Total int // rounds that were chosen; Rows may have fewer
	Rows  iter.Seq2[Row, error]
}

// Row is a round in a list.
type Row struct {
	Number                                   int64     // its name in this journal
	UID                                      string    // its name everywhere
	At                                       time.Time // when take 1 began
	Sang, Played                             string
	Key                                      string
	KeyGuessed                               bool
	Chart                                    string   // "" without a loop
	Tempo                                    *float64 // quarter notes a minute; nil without a loop
	Phrase                                   []string // degrees, as matched
	Label                                    string   // known, unsure, searched
	Searched                                 float64  // probability
	Response                                 *float64 // s; nil where not known
	Same, Different, LeftOut, Unclear, Added int      // notes of each verdict
	Program                                  string   // the version that judged it last
	Files                                    bool     // its takes and answer are kept
	Deleted                                  bool
	Misheard                                 bool     // marked: the program heard other notes than were sung
	PhraseName                               string   // the kept phrase that it is of; "" without
	Numbers, Letters                         string   // as written down; "" where the step was left out
	Weak                                     []string // the links that failed, as in StepsDocument
	Pieces                                   int      // in which the answer was played; 1 where it was at once
}

// Outcome is how a round was judged.
type Outcome struct {
	Label                                    string  // known, unsure, searched
	Searched                                 float64 // probability
	Same, Different, LeftOut, Unclear, Added int     // notes of each verdict
}

// HistoryDocument is a list of rounds, the newest first.
type HistoryDocument struct {
	Schema string        `json:"schema"` // HistorySchema
	Total  int           `json:"total"`  // rounds that were chosen; the list may have fewer
	Rounds []RowDocument `json:"rounds"`
}

// RowDocument is a round in a list.
type RowDocument struct {
	Number     int64     `json:"number"` // its name in this journal
	UID        string    `json:"uid"`    // its name everywhere
	At         time.Time `json:"at"`     // when take 1 began
	Sang       string    `json:"sang"`
	Played     string    `json:"played"`
	Key        string    `json:"key"`
	KeyGuessed bool      `json:"key_guessed"`
	Chart      string    `json:"chart"` // "" without a loop
	Tempo      Number    `json:"tempo"` // quarter notes a minute
	Phrase     []string  `json:"phrase"`
	Same       int       `json:"same"`
	Different  int       `json:"different"`
	LeftOut    int       `json:"left_out"`
	Unclear    int       `json:"unclear"`
	Added      int       `json:"added"`
	Label      string    `json:"label"`    // known, unsure, searched
	Searched   Number    `json:"searched"` // probability
	Response   Number    `json:"response_seconds"`
	Program    string    `json:"program"` // the version that judged it last
	Files      bool      `json:"files"`   // its takes and answer are kept
	Deleted    bool      `json:"deleted"`
	Misheard   bool      `json:"misheard"`    // marked: the program heard other notes than were sung; it counts nowhere
	PhraseName string    `json:"phrase_name"` // the kept phrase that it is of; "" without
	Numbers    string    `json:"numbers"`     // as written down between singing and playing; "" where the step was left out
	Letters    string    `json:"letters"`     // the same
	Weak       []string  `json:"weak"`        // the links that failed: voice, ear to numbers, numbers to letters, letters to fingers
	Pieces     int       `json:"pieces"`      // in which the answer was played; 1 where it was at once
}

func rowDocument(r Row) RowDocument {
	return RowDocument{
		Number: r.Number, UID: r.UID, At: r.At, Sang: r.Sang, Played: r.Played, Key: r.Key, KeyGuessed: r.KeyGuessed, Chart: r.Chart,
		Tempo: rounded(known(r.Tempo), tempoDigits), Phrase: filled(r.Phrase),
		Same: r.Same, Different: r.Different, LeftOut: r.LeftOut, Unclear: r.Unclear, Added: r.Added,
		Label: r.Label, Searched: rounded(r.Searched, chanceDigits), Response: rounded(known(r.Response), timeDigits),
		Program: r.Program, Files: r.Files, Deleted: r.Deleted,
		Misheard: r.Misheard, PhraseName: r.PhraseName, Numbers: r.Numbers, Letters: r.Letters, Weak: filled(r.Weak), Pieces: max(1, r.Pieces),
	}
}

// known is NaN for nil.
func known(x *float64) float64 {
	if x == nil {
		return math.NaN()
	}
	return *x
}

// JSON writes the list as a HistoryDocument, on one line.
func (v HistoryView) JSON(w io.Writer) error {
	d := HistoryDocument{Schema: HistorySchema, Total: v.Total, Rounds: []RowDocument{}}
	for row, err := range v.Rows {
		if err != nil {
			return err
		}
		d.Rounds = append(d.Rounds, rowDocument(row))
	}
	return json.NewEncoder(w).Encode(d)
}

var historyColumns = []string{"number", "at", "sang", "played", "key", "tempo", "phrase", "same", "different", "left_out", "unclear", "added",
	"label", "searched", "response_seconds", "program", "misheard", "phrase_name", "numbers", "letters", "weak", "pieces"}

// CSV writes one line a round with a line of names first; the columns are those of RowDocument.
func (v HistoryView) CSV(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(historyColumns); err != nil {
		return err
	}
	for r, err := range v.Rows {
		if err != nil {
			return err
		}
		err := out.Write([]string{
			strconv.FormatInt(r.Number, 10), r.At.Format(time.RFC3339), cell(r.Sang), cell(r.Played), r.Key, fixed(known(r.Tempo), tempoDigits, ""), strings.Join(r.Phrase, " "),
			strconv.Itoa(r.Same), strconv.Itoa(r.Different), strconv.Itoa(r.LeftOut), strconv.Itoa(r.Unclear), strconv.Itoa(r.Added),
			r.Label, fixed(r.Searched, chanceDigits, ""), fixed(known(r.Response), timeDigits, ""), r.Program,
			strconv.FormatBool(r.Misheard), cell(r.PhraseName), cell(r.Numbers), cell(r.Letters), strings.Join(r.Weak, "; "), strconv.Itoa(max(1, r.Pieces)),
		})
		if err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// cell keeps a spreadsheet from taking a name for a formula: an apostrophe before the signs that begin one (common practice, no
// source).
func cell(name string) string {
	if name != "" && strings.ContainsRune("=+-@", rune(name[0])) {
		return "'" + name
	}
	return name
}

// Text writes the list as a table of at most 80 characters a line where names are short.
func (v HistoryView) Text(w io.Writer, colour bool) error {
	paint := painter(colour)
	line := func(number, began, who, key, same, finding, response string) string {
		return fmt.Sprintf("%6s  %-16s  %s  %s  %-6s  %-8s  %s", number, began, filledTo(who, longestWho), filledTo(key, longestKey), same, finding, response)
	}
	if _, err := fmt.Fprintln(w, paint.strong(line("number", "began", "who", "key", "same", "finding", "response"))); err != nil {
		return err
	}
	for r, err := range v.Rows {
		if err != nil {
			return err
		}
		text := line(strconv.FormatInt(r.Number, 10), r.At.Format("2006-01-02 15:04"), who(r), r.Key,
			fmt.Sprintf("%d of %d", r.Same, len(r.Phrase)), r.Label, responseWords(r.Response))
		if r.Misheard {
			text += "  misheard"
		}
		if _, err := fmt.Fprintln(w, text); err != nil {
			return err
		}
	}
	return nil
}

// responseWords is a response time with its unit; "-" where it is not known.
func responseWords(s *float64) string {
	if s == nil {
		return "-"
	}
	return fmt.Sprintf("%.1f s", *s)
}

// longestWho and longestKey are the widths of columns.
const longestWho, longestKey = 20, 12

// filledTo is a name in a column of so many cells of the terminal: long ones end in an ellipsis. Letters of some scripts and emoji
// take two cells, marks over letters none.
func filledTo(name string, width int) string {
	return cells.FillRight(cells.Truncate(name, width, "…"), width)
}

// cells counts the same on every machine: letters that are wide in some countries' terminals only are narrow.
var cells = &runewidth.Condition{StrictEmojiNeutral: true}

// who names the players: "Anna", "Anna, Ben" where Anna sang and Ben played.
func who(r Row) string {
	switch {
	case r.Sang == "" && r.Played == "":
		return "-"
	case r.Sang == r.Played:
		return r.Sang
	}
	return nameOr(r.Sang) + ", " + nameOr(r.Played)
}

func nameOr(name string) string {
	if name == "" {
		return "-"
	}
	return name
}

// HistoryTitle names a round in one line.
func HistoryTitle(r Row) string {
	text := fmt.Sprintf("Round %d, %s", r.Number, r.At.Format("2006-01-02 15:04"))
	switch {
	case r.Sang == "" && r.Played == "":
	case r.Sang == r.Played:
		text += ", " + r.Sang + " sang and played"
	default:
		text += ", " + nameOr(r.Sang) + " sang, " + nameOr(r.Played) + " played"
	}
	text += ": " + counted(len(r.Phrase), "note")
	if r.PhraseName != "" {
		text += fmt.Sprintf(" of %q", r.PhraseName)
	}
	text += " in " + r.Key + ", " + r.Label
	if r.Misheard {
		text += "; marked as misheard, so it counts nowhere"
	}
	return text
}

// Change says what another judgement changed: "known -> searched; same 4 -> 3; different 0 -> 1".
func Change(before, after Outcome) string {
	var parts []string
	if before.Label != after.Label {
		parts = append(parts, before.Label+" -> "+after.Label)
	}
	for _, n := range []struct {
		name          string
		before, after int
	}{
		{"same", before.Same, after.Same}, {"different", before.Different, after.Different}, {"left out", before.LeftOut, after.LeftOut},
		{"unclear", before.Unclear, after.Unclear}, {"added", before.Added, after.Added},
	} {
		if n.before != n.after {
			parts = append(parts, fmt.Sprintf("%s %d -> %d", n.name, n.before, n.after))
		}
	}
	if len(parts) == 0 {
		return "nothing changed"
	}
	return strings.Join(parts, "; ")
}
