package music

import (
	"math"
	"testing"
)

// A phrase that runs through the scale and rests on the tonic triad, in each of the 24 keys.
func TestGuessKeyOfPlainPhrases(t *testing.T) {
	for class := range semitones {
		for _, sc := range []scale{scaleMajor, scaleHarmonicMinor} {
			semis := scales[sc].home
			var pitches, weights []float64
			for i, s := range semis {
				pitches = append(pitches, float64(60+class+s))
				weights = append(weights, []float64{2, .5, 1, .5, 1.5, .5, .5}[i])
			}
			want := usualKey(class, map[scale]scale{scaleMajor: scaleMajor, scaleHarmonicMinor: scaleMinor}[sc])
			got, confidence := GuessKey(pitches, weights)
			if got != want || confidence <= 0 || confidence > 1 {
				t.Errorf("got %v with %v, want %v", got, confidence, want)
			}
		}
	}
}

func TestGuessKeyUsesUsualNames(t *testing.T) {
	tests := map[string][]float64{ // the key's triad and a few neighbours
		"Eb minor": {63, 66, 70, 63, 68, 65, 63},
		"C# minor": {61, 64, 68, 61, 66, 63, 61},
		"Db major": {61, 65, 68, 61, 66, 63, 61},
		"C minor":  {60, 63, 67, 65, 63, 62, 60},
	}
	for want, pitches := range tests {
		if got, _ := GuessKey(pitches, nil); got.String() != want {
			t.Errorf("%v: got %v, want %s", pitches, got, want)
		}
	}
}

// A singer 15 to 25 cents flat is still heard in the same key.
func TestGuessKeyOfBentPitches(t *testing.T) {
	pitches := []float64{59.8, 62.85, 66.8, 64.75, 62.8, 61.8, 59.8}
	if got, _ := GuessKey(pitches, nil); got.String() != "C minor" {
		t.Errorf("got %v", got)
	}
}

func TestGuessKeyWithoutEvidence(t *testing.T) {
	all := make([]float64, 12)
	for i := range all {
		all[i] = float64(i)
	}
	tests := map[string][2][]float64{
		"no notes":        {nil, nil},
		"every semitone":  {all, nil},
		"not finite":      {{math.NaN(), math.Inf(1), math.Inf(-1)}, nil},
		"useless weights": {{60, 64, 67, 60}, {0, -1, math.NaN(), math.Inf(1)}},
		"huge weights":    {{60, 64}, {math.MaxFloat64, math.MaxFloat64}},
	}
	for name, in := range tests {
		if got, confidence := GuessKey(in[0], in[1]); got != (Key{}) || confidence != 0 {
			t.Errorf("%s: got %v with %v", name, got, confidence)
		}
	}
}

func TestGuessKeyPanicsOnDifferentLengths(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("no panic")
		}
	}()
	GuessKey([]float64{60, 62}, []float64{1})
}
