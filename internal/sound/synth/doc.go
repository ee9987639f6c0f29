// Package synth turns the backing of a loop into samples for the speaker, or into MIDI messages for a port. It knows no device: whoever owns one asks
// [Player.Render] for the next samples.
//
// # How it works
//
// A [Synth] makes the sounds: [OpenFont] plays a SoundFont, [Plain] is the program's own small synthesizer for a machine without one, and
// [Choose] finds which of the two it is. Every note has a voice of its own that starts at its exact sample. The
// [Player] takes the notes of a [Source], such as a loop.Backing, mixes the parts, applies mutes, volume and limiter, and keeps what it has sent. Other sounds, such as a
// take that is heard again or plain tones ([AddTones]), are heard in place of the source, which runs on in silence.
//
// # Conventions
//
// One channel: the same samples go to all speakers, so that one reference is enough to take the loop out of a microphone.
// Sample n of the player lies n/rate seconds after the start of its clock; a note begins at the sample nearest to its time. Full scale is 1. Volume is in dB
// below the full volume, at which the backing of the named charts peaks below [Ceiling].
//
// The same notes give the same samples, whatever the sizes of the blocks in which they are asked for. Volume, mutes and a new source are looked at at the
// start of each block.
//
// # Louder never by itself
//
// A player starts silent and rises to [StartVolume], which is low. Only SetVolume makes it louder, and slowly: from silence to full in [RiseTime]. Nothing
// leaves it above [Ceiling].
//
// # Fonts
//
// No font comes with the program; what is found on the machine is read at run time under its own licence. Only the sounds that the backing uses are
// kept in memory.
//
// # Non-goals
//
// No stereo, reverb or chorus: they would make the loop harder to take out of the take, and the room adds its own. No recorded sounds, no synthesis for
// its own sake, no packed fonts (SF3).
package synth
