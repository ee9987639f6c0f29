package synth_test

import (
	"fmt"

	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/sound/synth"
)

// What an audio callback does: ask for block after block. Afterwards what was sent is there to be taken out of the take.
func Example() {
	const rate = 48000
	chart, err := music.ParseChart("Cm7 | Fm7")
	if err != nil {
		fmt.Println(err)
		return
	}
	l, err := loop.New(chart, 120, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	backing, err := loop.Arrange(l, loop.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	sounds, err := synth.Plain(rate)
	if err != nil {
		fmt.Println(err)
		return
	}
	player, err := synth.NewPlayer(sounds, rate, synth.DefaultKeep)
	if err != nil {
		fmt.Println(err)
		return
	}
	player.Mute(loop.HiHat, true)
	player.Play(backing, 0)
	block := make([]float32, 512)
	for range 4 * rate / len(block) {
		player.Render(block)
	}
	sent, err := player.Mono(1, 3)
	fmt.Println(sounds.Name(), len(sent), err)
	// Output: own plain sounds 96000 <nil>
}
