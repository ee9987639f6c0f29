package roomsim

import (
	"math"
	"slices"
)

const (
	// Rate in Hz of everything that has been through the air.
	Rate           = 16000
	speedOfSound   = 343.0 // m/s at 20 degrees C
	arrivalLobes   = 8     // zero crossings on each side of an arrival between two samples
	responseLength = 1.1   // of the reverberation time that is computed
)

// Point is a place in a room, m from one corner.
type Point [3]float64

// Room is a shoebox with equal walls.
type Room struct {
	Name    string
	Size    Point   // m
	RT60    float64 // s, time in which the reverberation falls by 60 dB
	Speaker Point
	Mic     Point
}

// Small, Living and Large are the rooms of the tables.
func Small() Room {
	return Room{"small", Point{2.6, 3.1, 2.4}, 0.16, Point{0.7, 0.9, 1.0}, Point{1.5, 1.4, 1.2}}
}

func Living() Room {
	return Room{"living", Point{4.2, 5.3, 2.5}, 0.40, Point{1.0, 1.2, 0.9}, Point{2.1, 2.3, 1.3}}
}

func Large() Room {
	return Room{"large", Point{7.5, 9.8, 3.4}, 0.75, Point{2.0, 2.2, 1.0}, Point{3.4, 3.6, 1.4}}
}

// Response is the impulse response from the speaker to a microphone. Sample n lies n/Rate seconds after the sound leaves the speaker.
// Boxes with equal walls ring longer than Eyring's formula says, so an exponential, as of absorbing air, brings the
// reverberation time at the room's own microphone to what was asked for.
func (r Room) Response(mic Point) []float64 {
	own := r.images(r.Mic)
	more := math.Max(0, decayPer60dB*(1/r.RT60-1/reverberation(own)))
	h := own
	if mic != r.Mic {
		h = r.images(mic)
	}
	for n := range h {
		h[n] *= math.Exp(-more * float64(n) / Rate)
	}
	return h
}

// decayPer60dB is the exponent of an amplitude that has fallen by 60 dB.
const decayPer60dB = 3 * math.Ln10

// reverberation is the time for 60 dB from the slope of the backward-integrated energy between -5 and -25 dB (Schroeder 1965), s.
func reverberation(h []float64) float64 {
	after := make([]float64, len(h)+1)
	for n := len(h) - 1; n >= 0; n-- {
		after[n] = after[n+1] + h[n]*h[n]
	}
	below := func(db float64) int {
		return slices.IndexFunc(after, func(v float64) bool { return v < after[0]*math.Pow(10, db/10) })
	}
	return 3 * float64(below(-25)-below(-5)) / Rate
}

// images sums the arrivals by the image method (Allen and Berkley 1979, eq. 10), placed between samples (Peterson 1986).
func (r Room) images(mic Point) []float64 {
	h := make([]float64, int(r.RT60*responseLength*Rate))
	reach := float64(len(h)) / Rate * speedOfSound
	beta := r.reflection()
	var most [3]int
	for i := range most {
		most[i] = int(math.Ceil(reach/(2*r.Size[i]))) + 1
	}
	for nx := -most[0]; nx <= most[0]; nx++ {
		for ny := -most[1]; ny <= most[1]; ny++ {
			for nz := -most[2]; nz <= most[2]; nz++ {
				r.addImages(h, mic, [3]int{nx, ny, nz}, beta)
			}
		}
	}
	return h
}

// addImages adds the eight images of one cell.
func (r Room) addImages(h []float64, mic Point, cell [3]int, beta float64) {
	for mirror := range 8 {
		square, bounces := 0.0, 0
		for i := range 3 {
			q := mirror >> i & 1
			d := float64(1-2*q)*r.Speaker[i] + 2*float64(cell[i])*r.Size[i] - mic[i]
			square += d * d
			bounces += abs(cell[i]-q) + abs(cell[i])
		}
		distance := math.Sqrt(square)
		place := distance / speedOfSound * Rate
		if place < float64(len(h)) {
			addArrival(h, place, math.Pow(beta, float64(bounces))/distance)
		}
	}
}

// addArrival adds a band-limited impulse.
func addArrival(h []float64, place, gain float64) {
	middle := int(math.Floor(place))
	s := math.Sin(math.Pi*(place-float64(middle))) / math.Pi
	for n := max(0, middle-arrivalLobes+1); n <= middle+arrivalLobes && n < len(h); n++ {
		d := float64(n) - place
		v := 1.0
		if d != 0 {
			// sin(pi d) alternates from sample to sample
			v = -s / d
			if (n-middle)%2 != 0 {
				v = -v
			}
		}
		h[n] += gain * v * (0.5 + 0.5*math.Cos(math.Pi*d/arrivalLobes))
	}
}

// reflection is the walls' reflection coefficient for the reverberation time (Eyring 1930).
func (r Room) reflection() float64 {
	x, y, z := r.Size[0], r.Size[1], r.Size[2]
	volume, area := x*y*z, 2*(x*y+y*z+x*z)
	absorption := 1 - math.Exp(-24*math.Ln10/speedOfSound*volume/(area*r.RT60))
	return math.Sqrt(1 - absorption)
}

// Moved is the microphone's place after a shift of some metres away from the speaker and to the side.
func (r Room) Moved(distance float64) Point {
	var to Point
	length := 0.0
	for i := range 3 {
		to[i] = r.Mic[i] - r.Speaker[i]
		length += to[i] * to[i]
	}
	to[0], to[1] = to[0]-0.7*to[1], to[1]+0.7*to[0]
	length = math.Sqrt(to[0]*to[0] + to[1]*to[1] + to[2]*to[2])
	for i := range 3 {
		to[i] = r.Mic[i] + distance*to[i]/length
	}
	return to
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
