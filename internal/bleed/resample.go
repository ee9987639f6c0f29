package bleed

import "larkhand/internal/resample"

// WorkRate is the rate in Hz at which bleed is removed and cleaned takes are given back. Voices have their pitch well below 8 kHz.
const WorkRate = 16000

// passShare is where the pass band of a change of rate ends, of the lower Nyquist frequency, half amplitude.
const passShare = 0.93

// rateConverter brings one stream to WorkRate.
type rateConverter = resample.Converter[float32, float64]

// newRateConverter prepares a stream at rate Hz, given in blocks of at most block samples.
func newRateConverter(rate, block int) *rateConverter {
	return resample.New[float32, float64](rate, WorkRate, passShare, resample.Long, block)
}

// ToWorkRate brings a whole recording at a rate in Hz to WorkRate; the result has its length times the ratio of the rates, rounded down.
func ToWorkRate(samples []float32, rate int) []float64 {
	return resample.Whole[float32, float64](samples, rate, WorkRate, passShare, resample.Long)
}

// warp returns n samples: sample i is x at the place (1+skew)*i - delay, in samples.
func warp(x []float64, skew, delay float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = resample.At(x, (1+skew)*float64(i)-delay)
	}
	return out
}

func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	i := 0
	for ; i+4 <= len(a); i += 4 {
		x, y := a[i:i+4:i+4], b[i:i+4:i+4]
		s0 += x[0] * y[0]
		s1 += x[1] * y[1]
		s2 += x[2] * y[2]
		s3 += x[3] * y[3]
	}
	for ; i < len(a); i++ {
		s0 += a[i] * b[i]
	}
	return s0 + s1 + s2 + s3
}
