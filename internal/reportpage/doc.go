// Package reportpage writes the report of a player's rounds as one HTML page: what the rounds show over time, a list of them, and some of
// them whole, with picture, sound and notation.
//
// # Conventions
//
// Nothing is claimed here that internal/progress does not claim; the sentences, marks and pictures are those of internal/report. Names
// come from players and files and are escaped by html/template wherever they stand. Sounds are 16-bit FLAC with one channel, made smaller by
// [Compact], and stand in the page as data URIs; once they take more room than [MostSound], those of the rounds further down are left
// out, and the page says so.
//
// # Non-goals
//
// No journal is read, no round is judged, and no file is opened here: the caller brings everything.
package reportpage
