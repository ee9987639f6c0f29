package report

import (
	"encoding/json"
	"math"
	"strconv"
)

// Digits after the point, by quantity. Finer ones would be noise: frames lie 10 ms apart and a note's pitch is known to
// about a cent.
const (
	timeDigits   = 3 // ms
	pitchDigits  = 2 // cents, as hundredths of a semitone
	centsDigits  = 1
	levelDigits  = 1 // dB
	chanceDigits = 3
	ratioDigits  = 3
	hertzDigits  = 2
)

// Number is a float64 that JSON can always hold: what is not finite is written as null.
type Number float64

// MarshalJSON writes the shortest decimal that reads back as the same number, or null.
func (n Number) MarshalJSON() ([]byte, error) {
	if f := float64(n); math.IsNaN(f) || math.IsInf(f, 0) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(n))
}

// UnmarshalJSON reads what MarshalJSON writes; null becomes NaN.
func (n *Number) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*n = Number(math.NaN())
		return nil
	}
	return json.Unmarshal(b, (*float64)(n))
}

// rounded keeps the given digits after the point. The result is never -0.
func rounded(x float64, digits int) Number {
	scale := math.Pow10(digits)
	r := math.Round(x*scale) / scale
	if r == 0 {
		return 0
	}
	return Number(r)
}

// fixed writes x with the given digits after the point, or missing where it is not finite.
func fixed(x float64, digits int, missing string) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return missing
	}
	return strconv.FormatFloat(float64(rounded(x, digits)), 'f', digits, 64)
}

// signedCents writes a deviation: "+13", "-4", "0".
func signedCents(x float64) string {
	r := math.Round(x)
	if r > 0 {
		return "+" + strconv.Itoa(int(r))
	}
	return strconv.Itoa(int(r))
}
