package round

import "larkhand/voice"

// LiveTake is the take of a phrase that was analysed while it was sung. It is what SungTake makes of the same samples.
func LiveTake(file string, analysed voice.Take) Take {
	return Take{File: file, Voice: analysed, Remarks: soundRemarks(analysed)}
}
