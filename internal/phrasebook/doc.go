// Package phrasebook keeps phrases on disk: a folder with one JSON file a phrase, which holds the phrase and, for each player and
// key, when it was tried and when it is due again.
//
// A file is written whole or not at all. Two phrases never share a name, whatever the case of their letters. A removed phrase goes to
// the folder "removed" beside the others, from which Restore brings it back.
//
// # Conventions
//
// Files are named after the phrase, the letters and digits of its name with hyphens between, and a short hash of it, so that every name
// has a file of its own. Schema "larkhand.phrase/1" is a promise: fields may be added, none changes its meaning. Players without a
// name are "".
//
// # Non-goals
//
// No index and no lock: a few thousand phrases are read in well under a second, and of two programs that write one phrase
// at once the later one wins.
package phrasebook
