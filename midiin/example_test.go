package midiin_test

import (
	"fmt"

	"larkhand/midiin"
)

// A phrase of three notes as a live port would bring it: the second is bent up a whole step, the third held by the pedal.
func Example() {
	r := midiin.NewReader(midiin.Options{Instrument: midiin.Keys})
	for _, m := range []struct {
		t   float64
		msg []byte
	}{
		{0.00, []byte{0x90, 60, 80}},
		{0.40, []byte{0x80, 60, 0}},
		{0.50, []byte{0x90, 62, 84}},
		{0.60, []byte{0xE0, 0x7F, 0x7F}},
		{0.95, []byte{0x90, 62, 0}}, // velocity 0 is a release
		{1.00, []byte{0xE0, 0x00, 0x40}},
		{1.00, []byte{0x90, 67, 90}},
		{1.10, []byte{0xB0, 64, 127}},
		{1.20, []byte{0x80, 67, 0}},
		{1.80, []byte{0xB0, 64, 0}},
	} {
		r.Message(m.t, m.msg)
	}
	for _, n := range r.Finish(2) {
		fmt.Printf("%.2f to %.2f s, key up at %.2f: key %d sounds %.2f\n", n.Onset, n.Offset, n.Released, n.Key, n.Pitch)
	}
	// Output:
	// 0.00 to 0.40 s, key up at 0.40: key 60 sounds 60.00
	// 0.50 to 0.95 s, key up at 0.95: key 62 sounds 64.00
	// 1.00 to 1.80 s, key up at 1.20: key 67 sounds 67.00
}
