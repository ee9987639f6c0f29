package marks

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func randomRows(n int) []Row {
	rng := rand.New(rand.NewPCG(11, 12))
	rows := make([]Row, n)
	for t := range rows {
		for i := range rows[t] {
			rows[t][i] = float32(rng.NormFloat64())
		}
	}
	return rows
}

// plain computes the network of the doc comment word by word, in float64.
func plain(n *Network, rows []Row) [][Outputs]float64 {
	a := make([][]float64, len(rows))
	for t, r := range rows {
		for i, v := range r {
			a[t] = append(a[t], float64((v-n.Mean[i])*n.Scale[i]))
		}
	}
	for _, l := range n.Layers {
		b := make([][]float64, len(a))
		for t := range a {
			b[t] = make([]float64, Channels)
			for k := range b[t] {
				z := float64(l.Bias[k])
				for j := range l.Kernel {
					if u := t + l.Offset(j); u >= 0 && u < len(a) {
						for c, v := range a[u] {
							z += v * float64(l.Weights[j*l.In+c][k])
						}
					}
				}
				b[t][k] = math.Max(z, 0)
			}
		}
		a = b
	}
	out := make([][Outputs]float64, len(a))
	for t := range a {
		for o := range out[t] {
			z := float64(n.OutBias[o])
			for c, v := range a[t] {
				z += v * float64(n.Out[c][o])
			}
			out[t][o] = 1 / (1 + math.Exp(-z))
		}
	}
	return out
}

func TestRunAgainstPlainArithmetic(t *testing.T) {
	rows := randomRows(80)
	for _, n := range []*Network{Steady(), Runs()} {
		want := plain(n, rows)
		for i, m := range n.Run(rows) {
			got := [Outputs]float64{m.Begins, m.Ends, m.Inside}
			for o, v := range want[i] {
				if math.Abs(got[o]-v) > 1e-4 { // float32 sums of 160 products
					t.Fatalf("frame %d output %d: %g, want %g", i, o, got[o], v)
				}
			}
		}
	}
}

func TestWriteAndRead(t *testing.T) {
	var b bytes.Buffer
	if err := Steady().Write(&b); err != nil {
		t.Fatal(err)
	}
	if size := len(steady) + len(runs); size > 200_000 {
		t.Errorf("the weights take %d bytes, want at most 200 kB", size)
	}
	n, err := Read(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	rows := randomRows(20)
	a, c := Steady().Run(rows), n.Run(rows)
	for i := range a {
		if a[i] != c[i] {
			t.Fatalf("frame %d: %v before, %v after", i, a[i], c[i])
		}
	}
}

func TestReadRefuses(t *testing.T) {
	var good bytes.Buffer
	if err := Steady().Write(&good); err != nil {
		t.Fatal(err)
	}
	wrong := append([]byte("someword"), good.Bytes()[8:]...)
	if _, err := Read(bytes.NewReader(wrong)); err == nil || !strings.Contains(err.Error(), "train it again") {
		t.Errorf("wrong start: error %v", err)
	}
	if _, err := Read(bytes.NewReader(good.Bytes()[:good.Len()-1])); err == nil {
		t.Error("cut weights were taken")
	}
}

func TestNoFrames(t *testing.T) {
	if m := Steady().Run(nil); len(m) != 0 {
		t.Errorf("%d marks of no frames", len(m))
	}
}

func BenchmarkSecond(b *testing.B) {
	rows := randomRows(100)
	for b.Loop() {
		Steady().Run(rows)
	}
}
