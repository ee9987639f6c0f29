// Package simulate makes answers whose truth is known: fluent ones, ones with generated trial and error, and fluent ones
// that look like trial and error without being it. Package hunt was fitted and is measured on them.
//
// A Case starts fluent (Answer). Correct, Creep, Hesitate, Restart and Touch put one fault into it, at strength 1 (light)
// to 3 (heavy); LookAlike puts in something that is no fault. Each returns a new Case and never changes the one given,
// so they can be combined. Everything comes from the random source of the caller: the same seed gives the same case.
//
// # Conventions
//
// Times are in seconds, pitches are MIDI note numbers, velocities 1 to 127. A phrase needs at least two notes for a
// hesitation; where a fault does not fit into a phrase the case comes back as it was, and its Faults say so.
//
// The ranges are those of real faults where these were found: Tominaga, Knoblich and Sebanz 2022 (Scientific Reports
// 12, 21296, experiment 1: 163 real errors of trained pianists) and 83 recordings of learners with marked regions.
// Nobody in those sets searches for a tune, so strengths of searching are a design.
//
// # Non-goals
//
// It makes no sound and no singing: only note lists. It does not imitate one player's habits.
package simulate
