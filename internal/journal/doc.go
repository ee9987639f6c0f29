// Package journal keeps everything that lasts: every round with its takes, its answer and all that was said of it.
//
// # What lies where
//
//	DIR/journal.db            the database (SQLite; journal.db-wal and -shm belong to it while it is open)
//	DIR/rounds/2026-11/UID/   the files of one round: take1.flac, take2.flac, answer.mid; where a loudspeaker was heard in the
//	                          takes backing1.flac, backing2.flac, path.json and hearing.json; and round.json, which holds the
//	                          round's rows once more, so that a lost database can be made again
//	DIR/recording/NAME/       rounds that are being sung; see [Journal.Record]
//	DIR/parts/                rounds under way to their place; empty unless a program is saving or was stopped
//	DIR/lock                  held by every program that has the journal open
//
// DIR is [DefaultDir] unless another is named.
//
// # A round is there whole or not at all
//
// [Journal.Save] writes the files of a round under parts, each synced, renames their folder to its place, and then commits one
// transaction. A note of what is under way lies in parts from before the first write until after the commit. What a program
// leaves there that was stopped is cleared by the next [Open]: where the round was committed only the note goes, where it was
// not the files go. The takes are not lost then: they lie in recording until the round is committed, and
// [Journal.Unfinished] finds them.
//
// round.json is written when the round is saved and when it is marked as misheard, see [Journal.Mark]. What judging again says
// of a round is in the database only; should that be lost, the round is judged again.
//
// The database is in WAL mode with synchronous=FULL: what is committed is on the disk. Several programs may have one
// journal open; each waits up to five seconds for another one's transaction.
//
// # Progress is fast because of digests
//
// The tables are normalised (migrations). For progress the journal also keeps some 90 bytes a round in
// time order, from which [Journal.Progress] makes the rows of package progress without touching the notes.
//
// # Errors
//
// An error of the world is one sentence that says what to do. [ErrFull], [ErrReadOnly], [ErrBusy], [ErrDamaged],
// [ErrNewer], [ErrForeign], [ErrInUse] and [ErrNotFound] can be told apart with errors.Is.
//
// # Non-goals
//
// Nothing is judged or analysed here and no sound is decoded. Nothing is sent anywhere. Copies of single rounds in the
// formats of other programs are made elsewhere.
package journal
