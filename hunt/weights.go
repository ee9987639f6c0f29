package hunt

// The model's numbers. Where a comment says "fitted", the number was found on half of the pianists of Tominaga,
// Knoblich and Sebanz 2022 (Scientific Reports 12, 21296, experiment 1) and half of 299 jazz solos of the Weimar Jazz
// Database, with generated search, and checked on the other halves (weights there within 0.15). Where it says "chosen",
// it is a ramp end or a cap that was set with all of those piano performances in view. Where it says "own", it was
// added here; doc.go lists those departures.
const (
	baseLogOdds = -2.0 // fitted: log-odds of "searched" where there is no evidence, at base rate 1:1

	probeWeight      = 3.0  // fitted: per wrong key
	creepWeight      = 1.75 // fitted: per key of a creep
	replayWeight     = 3.4  // own: per repeated key (fitted: 2.75), so that a clear one alone is over the limit of Searched
	hesitationWeight = 3.0  // fitted: per hesitation (0 to 2 each)
	touchWeight      = 3.45 // own: per soft touch (fitted: 3.25, with which one clear touch alone stays just under the limit of searched)

	probeCap      = 3.0 // chosen: most wrong keys that count
	creepCap      = 4.0 // chosen: most creeping keys that count
	replayCap     = 4.0 // chosen: most repeated keys that count
	hesitationCap = 3.0 // chosen: largest sum of hesitations that counts
	touchCap      = 3.0 // chosen: most touches that count
)

// Extra notes.
const (
	chainGap = 0.060 // s, chosen: onsets this close belong to one stroke of the hand (slips, chords, rolls)

	slipDistance  = 0.070 // s, chosen: real slips lie 2 to 69 ms from the right onset
	errorDistance = 0.150 // s, chosen: from 124 ms on the next right note comes late, the sign of a heard error

	repeatSlipDistance  = 0.200 // s, chosen: as slipDistance, for a key that repeats the right one (bouncing keys)
	repeatErrorDistance = 0.350 // s, chosen: as errorDistance, for a key that repeats the right one

	onTimeLateness = 0.050 // s, chosen: a next right note that is no later than this is on time
	lateLateness   = 0.150 // s, chosen: one that is later than this was waited for

	quietShare = 0.2 // chosen: what is left of an extra note that cost no time, or came after the complete phrase
	quietCap   = 0.4 // own: most that such notes count together

	firstShare = 0.45 // own: what a single try before the first note counts, unless it is a neighbouring key ...
	firstQuick = 0.75 // own: ... left sooner than this share of the median expected interval

	firstAgain      = 1.3 // median expected intervals, own: the first key struck again within this may be a note that was lost ...
	firstAgainShare = 0.8 // own: ... and then counts this

	heldInterval = 3     // semitones, chosen: an extra note at least this far from the target ...
	heldBefore   = 0.300 // s, chosen: ... begun less than this before it ...
	heldInto     = 0.150 // s, chosen: ... and held longer than this into it is a second voice, not a try

	creepStep   = 2 // semitones, chosen: largest step of a creep
	creepLength = 2 // keys, chosen: fewest keys of a creep
)

// Soft notes. Loudness is relative: velocity over the 67th percentile of the velocities of three notes on each side.
const (
	loudnessNeighbours = 3    // notes on each side, chosen
	loudnessPercentile = 0.67 // chosen: above the median, so that one soft neighbour does not count

	bounceLoudness = 0.30 // chosen: a softer note on a neighbour's key is a bounce of that key

	ghostLoudness = 0.45  // chosen: guitar converters only
	ghostDuration = 0.060 // s, chosen: guitar converters only

	touchLoudness = 0.60  // chosen: 0.06 % of right notes are softer
	touchDistance = 0.100 // s, own: as errorDistance, for soft touches: slips as soft and short lie within 70 ms
	touchDuration = 0.100 // s, chosen: soft and under 80 ms long are 0.02 % of right notes
)

// Tempo and hesitation.
const (
	lateShare = 0.4 // chosen: lateness that fluent players reach, as a share of the expected interval

	unevenLeast = 2   // long intervals, own: fewer show no style
	unevenLong  = 1.1 // own: over the fitted tempo, the least that every long one must reach
	unevenMost  = 2.4 // own: over the fitted tempo, the most that they may be together: swung notes, 2:1, and some room

	usualTempo = 1.3  // played s per sung s, own: a slower answer does not make notes long that were short when sung
	slowest    = 4.5  // played s per sung s, own: no tempo is slower; who takes longer for every note waits before every note
	onsetSlack = 0.05 // s, own: for each 1 that the tempo ratio is slower, since errors of sung onsets are drawn out too

	steadySung  = 0.2  // s, own: shorter sung intervals are too uncertain to show a tempo
	steadyFast  = 0.55 // own: share of a slow tempo under which an interval is no part of it ...
	steadyShare = 0.2  // own: ... where such intervals make up this share of the phrase
	steadyLeast = 0.6  // played s per sung s, own: faster than this keys were pressed together

	freeFrom  = 0.800 // s, chosen: notes longer than this are held freely ...
	freeShare = 1.1   // chosen: ... and may be late by this share of what goes beyond

	hesitationStart = 0.140 // s, own: excess lateness at which a hesitation begins
	hesitationFull  = 0.280 // s, own: excess lateness of one whole hesitation
	hesitationLong  = 1.000 // s, chosen: excess lateness that counts twice (over 1 s is deliberate search)

	unclearReach = 1 // semitones, own: an unclear sung note may have been this far off

	pairingCap    = 1.0 // s, chosen: most that a note can be off the rhythm when equal neighbouring keys are paired
	pairingMargin = 0.1 // s, own: a note must fit the rhythm by this much better to be taken instead of a later one
	pairingMost   = 64  // notes, own: longer rows of one key keep the pairing they came with
)

// Labels and what is shown.
const (
	knownBelow    = 0.5 // probability
	searchedAbove = 0.8 // probability

	shownWeight       = 1.5 // own: least log-odds of an evidence that is listed; alone it leaves p at 0.38
	shownWeightUnsure = 0.5 // own: as shownWeight, where the label is not Known and so has to be explained

	longestClock = 1e7  // s, own: notes beyond it, or not finite, are left out of account
	longestPrior = 20   // own: largest absolute prior log-odds
	sameTime     = 1e-9 // s, own: what rounding may change
)

// ramp is 0 up to a, 1 from b on, and straight between.
func ramp(x, a, b float64) float64 {
	return min(max((x-a)/(b-a), 0), 1)
}
