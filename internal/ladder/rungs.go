package ladder

// Rung is one size of phrase on the ladder.
type Rung struct {
	Name string // how to make a phrase of it, for a player: "three notes of the scale, in one direction"
	Size Size
}

// Rungs from the first to the last. Own: each is a little harder than the one before by the standard weights (TestRungsRise), and
// brings one new thing.
var Rungs = []Rung{
	{"one note", Size{Notes: 1}},
	{"two neighbours of the scale", Size{Notes: 2, Leap: 2, Rate: 1}},
	{"three notes of the scale, up or down", Size{Notes: 3, Leap: 2, Rate: 1.2}},
	{"four notes of the scale, up and back or down and back", Size{Notes: 4, Leap: 2, Turns: 1, Rate: 1.2}},
	{"four notes with one skip of a third", Size{Notes: 4, Leap: 4, Turns: 1, Rate: 1.2}},
	{"five notes with skips of a third", Size{Notes: 5, Leap: 4, Turns: 2, Rate: 1.5}},
	{"five notes with one leap of a fourth", Size{Notes: 5, Leap: 5, Turns: 2, Rate: 1.5}},
	{"five notes with one leap of a fifth", Size{Notes: 5, Leap: 7, Turns: 2, Rate: 1.5}},
	{"six notes, one of them outside the key, no leap beyond a fifth", Size{Notes: 6, Leap: 7, Turns: 2, Chromatic: 1, Rate: 1.5}},
	{"seven notes, one of them outside the key, no leap beyond a fifth", Size{Notes: 7, Leap: 7, Turns: 3, Chromatic: 1, Rate: 2}},
	{"seven notes with a leap of a sixth and one note outside the key", Size{Notes: 7, Leap: 9, Turns: 3, Chromatic: 1, Rate: 2}},
	{"eight notes with a leap of a sixth and two notes outside the key", Size{Notes: 8, Leap: 9, Turns: 3, Chromatic: 2, Rate: 2}},
	{"eight notes with a leap of an octave and two notes outside the key", Size{Notes: 8, Leap: 12, Turns: 3, Chromatic: 2, Rate: 2}},
	{"ten notes with a leap of an octave and two notes outside the key", Size{Notes: 10, Leap: 12, Turns: 4, Chromatic: 2, Rate: 2}},
	{"ten notes with a leap of an octave, faster", Size{Notes: 10, Leap: 12, Turns: 4, Chromatic: 2, Rate: 3.3}},
	{"twelve notes with a leap of an octave, fast", Size{Notes: 12, Leap: 12, Turns: 5, Chromatic: 2, Rate: 4}},
}
