// Package midiin turns MIDI messages into played notes. A file and a live port go the same way: both hand their channel
// messages to a Reader, and the same messages at the same times give the same notes.
//
//	notes.mid -> ReadFile -> File{Events} \
//	                                       Reader.Message(t, msg) -> Reader.Notes, Reader.Finish -> []Note
//	live port -> t, msg -----------------/
//
// # Conventions
//
// Times are seconds (float64) since the zero of the file or of the clock that the caller of Message keeps; a note lasts from
// Onset up to, not including, Offset, and Offset >= Released >= Onset. Pitches are MIDI note numbers (float64), keys are the
// same as integers 0 to 127, velocities are 1 to 127, channels are counted from 0 here and from 1 in remarks and in MIDI's own
// words ("master channel 1"). Notes come in the order of their onsets; notes of one onset in the order of their messages.
// A file without notes gives no notes and no error.
//
// # Files
//
// Standard MIDI Files 1.0: format 0; format 1 with its tracks merged and one tempo map for all, in whichever track it stands;
// of format 2 (independent sequences) the first sequence that has notes. Time in ticks a quarter note or in SMPTE frames.
// Also inside a RIFF wrapper (RMID). A damaged file is read as far as it goes: File.Remarks says in plain sentences what
// was wrong, and nothing is invented: reading of a track stops where its bytes make no sense. Lengths that a file
// claims are never believed beyond the bytes that are there, so memory is linear in the file's size, and time too but for the
// sorting of tracks into one. No file is ever written to.
//
// # Notes
//
//   - Velocity 0 ends a note. A key struck again without a release ends its first note where the second starts. Of a strike
//     and a release of one key at one time, the release is taken first, whichever came first.
//   - Released is when the key went up, Offset when the sound ended: the sustain pedal (controller 64; down from value 64,
//     so a half-pressed pedal is down) and the sostenuto pedal (66) lie between.
//   - All sound off (120) ends all notes of a channel, all notes off (123) and the mode messages release its keys, reset all
//     controllers (121) lifts its pedals and centres its bend.
//   - Mode 4 (126, one channel per string): a channel plays one note at a time. Bends always belong to their channel.
//   - MPE: the configuration message (RPN 6) on channel 1 or 16 makes a zone. The master's bend adds to its members', its
//     pedals hold theirs, and bend ranges start at 48 semitones for members and 2 for the master.
//   - Note.Pitch is the key plus the bend held longest after the attack; bend.go says how that is found, and why so. The bend's
//     range is 2 semitones until RPN 0 sets it. A file whose recording began after its instrument had sent RPN 0 or
//     RPN 6 does not say its range: Options.BendRange does.
//   - Notes never released end at the end of the file, with a remark.
//   - Guitar drops the ghost notes of a pitch-to-MIDI converter and says how many (DropGhosts has the rule and its cost).
//
// # Non-goals
//
// No ports: opening one, and giving its messages their times, is the caller's. No writing of files. No MIDI 2.0, no
// instruments behind several ports in one file (port marks are ignored), no tuning messages, no lyrics, keys or metres.
// No meaning of programs or of a percussion channel: channel 10 is a channel. No chords, quantizing or rhythm.
package midiin
