package phrase

import (
	"fmt"
	"math"
	"time"
)

// Grade says how well a phrase was recalled, 0 to 5 (Wozniak 1990).
type Grade int

// The grades that rounds give. 3 and above keep the repetition going.
const (
	Lost     Grade = 1 // several notes not as kept
	Slipped  Grade = 2 // one note not as kept
	Searched Grade = 3 // all as kept, but searched for
	Unsure   Grade = 4 // all as kept; perhaps searched for
	Knew     Grade = 5 // all as kept, and known
)

// Card is what is known of one phrase in one key. The zero value is a key that was never tried.
type Card struct {
	Tries       int       // in all
	Repetitions int       // in a row that were recalled
	Ease        float64   // easiness factor, at least 1.3; 0 where never tried
	Days        int       // between the last try and the next
	Last        time.Time // of the last try
}

// The constants of SM-2 (Wozniak 1990, "Optimization of learning", chapter 3.2).
const (
	firstEase  = 2.5
	leastEase  = 1.3
	firstDays  = 1
	secondDays = 6
	recalled   = 3 // grade from which the repetition goes on
)

// After is the card after one more try.
func (c Card) After(g Grade, at time.Time) Card {
	if c.Tries == 0 {
		c.Ease = firstEase
	}
	c.Tries++
	c.Last = at
	if g < recalled {
		c.Repetitions, c.Days = 0, firstDays
		return c
	}
	c.Repetitions++
	switch c.Repetitions {
	case 1:
		c.Days = firstDays
	case 2:
		c.Days = secondDays
	default:
		c.Days = int(math.Ceil(float64(c.Days)*c.Ease - 1e-9))
	}
	short := float64(Knew - g)
	c.Ease = math.Max(leastEase, c.Ease+0.1-short*(0.08+short*0.02))
	return c
}

// Due is when the phrase is to be tried again in this key; a key that was never tried is due at once.
func (c Card) Due() time.Time {
	if c.Tries == 0 {
		return time.Time{}
	}
	return c.Last.AddDate(0, 0, c.Days)
}

// Reason says in a sentence why it is due when it is.
func (c Card) Reason() string {
	switch {
	case c.Tries == 0:
		return "never tried in this key"
	case c.Repetitions == 0:
		return "it failed last time, so it comes back after a day"
	case c.Repetitions == 1:
		return "recalled once, so it comes back after a day"
	case c.Repetitions == 2:
		return "recalled twice in a row, so it rests for 6 days"
	}
	return fmt.Sprintf("recalled %d times in a row, so it rests for %d days", c.Repetitions, c.Days)
}
