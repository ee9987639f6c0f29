// Package roomsim plays a synthesized loop into a simulated room and records it together with a voice: what a microphone would hear of a
// speaker, with the truth beside it. It serves measuring and tests only.
//
// # Conventions
//
// Everything that went through the air is at 16 kHz, the loop at 48 kHz. The level of the bleed is its rms over that of the voice
// without its rests, while somebody sings. The same setup gives the same recording, bit for bit.
//
// # Non-goals
//
// No people or furniture in the room, walls that absorb all frequencies alike, no directional speaker or microphone, no codec.
package roomsim
