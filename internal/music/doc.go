// Package music is the theory that the program needs: keys and their degrees, letter names, chord symbols, charts.
// It knows nothing of time; package loop lays a chart on the clock.
//
// # Conventions
//
//   - A pitch is a MIDI note number: 60 is C4 (middle C), 69 is A4 = 440 Hz. A pitch class is that number modulo 12: C is 0, B is 11.
//   - Letters are written with # and b, doubled where the key asks for it: "F##", "Bbb". The signs ♯, ♭, 𝄪 and 𝄫 are read too.
//   - Degrees are an accidental and a number from 1 to 7: "1", "b3", "#4".
//
// # Which letter, which number
//
// The letter comes first, and both numberings are read off it, so a degree and a letter never disagree: whatever is
// called some kind of 4 has the letter of the 4.
//
//   - A note of the key's own scale has the letter that the scale gives it: one letter for each of seven degrees.
//   - Any other note is spelled as in the harmonic chromatic scale on the tonic, 1 b2 2 b3 3 4 #4 5 b6 6 b7 7 counted
//     against major (common practice, no source): in C these are Db, Eb, F#, Ab and Bb, in C minor Db, E, F#, A and B.
//     One note alone does not tell whether the line goes up or down, so the letter does not depend on direction.
//   - [ScaleNumbers] tells how far the note lies from the key's own note of that letter; [AlteredNumbers] how far it lies from
//     the note of that letter in the major scale on the same tonic.
//
// Scales of fewer or more than seven notes count the seven-note scale in which they lie: minor pentatonic and blues count
// natural minor, major pentatonic counts major. So C minor pentatonic has the same numbers as C minor: 1 3 4 5 7 by
// ScaleNumbers, 1 b3 4 5 b7 by AlteredNumbers; the blue note of C blues is Gb, b5 in both. Melodic minor is the rising form
// (raised 6 and 7) in both directions, as improvisers use it.
//
// # Tonics
//
// Each of the seven letters, plain, with one # or with one b, is a tonic: 21 in all. The rare ones are spelled as they must be
// (G# major has F##, Fb major has Bbb); no key needs more than two accidentals on a letter. A tonic with two accidentals is refused, and the
// usual name of the same key is suggested.
//
// # Non-goals
//
// No rhythm, no voicings, no chord-scale advice, no analysis of harmony, no tunings other than twelve equal steps. A chart
// holds the bars as they are played: repeats and endings are read, then unrolled.
package music
