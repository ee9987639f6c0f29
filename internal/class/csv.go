package class

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"larkhand/internal/bundle"
)

var csvColumns = []string{
	"player", "from", "to", "sessions", "rounds", "answers", "enough", "known", "searched", "unsure", "known_share", "known_low", "known_high", "habits",
	"response_lower_s", "response_median_s", "response_upper_s", "take1_spread_cents", "take2_spread_cents", "take2", "listen_first", "reason",
	"steps", "weak_link", "weak_link_where", "weak_link_share", "weak_link_low", "weak_link_high",
}

// CSV writes one line a player with a line of names first, for a spreadsheet: no cell begins a formula. Shares are left empty where
// nothing can be claimed.
func (t Table) CSV(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(csvColumns); err != nil {
		return err
	}
	for _, l := range t.Players {
		known := [3]float64{math.NaN(), math.NaN(), math.NaN()}
		if l.Enough {
			known = [3]float64{l.Known.Value, l.Known.Low, l.Known.High}
		}
		lower, median, upper := middle(l.Response)
		first := Listen{}
		if len(l.Listen) > 0 {
			first = l.Listen[0]
		}
		row := []string{
			l.Label, l.From.Format(time.RFC3339), l.To.Format(time.RFC3339), strconv.Itoa(l.Sessions), strconv.Itoa(l.Rounds), strconv.Itoa(l.Answers),
			strconv.FormatBool(l.Enough), strconv.Itoa(l.Known.Hits), strconv.Itoa(l.Known.Trials - l.Known.Hits), strconv.Itoa(l.Unsure),
			number(known[0], 3), number(known[1], 3), number(known[2], 3), l.habitCell(),
			number(lower, 2), number(median, 2), number(upper, 2), number(l.Settling.Spread[0].Median, 1), number(l.Settling.Spread[1].Median, 1),
			string(l.Settling.State), first.UID, first.Reason, strconv.Itoa(l.Steps), "", "", "", "", "",
		}
		if len(l.Weak) > 0 {
			w := l.Weak[0]
			row = append(row[:len(row)-5], string(w.Name), w.where(), number(w.Failed.Value, 3), number(w.Failed.Low, 3), number(w.Failed.High, 3))
		}
		for i := range row {
			row[i] = bundle.Cell(row[i])
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// number writes x with so many digits after the point, or nothing where it is not known.
func number(x float64, digits int) string {
	if math.IsNaN(x) {
		return ""
	}
	return fmt.Sprintf("%.*f", digits, x)
}
