// Package demo is the practice round that the program shows on the first day: a scenario of its own, sung by package singer and
// played into a MIDI file at run time. No recording is stored.
//
// # Conventions
//
// Both takes are mono at Meta.Rate. Each take has its own clock, whose zero is its first sample; the loop starts Meta.LoopStart seconds
// later on both. The answer's zero lies Meta.AnswerStart seconds after the zero of take 2. Every call gives the same round, bit for bit.
//
// # Non-goals
//
// No choice of scenario, no random rounds (package singer makes those), no judging.
package demo
