package soundfile_test

import (
	"bytes"
	"fmt"

	"larkhand/internal/soundfile"
)

// A recording whose file lost its second half.
func ExampleDecode() {
	var file bytes.Buffer
	if err := soundfile.EncodeWAV(&file, make([]float32, 4*48000), 48000); err != nil {
		fmt.Println(err)
		return
	}
	cut := file.Bytes()[:file.Len()/2]

	take, err := soundfile.Decode("take1.wav", bytes.NewReader(cut))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, %d Hz, %.1f s\n", take.Format, take.Rate, take.Duration())
	for _, remark := range take.Remarks {
		fmt.Println("-", remark)
	}

	_, err = soundfile.Decode("take1.txt", bytes.NewReader([]byte("Cm7 | Fm7")))
	fmt.Println(err)
	// Output:
	// WAV 16 bit, 48000 Hz, 2.0 s
	// - cut short: 2.0 s of 4.0 s could be read
	// - silent from beginning to end
	// take1.txt is not a sound file: larkhand reads WAV, FLAC, Ogg Vorbis and MP3
}
