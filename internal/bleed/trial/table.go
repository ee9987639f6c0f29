package trial

import (
	"fmt"
	"math"
	"slices"

	"larkhand/internal/bleed"
)

// Head names the columns of Cells.
func Head() []string {
	return []string{"condition", "takes", "clean NSERtol", "COnP", "with backing", "COnP", "taken out", "COnP", "above clean",
		"target", "", "ERLE dB", "predicted - true dB", "usual/some/marked/none/unusable"}
}

// Cells is the table of the rows, one string a column.
func Cells(rows []Row) [][]string {
	var out [][]string
	for _, r := range rows {
		target, verdict := r.target()
		out = append(out, []string{r.Condition.Name, fmt.Sprint(r.Takes), rate(r.Clean.NSER()), rate(r.Clean.COnP()),
			rate(r.Raw.NSER()), rate(r.Raw.COnP()), rate(r.Cleaned.NSER()), rate(r.Cleaned.COnP()),
			fmt.Sprintf("%+.3f", r.Rise()), target, verdict,
			fmt.Sprintf("%.1f", 10*math.Log10(r.BleedPower/math.Max(r.LeftPower, 1e-12))), r.prediction(), r.verdicts()})
	}
	return out
}

// Rise is how much the note error rate lies above that of the clean voice.
func (r Row) Rise() float64 { return r.Cleaned.NSER() - r.Clean.NSER() }

// target is what is asked of the row and whether it is met.
func (r Row) target() (text, verdict string) {
	met := r.Condition.Target > 0 && r.Rise() <= r.Condition.Target
	text = fmt.Sprintf("at most %+.2f", r.Condition.Target)
	if r.Condition.Target == 0 {
		met = r.Trusted.Ref == 0
		text = "marked or refused"
	}
	if met {
		return text, "met"
	}
	return text, "missed"
}

// prediction is the range of predicted minus true residual.
func (r Row) prediction() string {
	d := make([]float64, len(r.True))
	for i := range d {
		d[i] = r.Predicted[i] - r.True[i]
	}
	return fmt.Sprintf("%+.1f to %+.1f", slices.Min(d), slices.Max(d))
}

func (r Row) verdicts() string {
	text := ""
	for v := bleed.Usual; v <= bleed.Unusable; v++ {
		if v > bleed.Usual {
			text += "/"
		}
		text += fmt.Sprint(r.Verdicts[v])
	}
	return text
}

func rate(v float64) string { return fmt.Sprintf("%.3f", v) }
