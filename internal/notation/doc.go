// Package notation writes sung and played notes as a musician would: it lays them on the beats of bars, cuts what crosses a bar or a
// beat into tied values, fills up with rests, and gives the result as text in ABC notation (version 2.1), which scripts can draw.
//
// # Conventions
//
// Times are seconds on the clock of the notes, pitch is a MIDI note number. Inside a bar, time is counted in ticks, [TicksPerQuarter] a
// quarter note. Every bar is full: what does not sound is a rest, also before the first note and after the last one. The notes are one
// line: a note ends where the next one begins, and two that were struck together stand one after the other.
//
// How rhythm is read (own): every onset goes to the nearest sixteenth, or, in a beat whose onsets fit triplets better, to the nearest
// eighth triplet. A note that sounds for most of the time to the next one lasts until there. Without a loop the tempo is that at which
// the onsets lie nearest to simple parts of a beat, moderate tempos preferred, and the first note begins a bar.
//
// # Non-goals
//
// No tempo that changes inside a phrase is followed, no chords and voices are written, and no ornaments are recognised. Swung eighths are
// written as they were performed, which may be as triplets.
package notation
