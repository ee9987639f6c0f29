//go:build !race

package soundfile

const raceDetector = false
