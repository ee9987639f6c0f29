package round

import "larkhand/internal/loop"

// Response is how long a player took from the end of the last sung note to the first played one.
type Response struct {
	Seconds float64 // s
	Beats   float64 // Seconds in beats of the loop; 0 without a loop
	// Wait is the part of Seconds, s, in which the loop let no answer begin: until Awaited. 0 without a loop, and 0 for a
	// player who did not wait for it.
	Wait float64
	// NetSeconds is Seconds less Wait.
	NetSeconds float64
}

// anticipation is how many beats before the awaited bar line a note still counts as played with it: an eighth note of
// syncopation (common practice, no source).
const anticipation = 0.5

// ResponseOf splits the response time of a judged round. sungEnd and firstPlayed are s on the clock of l, the end of the last sung note and the first played
// note; l is nil without a loop. awaited is when the loop first lets the answer begin; 0 stands for the next bar line.
// ok is false where the answer began before the phrase was over.
func ResponseOf(sungEnd, firstPlayed float64, l *loop.Loop, awaited float64) (r Response, ok bool) {
	r.Seconds = firstPlayed - sungEnd
	if !(r.Seconds >= 0) {
		return Response{}, false
	}
	r.NetSeconds = r.Seconds
	if l == nil {
		return r, true
	}
	beat := l.BarLength() / float64(l.Chart.Meter.Beats)
	r.Beats = r.Seconds / beat
	if awaited == 0 {
		awaited = l.NextBar(sungEnd)
	}
	if awaited > sungEnd && firstPlayed >= awaited-anticipation*beat {
		r.Wait = min(awaited-sungEnd, r.Seconds)
		r.NetSeconds = r.Seconds - r.Wait
	}
	return r, true
}
