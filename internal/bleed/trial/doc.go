// Package trial measures package bleed with real voices in simulated rooms: how many notes go wrong with a clean voice, with the backing
// in the microphone, and after it was taken out.
//
// # Conventions
//
// A clip is cut to its first 20 s and brought to a usual level; a count-in of one pass of the loop goes before it. The loop is in
// the singer's key. Each clip meets each condition once; room, loop, delay and clock skew go round by clip, so that
// every cell of the table has its share of each. Notes are compared from where the singing begins, by the measures
// of package metrics against the pitch that sounded. The clean voice has the room's noise and no backing. NSERtol is the
// note edit distance over the reference notes, pitches within 0.6 semitone being equal.
//
// # Non-goals
//
// No real loudspeaker, and no choice of constants: what is tuned is tuned elsewhere.
package trial
