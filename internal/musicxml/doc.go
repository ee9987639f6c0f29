// Package musicxml writes a round as MusicXML 4.0 (score-partwise; W3C Music Notation Community Group, 2021), which notation programs read:
// the phrase and the answer as two staves, spelled by the key, with the numbers of the notes below them and the chords of the loop above.
//
// # How it is laid out
//
//   - Rhythm comes from package notation: sixteenths and triplets at best, on the bars of the loop where there is one, else on bars that
//     are guessed. Divisions are notation.TicksPerQuarter.
//   - Both staves begin with the earlier of their first bars and end with the later of their last; a bar without notes is a rest.
//     The answer stands at the fitted tempo, so that it lies below the phrase; the tempo mark is the phrase's.
//   - Notes are spelled by music.Key.Letter; accidentals are written where they differ from the signature and from what stood before in
//     the bar, as engravers do.
//   - A staff has the clef that suits the middle of its notes: treble, treble an octave lower, or bass.
//
// # Conventions
//
// Only elements of MusicXML 3.0 are used, so that older readers and their schema take the file too. Title and names are text and are escaped;
// characters that XML cannot hold are left out.
//
// # Non-goals
//
// Of foreign scores only one melody is read. No beams, stems and page layout: programs make their own. No deviation in cents,
// no velocities: report.JSON and the MIDI files have these.
package musicxml
