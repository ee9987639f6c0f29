package bundle

import "larkhand/midiin"

// Limits bound what a reader takes. All are own choices: far beyond what a player makes, and small enough for any machine.
type Limits struct {
	Rounds        int   // in a bundle
	Entries       int   // files in a bundle, those that the manifest does not name too
	ManifestBytes int64 // of manifest.json
	TakeBytes     int64 // of one take, and of what a speaker played beside it
	AnswerBytes   int64 // of the answer
	ResultBytes   int64 // of round.json and other JSON of a round
	CopyBytes     int64 // of a file that is not read back

	NameLetters    int // characters of a phrase's name
	WrittenLetters int // characters of the numbers or letters that were written down
	Pieces         int // of an answer, without the first
	Helped         int // times that one kind of help was asked for

	Ratio     int64 // unpacked bytes a packed one, counted from RatioFrom on
	RatioFrom int64 // bytes
}

// Usual are the limits of Open: 20,000 rounds are two years of 25 rounds a day; 64 MiB of FLAC are 20 minutes at 48 kHz without any packing;
// JSON packs at about 10 to 1, and sound at less than 3 to 1 but for silence.
var Usual = Limits{
	Rounds:        20_000,
	Entries:       200_000,
	ManifestBytes: 64 << 20,
	TakeBytes:     64 << 20,
	AnswerBytes:   midiin.MaxFileBytes,
	ResultBytes:   8 << 20,
	CopyBytes:     256 << 20,

	NameLetters:    200, // as in package journal, and the next two
	WrittenLetters: 2000,
	Pieces:         1000,
	Helped:         10_000,

	Ratio:     200,
	RatioFrom: 1 << 20,
}

func (l Limits) bytesOf(r Role) int64 {
	switch r {
	case Take, Backing:
		return l.TakeBytes
	case Answer:
		return l.AnswerBytes
	case Result, Path, Hearing:
		return l.ResultBytes
	}
	return l.CopyBytes
}
