package loop

import "larkhand/internal/music"

// Velocities of click and hi-hat, 1 to 127 (own choice: the first beat stands out, the hi-hat stays behind the comping).
const (
	clickFirst   = 112
	clickOther   = 84
	hiHatPulse   = 64
	hiHatAccent  = 76
	hiHatOffBeat = 52
)

// drumHit is the length of a drum note in quarter notes: drums ring by themselves, the length only has to be there.
const drumHit = 0.125

// click gives the clicks of a bar: one a pulse, the first one higher and louder.
func click(m music.Meter) (out []planned) {
	for i, p := range pulses(m) {
		n := planned{at: p.at, long: drumHit, key: lowWoodBlock, velocity: clickOther, part: Click}
		if i == 0 {
			n.key, n.velocity = highWoodBlock, clickFirst
		}
		out = append(out, n)
	}
	return out
}

// hiHat gives the hi-hat of a bar: every pulse; the backbeats (every second pulse) are closed with the foot. With swing the off-beat
// before each odd pulse leads on: 1, 2 and, 3, 4 and. Straight eighths are all played. Where the eighth notes make up groups they are
// all played too.
func hiHat(m music.Meter, f Feel) (out []planned) {
	for i, p := range pulses(m) {
		backbeat := i%2 == 1
		n := planned{at: p.at, long: drumHit, key: closedHiHat, velocity: hiHatPulse, part: HiHat}
		if backbeat {
			n.key, n.velocity = pedalHiHat, hiHatAccent
		}
		out = append(out, n)
		if swings(m) && !f.straight() && !backbeat {
			continue
		}
		for _, at := range subdivisions(m, p) {
			out = append(out, planned{at: at, long: drumHit, key: closedHiHat, velocity: hiHatOffBeat, part: HiHat})
		}
	}
	return out
}

// subdivisions gives where a pulse is played on: at its beats where it is a group, else at its half.
func subdivisions(m music.Meter, p pulse) (at []float64) {
	step := float64(quartersOfWhole) / float64(m.Unit)
	if swings(m) {
		step = p.long * evenEighth
	}
	for i := 1; float64(i)*step < p.long; i++ {
		at = append(at, p.at+float64(i)*step)
	}
	return at
}
