package loop_test

import (
	"fmt"

	"larkhand/internal/loop"
	"larkhand/internal/music"
)

// The loop starts 2 s after the clock; a player ends a phrase at 13.2 s and waits for the bar.
func Example() {
	chart, err := music.ParseChart("Cm7 | Fm7 | G7b9 | Cm7")
	if err != nil {
		fmt.Println(err)
		return
	}
	l, err := loop.New(chart, 96, 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	chord, _ := l.ChordAt(7.5)
	fmt.Printf("once through lasts %.1f s; at 7.5 s sounds %v\n", l.Length(), chord)
	p, _ := l.BarBeat(13.2)
	fmt.Printf("13.2 s: time %d, bar %d, beat %.2f; next bar in %.1f s\n", p.Chorus, p.Bar, p.Beat, l.NextBar(13.2)-13.2)
	// Output:
	// once through lasts 10.0 s; at 7.5 s sounds G7b9
	// 13.2 s: time 2, bar 1, beat 2.92; next bar in 1.3 s
}

// The backing of a blues in F, its first beats: what bass and comping play.
func ExampleArrange() {
	key, err := music.ParseKey("F")
	if err != nil {
		fmt.Println(err)
		return
	}
	chart, err := loop.Named("12-bar blues", key)
	if err != nil {
		fmt.Println(err)
		return
	}
	l, err := loop.New(chart, 150, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	backing, err := loop.Arrange(l, loop.Options{Feel: loop.DefaultSwing(150), CountIn: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, e := range backing.Events(0, 0.5) {
		if e.Part == loop.Bass || e.Part == loop.Comping {
			fmt.Printf("%.3f s %v %d\n", e.Time, e.Part, e.Key)
		}
	}
	// Output:
	// 0.000 s comping 57
	// 0.000 s comping 63
	// 0.000 s comping 72
	// 0.000 s bass 41
	// 0.400 s bass 45
}
