package practice

import (
	"math"
	"testing"

	"larkhand/internal/round"
)

// toneBlocks is a sine of a frequency in Hz and a level in dBFS of the mean square, in blocks of 10 ms.
func toneBlocks(hz, dbfs, seconds float64, rate int) (blocks []Block) {
	amplitude := math.Sqrt2 * math.Pow(10, dbfs/20)
	n := rate / 100
	for i := range int(100 * seconds) {
		b := Block{Time: float64(i) / 100, Samples: make([]float32, n)}
		for k := range b.Samples {
			b.Samples[k] = float32(min(1, max(-1, amplitude*math.Sin(2*math.Pi*hz*float64(i*n+k)/float64(rate)))))
		}
		blocks = append(blocks, b)
	}
	return blocks
}

func TestMeterShowsATonesLevel(t *testing.T) {
	for _, c := range []struct {
		hz, dbfs float64
		clipped  bool
		trouble  round.Warning // -1 for none
	}{
		{440, -20, false, -1},
		{440, -40, false, -1},
		{50, -30, false, round.MicrophoneHum},
		{440, -85, false, round.MicrophoneSilent},
		{440, 3, true, round.MicrophoneClipped},
	} {
		m, err := NewMeter(48000)
		if err != nil {
			t.Fatal(err)
		}
		said := map[round.Warning]string{}
		for _, b := range toneBlocks(c.hz, c.dbfs, 3, 48000) {
			for _, r := range m.Hear(b) {
				said[r.Trouble] = r.Text
			}
		}
		// A sine's peak lies 3.01 dB above its mean square. 16 bits keep the softest within a dB or so.
		if want := math.Min(0, c.dbfs+3.01); !c.clipped && (math.Abs(m.Level()-c.dbfs) > 0.5 || math.Abs(m.Peak()-want) > 1.3) || c.clipped != m.Clipped() {
			t.Errorf("%g Hz at %g dBFS: level %.2f, peak %.2f, clipped %v", c.hz, c.dbfs, m.Level(), m.Peak(), m.Clipped())
		}
		if text, ok := said[c.trouble]; c.trouble >= 0 && (!ok || text == "") || c.trouble < 0 && len(said) > 0 {
			t.Errorf("%g Hz at %g dBFS: said %v", c.hz, c.dbfs, said)
		}
	}
}

func TestMeterHoldsThePeakAndLetsItGo(t *testing.T) {
	m, err := NewMeter(16000)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range toneBlocks(440, -10, 0.5, 16000) {
		m.Hear(b)
	}
	held := m.Peak()
	quiet := func(from, seconds float64) {
		for i := range int(100 * seconds) {
			m.Hear(Block{Time: from + float64(i)/100, Samples: make([]float32, 160)})
		}
	}
	quiet(0.5, 1.5)
	if m.Peak() != held || m.Level() > -39 {
		t.Errorf("after 1.5 s: peak %.1f, level %.1f", m.Peak(), m.Level())
	}
	quiet(2, 2.5)
	if fall := held - m.Peak(); math.Abs(fall-40) > 1 {
		t.Errorf("after 4 s the peak has fallen by %.1f dB, want 40", fall)
	}
}

func TestMeterOfAGapAndAnUnpluggedMicrophone(t *testing.T) {
	m, err := NewMeter(16000)
	if err != nil {
		t.Fatal(err)
	}
	m.Hear(Block{Time: 1, Samples: make([]float32, 160)})
	m.Hear(Block{Time: 1.01, Status: Gone})
	loud := toneBlocks(440, -20, 0.5, 16000)
	for _, b := range loud {
		b.Time += 60
		m.Hear(b)
	}
	if math.Abs(m.Level()+20) > 0.5 {
		t.Errorf("level %.1f", m.Level())
	}
	if _, err := NewMeter(10); err == nil {
		t.Error("a rate of 10 Hz was taken")
	}
}
