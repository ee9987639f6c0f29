//go:build !amd64

package marks

func accumulate(acc *[Channels]float32, w [][Channels]float32, a []float32) {
	accumulatePlain(acc, w, a)
}
