package marks

// accumulatePlain adds a[c]*w[c] for all c, four at a time; the rectifier leaves many fours of zeros, which are passed over.
func accumulatePlain(acc *[Channels]float32, w [][Channels]float32, a []float32) {
	for c := 0; c+4 <= len(a) && c+4 <= len(w); c += 4 {
		a0, a1, a2, a3 := a[c], a[c+1], a[c+2], a[c+3]
		if a0 == 0 && a1 == 0 && a2 == 0 && a3 == 0 {
			continue
		}
		w0, w1, w2, w3 := &w[c], &w[c+1], &w[c+2], &w[c+3]
		for k := range acc {
			acc[k] += a0*w0[k] + a1*w1[k] + a2*w2[k] + a3*w3[k]
		}
	}
}
