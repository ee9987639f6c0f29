// Package plan says what to sing next, never its notes: how large a phrase and where in the voice, or a kept phrase in which key.
//
// The size is that of the ladder (package ladder) after the rounds so far. Every 30 rounds the ladder is weighed anew by the player's own results,
// and what is proposed stays until the next round moves it: from one round to the next it never moves by more than a rung.
//
// # Conventions
//
// Rounds come oldest first. Pitches are MIDI numbers, keys pitch classes (C is 0).
//
// # Non-goals
//
// No journal, no clock, no screen: rounds in, proposal out.
package plan
