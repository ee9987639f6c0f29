package bundle

import "testing"

func TestCell(t *testing.T) {
	for text, want := range map[string]string{
		"Anna":                 "Anna",
		"":                     "",
		"=1+1":                 "'=1+1",
		"  =1+1":               "'  =1+1",
		"+49":                  "'+49",
		"-x":                   "'-x",
		"-1.5":                 "-1.5",
		"-1-1":                 "'-1-1",
		"-":                    "'-",
		"@SUM(A1)":             "'@SUM(A1)",
		"\t=1":                 "'\t=1",
		"\r=1":                 "'\r=1",
		"＝1":                   "'＝1",
		"a=1":                  "a=1",
		"\x00=1":               "'=1",
		"محمد":                 "محمد",
		"🎹 player \"q\", <b>b": "🎹 player \"q\", <b>b",
	} {
		if got := Cell(text); got != want {
			t.Errorf("Cell(%q) is %q, want %q", text, got, want)
		}
	}
}

// TestUncell: what was written comes back.
func TestUncell(t *testing.T) {
	for _, text := range []string{"", "Rain", "=1+1", "-:2 1", " +x", "'quoted'", "''", "-12.5"} {
		if got := Uncell(Cell(text)); got != text {
			t.Errorf("%q came back as %q", text, got)
		}
	}
}
