// Package class says what the rounds of several players show to their teacher: who guesses, with which habit, who takes how long, whose
// second take does not settle, which link between voice and fingers fails, and which rounds to listen to first, with the reason.
//
// Of is pure: judged rounds in, values and sentences out. Text, CSV, JSON and HTML lay the result out.
//
// # What is claimed, and when
//
// The same as in package progress, on which this one builds: nothing about a player from fewer than progress.Least rounds, shares with
// Wilson's interval, times as quartiles, trends by Mann and Kendall. Besides:
//
//   - A habit is a kind of evidence at a place, a degree or an interval into the note, or anywhere. A place is named where the share of rounds
//     with that evidence there is larger than elsewhere: the interval of the difference (Newcombe 1998, method 10, widened after
//     Bonferroni for all kinds and places of the player) lies above zero and the difference is at least ten points. Degrees and
//     intervals overlap, so only the surest place is named; then its notes are set aside and the next one is looked for (own: forward
//     selection). What is left counts as "anywhere" where it stands in one answer in five or more at the lower end of the interval.
//   - A second take settles where more than half of the second takes are steadier than the first at the lower end of the interval; it
//     loosens where less than half are at the upper end. Between the two nothing is said.
//   - A link between voice and fingers is weak where package progress says so: it fails more than the others, or at a degree, after an interval or
//     in a key more than elsewhere. Nothing is said below progress.Least rounds with written steps.
//   - Rounds to listen to are no claim: each is what it is, so they are given for a player with few rounds too.
//
// The table does not say that one player is better than another one: where intervals overlap no difference is shown, and players
// choose their own phrases.
//
// # Conventions
//
// Times are seconds, spread is in cents, notes count from 1 in sentences and from 0 in values. A quantity that is not known is NaN.
//
// # Non-goals
//
// Nothing is judged and no bundle is read here. No marks, no ranking, no advice. Names are shown as they are given.
package class
