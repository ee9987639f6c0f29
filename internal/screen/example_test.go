package screen_test

import (
	"fmt"

	"larkhand/internal/screen"
)

// What a player writes in the set-up becomes the setup of a round, or one sentence on the line that does not work.
func ExampleSettings_Setup() {
	s := screen.Usual()
	s.Key, s.Chart = "F major", "12-bar blues"
	setup, err := s.Setup()
	fmt.Println(setup.Chart, err)
	s.Tempo = "brisk"
	_, err = s.Setup()
	fmt.Println(err)
	// Output:
	// F7 | Bb7 | F7 | F7 | Bb7 | Bb7 | F7 | F7 | C7 | Bb7 | F7 | C7 <nil>
	// "brisk" is no tempo: write 20 to 400 quarters a minute
}
