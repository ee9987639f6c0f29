// Package render sings phrases by general-purpose synthesizers that are no part of larkhand, for measuring it on voices that it was
// not made with.
//
// # Renderers
//
//   - [Speech]: espeak-ng says syllables and words, and praat changes their pitch and length by overlap-add of single pitch periods
//     (PSOLA; Moulines and Charpentier, Speech Communication 9 (1990) 453).
//   - [Grains]: csound's opcode fof, formant wave functions (Rodet, Potard and Barriere, Computer Music Journal 8(3) (1984) 15).
//   - [Sampled]: fluidsynth plays the recorded voice of a General MIDI SoundFont ("Voice Oohs"), one attack for each syllable.
//
// Each writes the program's input into a temporary folder, runs the program with a time limit, and reads the result back. Where a
// program or sound bank is not installed, Missing says so in one sentence.
//
// All three follow the same two curves, pitch and level, which [Perform] and this package lay out from the notes of a real solo:
// glides, scoops, falls, vibrato, ghost notes, dips between repeated notes. So the truth of a rendered phrase is known: the pitch is
// exact but for the tuning of the recorded samples; the onset is that of the vowel, exact for Grains, to about 20 ms for Speech
// (where the vowel of a spoken syllable begins is itself measured) and the start of the recorded attack for Sampled.
//
// # Conventions
//
// Times are seconds from the first sample, pitch is a MIDI note number (A4 = 69 = 440 Hz), levels are dB relative to a plain note.
// Sound is mono at [Rate], full scale 1, with a noise floor of a quiet room. The same notes and the same programs give the same
// samples.
//
// # Non-goals
//
// No beauty. Nothing rendered is kept, and nothing here trains the network: internal/singer makes the material for that. A few
// constants of the search for notes (voice/internal/segment) were chosen with phrases in view that are rendered from one half of the
// solos; what is reported is measured on the other half, though with the same programs and styles. It
// knows no lyrics and no language beyond a dozen short words.
package render
