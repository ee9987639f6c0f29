// Package bundle writes and reads bundles: rounds with their files in one zip file or one folder, to be kept elsewhere, given to a
// teacher, or read into another journal.
//
// # What lies where
//
//	manifest.json                 what the bundle holds: a Manifest
//	rounds.csv                    one line a round, for a spreadsheet
//	rounds/UID/take1.flac         the takes as the journal keeps them (MIDI where a take was written), the same bytes
//	rounds/UID/answer.mid         the answer
//	rounds/UID/backing1.flac      what a speaker played beside the takes, where it did; path.json and hearing.json: how to take it out
//	rounds/UID/round.json         what was said of the round (larkhand.round/1)
//	rounds/UID/...                copies for other programs: phrase.mid, round.musicxml, sung1.wav
//
// The manifest names every file but itself with its length and its SHA-256. Its schema is "larkhand.bundle/1": within a version fields
// may be added; a bundle of a later version is refused.
//
// # What a reader believes
//
// Nothing. A bundle may come from anybody, so Open looks at every name in it and Round at every byte: names that could lead out of a
// folder or name one file twice, links, more or larger files than Limits allows, parts of the zip file that lie over one another,
// sizes that are not those of the manifest and checksums that do not fit are refused, each in one sentence that begins with the
// bundle's name. What is unpacked is counted while it is read, whatever sizes the file claims. No file is ever written under a name
// from a bundle. Files that the manifest does not name are left alone, but their names must be good too.
//
// # Conventions
//
// Times in a Round are those of the journal: s, LoopStarts on the clock of each take, AnswerStarts on that of the last one. Tempo is in quarter
// notes a minute. Names of files have slashes and are relative to the bundle's root.
//
// # Non-goals
//
// Nothing is judged, decoded or shown here. No encryption, no signatures: a checksum finds damage, not malice. No zip file in parts.
package bundle
