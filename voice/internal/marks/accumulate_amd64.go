package marks

// accumulate is accumulatePlain, four channels at a time; it gives the same bits.
//
//go:noescape
func accumulate(acc *[Channels]float32, w [][Channels]float32, a []float32)
