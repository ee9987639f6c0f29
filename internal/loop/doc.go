// Package loop lays a chart on the clock: which chord sounds at a moment, which bar and beat it is, when the next bar begins, and
// what the backing plays: bass, comping, hi-hat and click.
//
// # Conventions
//
// Times are seconds on the round's clock, tempos quarter notes a minute. The loop has no end: after its last bar the first one comes again. Before
// Loop.Starts there is no loop yet, so no chord and no bar; only the clicks of a count-in may sound there. A bar, a beat and a chord begin exactly at their start and
// end just before the next one. Moments within a ten-millionth of a bar before a start count as the start, so that a time that
// this package has computed falls into the bar that it begins.
//
// Every time is computed from the number of its bar, never added up, so nothing drifts: the events of any window are the same whether
// the window is asked for at once or in pieces.
//
// # Feel
//
// A swing feel lengthens the first of two eighth notes and shortens the second. Its ratio is the length of the long one over the
// length of the short one. Friberg and Sundström, "Swing ratios and ensemble timing in jazz performance: evidence for a
// common rhythmic pattern", Music Perception 19 (2002) 333, measured drummers' cymbals: the ratio falls about linearly with the tempo, from up to 3.5:1
// near 120 quarter notes a minute to 1:1 when very fast, with a short note of about 100 ms at medium and fast tempos; soloists
// put their off-beats together with the cymbal. So all parts share one ratio, and [DefaultSwing] is a line through these two ends.
//
// # Backing
//
// The rules of bass, comping and drums are own, on common practice (no source). They are fixed: the same chart gives the same notes, time after time
// through the loop, so that a loop that comes back through a microphone can be recognised and taken out. The comping plays nothing
// but notes of the chord symbol and never anticipates a chord, so that what the player hears is what the chart says.
//
// # Non-goals
//
// No clock of its own and no sound. A chart does not change while the loop runs; make another Loop that starts at a bar line.
// Positions and chords of Loop are even: swing moves the notes within a beat and not the bars, beats or chords. No random variation, no fills.
package loop
