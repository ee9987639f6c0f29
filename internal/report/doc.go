// Package report writes what a person or another program looks at: a judged round as text for the terminal, as a
// picture and as JSON; the pitch frames and the sung notes of one take as table, CSV, JSON and MIDI; a list of rounds; and
// what a player's rounds show over time.
//
// # Conventions
//
// Everything is written to an io.Writer; the only errors are those of the writer, and of a list that is read while it is written. Times are seconds, pitch is a MIDI note
// number, deviation is in cents, level in dBFS. Note indices count from 0 in JSON and CSV; sentences count from 1
// ("the 3rd note"). A number that is not known is null in JSON, an empty field in CSV and "-" in a table; NaN is never written.
//
// Meaning is never carried by colour alone: verdicts are words and shapes, and colour only helps to find them. There are
// two accents, one for "as sung" and one for "look here".
//
// # JSON is a promise
//
// [RoundDocument] ("larkhand.round/1"), [NotesDocument] ("larkhand.notes/1"), [PitchDocument] ("larkhand.pitch/1"),
// [HistoryDocument] ("larkhand.history/1") and [ProgressDocument] ("larkhand.progress/1") are what other programs read. Within one version fields may be added, but none is taken away or changes its
// meaning.
//
// # Non-goals
//
// Nothing is judged here and no file is opened. There is no notation and no page with several rounds.
package report
