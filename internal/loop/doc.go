// Package loop lays a chart on the clock: which chord sounds at a moment, which bar and beat it is, when the next bar begins.
//
// # Conventions
//
// Times are seconds on the round's clock, tempos quarter notes a minute. The loop has no end: after its last bar the first one comes again. Before
// Loop.Starts there is no loop yet, so no chord and no bar. A bar, a beat and a chord begin exactly at their start and
// end just before the next one. Moments within a ten-millionth of a bar before a start count as the start, so that a time that
// this package has computed falls into the bar that it begins.
//
// # Non-goals
//
// No clock of its own, no sound, no swing: beats are even, and the chart does not change while the loop runs.
package loop
