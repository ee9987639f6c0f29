// Package ladder proposes how large the next phrase should be, never what it is: the player invents that.
//
// The rungs begin with one note and go on over neighbours, pieces of a scale, skips, leaps, chromatic notes and longer phrases
// to faster ones. Where a player stands on them is an estimate from the rounds so far, and the next rung is the one whose
// answer is most likely to be known about 85 times in 100.
//
// # Difficulty
//
// The size of a phrase makes its difficulty, on one scale (Size, Weights): notes, largest leap, changes of direction, notes
// outside the key and notes per second, each divided by its spread in 6,944 phrases of real jazz solos, so that one step of any
// weighs about the same; changes of direction and notes outside the key count half, since they rise with the number of notes
// (correlation 0.67 and 0.48 there). No study ties this measure to success, so it orders sizes to begin with, and Fit weighs
// the five anew on a player's own results once there are 30.
//
// # The estimate
//
// The chance that an answer is known falls with difficulty along a logistic curve around the player's ability (the one-parameter
// model of Rasch 1960). The belief about the ability is a distribution on a grid, sharpened after each round by Bayes' rule, as
// in the adaptive measurement of thresholds of Watson and Pelli 1983 (Perception & Psychophysics 33, 113), and blurred a little
// between rounds, since players learn and tire. Because what is proposed is where 85 % are expected, a wrong guess of the curve's
// slope moves the estimate, not the share at which it settles (TestSettles).
//
// Why 85 %: it is soft. Wilson, Shenhav, Straccia and Cohen 2019 (Nature Communications 10, 4646) derive an error rate of 15.87 %
// for gradient learning of tasks with two choices; a melody is no such task.
//
// # Up and down
//
// The proposal moves one rung at a time: up only after an answer that was known, down only after one that was not. It never runs
// ahead of what was tried: the rung above the highest one that was known is the highest that is proposed. The player may
// overrule it; what counts is the phrase that was really sung.
//
// # Non-goals
//
// No phrases, no keys, no memory on disk: rounds in, proposal out.
package ladder
