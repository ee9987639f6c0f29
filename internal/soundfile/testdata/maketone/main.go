// Maketone writes the sound from which the small Ogg Vorbis and MP3 files of
// the tests are made: half a second of a 440 Hz sine of amplitude 0.5 as a
// 16-bit mono WAV file.
//
//	go run ./internal/soundfile/testdata/maketone OUT.wav RATE
package main

import (
	"fmt"
	"math"
	"os"
	"strconv"

	"larkhand/internal/soundfile"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 3 {
		return fmt.Errorf("usage: maketone OUT.wav RATE SECONDS")
	}
	rate, err := strconv.Atoi(args[1])
	if err != nil {
		return fmt.Errorf("%q is not a sampling rate in Hz", args[1])
	}
	seconds, err := strconv.ParseFloat(args[2], 64)
	if err != nil {
		return fmt.Errorf("%q is not a time in seconds", args[2])
	}
	samples := make([]float32, int(seconds*float64(rate)))
	for i := range samples {
		samples[i] = float32(0.5 * math.Sin(2*math.Pi*440*float64(i)/float64(rate)))
	}
	return soundfile.WriteWAV(args[0], samples, rate)
}
