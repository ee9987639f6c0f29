package loop

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Swing ratios that a feel can have: from even eighth notes to the largest that Friberg and Sundström (2002) measured.
const (
	StraightRatio = 1.0
	MaxSwingRatio = 3.5
)

// Ends of the line of DefaultSwing, quarter notes a minute: Friberg and Sundström (2002) found up to 3.5:1 near 120 and even eighths when very fast.
// The fast end is where the short note of an even pair lasts the 100 ms at which they found it to stay.
const (
	slowSwingTempo = 120.0
	fastSwingTempo = 300.0
)

// Feel says how the eighth notes lie within a quarter note. The zero value is straight.
type Feel struct {
	// Ratio is the length of the first eighth note over the length of the second, StraightRatio to MaxSwingRatio; 0 is read as StraightRatio.
	Ratio float64
}

// Swing is a swing feel of a ratio.
func Swing(ratio float64) (Feel, error) {
	if !(ratio >= StraightRatio && ratio <= MaxSwingRatio) {
		return Feel{}, fmt.Errorf("a swing ratio of %g does not work; give %g (straight) to %g", ratio, StraightRatio, MaxSwingRatio)
	}
	return Feel{Ratio: ratio}, nil
}

// DefaultSwing is the swing feel for a tempo in quarter notes a minute: 3.5:1 up to 120, falling on a straight line to 1:1 at 300. Between these tempos its
// short note lasts 87 to 111 ms. (Below 120 the measurements end; that the ratio stays there is an own choice.)
func DefaultSwing(tempo float64) Feel {
	part := (tempo - slowSwingTempo) / (fastSwingTempo - slowSwingTempo)
	part = math.Min(math.Max(part, 0), 1)
	return Feel{Ratio: MaxSwingRatio - part*(MaxSwingRatio-StraightRatio)}
}

// ParseFeel reads "straight", "swing" (the default for the tempo), "swing 2" or "swing 2:1".
func ParseFeel(s string, tempo float64) (Feel, error) {
	words := strings.Fields(strings.ToLower(s))
	wrong := fmt.Errorf(`%q is no feel; write "straight", "swing", or "swing" with a ratio of %g to %g, such as "swing 2:1"`, s, StraightRatio, MaxSwingRatio)
	switch {
	case len(words) == 1 && words[0] == "straight":
		return Feel{Ratio: StraightRatio}, nil
	case len(words) == 1 && words[0] == "swing":
		return DefaultSwing(tempo), nil
	case len(words) != 2 || words[0] != "swing":
		return Feel{}, wrong
	}
	ratio, err := strconv.ParseFloat(strings.TrimSuffix(words[1], ":1"), 64)
	if err != nil {
		return Feel{}, wrong
	}
	return Swing(ratio)
}

// String writes the feel as ParseFeel reads it: "straight", "swing 2:1".
func (f Feel) String() string {
	if f.straight() {
		return "straight"
	}
	return "swing " + strconv.FormatFloat(f.Ratio, 'f', -1, 64) + ":1"
}

func (f Feel) straight() bool {
	return f.Ratio <= StraightRatio
}

// valid reports whether the ratio is in range.
func (f Feel) valid() bool {
	return f.Ratio == 0 || f.Ratio >= StraightRatio && f.Ratio <= MaxSwingRatio
}

// OffBeat is the part of a quarter note, 0.5 up to 1, after which its second eighth note comes.
func (f Feel) OffBeat() float64 {
	if f.straight() {
		return evenEighth
	}
	return f.Ratio / (1 + f.Ratio)
}

// evenEighth is where the second eighth note of a straight quarter note lies, as a part of it.
const evenEighth = 0.5

// swung moves a position in a bar, in quarter notes from its start, to where the feel puts it. Quarter notes stay; between them time is stretched
// before the off-beat and pressed after it.
func (f Feel) swung(position float64) float64 {
	if f.straight() {
		return position
	}
	quarter := math.Floor(position)
	part := position - quarter
	off := f.OffBeat()
	if part < evenEighth {
		return quarter + part*off/evenEighth
	}
	return quarter + off + (part-evenEighth)*(1-off)/(1-evenEighth)
}
