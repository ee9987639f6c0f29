package sound

import (
	"math"
	"testing"

	"larkhand/internal/loop"
	"larkhand/internal/sound/synth"
)

// Samples at another rate keep their length in time and their shape: a straight line stays one.
func TestAtRate(t *testing.T) {
	line := make([]float32, 1001)
	for i := range line {
		line[i] = float32(i) / 1000
	}
	if same := atRate(line, 48000, 48000); &same[0] != &line[0] {
		t.Error("samples at the right rate are copied")
	}
	for _, wanted := range []int{16000, 44100, 96000} {
		out := atRate(line, 48000, wanted)
		if want := float64(len(line)) * float64(wanted) / 48000; math.Abs(float64(len(out))-want) > 1 {
			t.Errorf("at %d Hz %d samples, want %.0f", wanted, len(out), want)
		}
		for i, x := range out {
			if want := math.Min(1, float64(i)*48000/float64(wanted)/1000); math.Abs(float64(x)-want) > 1e-5 {
				t.Fatalf("at %d Hz sample %d is %g, want %g", wanted, i, x, want)
			}
		}
	}
	if out := atRate(nil, 16000, 48000); len(out) != 0 {
		t.Errorf("nothing became %d samples", len(out))
	}
}

// What a Speaker plays aside is what the stream sends, from its time on and until it is hushed.
func TestSpeakerPlaysAside(t *testing.T) {
	sounds, err := synth.Plain(testRate)
	if err != nil {
		t.Fatal(err)
	}
	player, err := synth.NewPlayer(sounds, testRate, 10)
	if err != nil {
		t.Fatal(err)
	}
	player.SetVolume(synth.MaxVolume)
	stream := &Stream{cfg: StreamConfig{Play: player}, line: newLine(testRate, false, player, 1, 0)}
	speaker, err := stream.Speaker(player, loop.Options{})
	if err != nil {
		t.Fatal(err)
	}
	player.Render(make([]float32, 4*testRate)) // risen to full volume
	steady := make([]float32, testRate)
	for i := range steady {
		steady[i] = 0.25
	}
	speaker.Play(steady, testRate, 4.5)
	out := make([]float32, testRate)
	player.Render(out)
	if out[testRate/2-1] != 0 || math.Abs(float64(out[testRate-1])-0.25) > 1e-6 {
		t.Errorf("before its time %g, then %g", out[testRate/2-1], out[testRate-1])
	}
	speaker.Hush()
	player.Render(out[:testRate/10])
	if out[testRate/10-1] != 0 {
		t.Errorf("hushed it is %g", out[testRate/10-1])
	}
	if err := speaker.Sent(out[:100], 4*testRate+testRate*3/4); err != nil || math.Abs(float64(out[0])-0.25) > 1e-6 {
		t.Errorf("sent %g, %v", out[0], err)
	}
}
