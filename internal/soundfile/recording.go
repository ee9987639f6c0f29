package soundfile

import (
	"errors"
	"fmt"
	"io"
	"math"
)

// Own thresholds on what is remarked and how channels are mixed. They only
// choose channels and sentences; no sample is changed by them.
const (
	// silentBelowDB is how far below the loudest channel a channel counts as
	// silent: an open input of a two-channel interface, or the unused side of a
	// phone recording. 60 dB is the noise floor of a modest sound card.
	silentBelowDB = -60.0

	// cancelBelowDB is how far the mean of the channels may lie below the
	// loudest of them. Two equal channels that have nothing in common give -3 dB
	// and one channel beside a nearly silent one -6 dB, so -12 dB is reached only
	// by channels that are opposite in phase.
	cancelBelowDB = -12.0

	// clipLevel and clipRun: that many neighbouring equal samples at or above
	// this part of full scale are one clipped place. A full-scale sine at 16 bits
	// has two equal neighbours at its top at most, down to 42 Hz.
	clipLevel = 0.999
	clipRun   = 3

	// offsetLevel is the mean value (DC) that is remarked, in full scale, and
	// offsetSeconds the time below which a mean says nothing: six periods of the
	// lowest sung tone, 60 Hz.
	offsetLevel   = 0.01
	offsetSeconds = 0.1
)

// blockValues is the size of one piece of memory for samples: 64 Ki values.
const blockValues = 1 << 16

// recording is what a decoder found: samples of all channels, and how far it came.
type recording struct {
	format   string
	rate     int // Hz
	channels int
	blocks   [][]float32 // frames in order; the channels of a frame lie side by side
	values   int         // samples in all blocks
	limit    int         // values, the most that may be taken
	promised int64       // frames that the file says it has; 0 where it does not say
	stopped  error       // why the decoder ended before the file's end; nil at a proper end
	remarks  []string
}

// newRecording checks what a header says about rate and channels.
func newRecording(in input, format string, rate, channels int) (*recording, error) {
	if channels < 1 || channels > maxChannels {
		return nil, faultf("says that it has %d channels: larkhand reads 1 to %d, so save it again as a mono or stereo file", channels, maxChannels)
	}
	if rate < MinRate || rate > MaxRate {
		return nil, faultf("says that its sampling rate is %d Hz: larkhand reads %d to %d Hz, so save it again at 44100 or 48000 Hz", rate, MinRate, MaxRate)
	}
	frames := min(in.maxValues/channels, MaxDuration*rate)
	return &recording{format: format, rate: rate, channels: channels, limit: frames * channels}, nil
}

func (rec *recording) frames() int { return rec.values / rec.channels }

// seconds is the time that n frames last.
func (rec *recording) seconds(n int64) float64 { return float64(n) / float64(rec.rate) }

func (rec *recording) remarkf(format string, args ...any) {
	rec.remarks = append(rec.remarks, fmt.Sprintf(format, args...))
}

// tooLong is the error for a file beyond the limit.
func (rec *recording) tooLong() error {
	minutes := float64(rec.limit/rec.channels) / float64(rec.rate) / 60
	kind := "a mono file"
	if rec.channels > 1 {
		kind = fmt.Sprintf("a file with %d channels", rec.channels)
	}
	return faultf("is longer than the %.3g minutes that larkhand reads of %s at %d Hz: cut it into shorter files", minutes, kind, rec.rate)
}

// space returns room for n more values, which the caller fills, or an error if
// the recording gets too long. hint is how many values are yet to come, as far
// as it is known for certain, so that one block can hold them all.
func (rec *recording) space(n, hint int) ([]float32, error) {
	if n > rec.limit-rec.values {
		return nil, rec.tooLong()
	}
	last := len(rec.blocks) - 1
	if last < 0 || cap(rec.blocks[last])-len(rec.blocks[last]) < n {
		size := max(n, min(hint, rec.limit-rec.values), blockValues/rec.channels*rec.channels)
		rec.blocks = append(rec.blocks, make([]float32, 0, size))
		last++
	}
	b := rec.blocks[last]
	rec.blocks[last] = b[:len(b)+n]
	rec.values += n
	return rec.blocks[last][len(b):], nil
}

// trim drops frames at the beginning and at the end.
func (rec *recording) trim(front, back int) {
	drop := min(max(front, 0)*rec.channels, rec.values)
	rec.values -= drop
	for drop > 0 {
		n := min(drop, len(rec.blocks[0]))
		rec.blocks[0] = rec.blocks[0][n:]
		drop -= n
		if len(rec.blocks[0]) == 0 && len(rec.blocks) > 1 {
			rec.blocks = rec.blocks[1:]
		}
	}
	drop = min(max(back, 0)*rec.channels, rec.values)
	rec.values -= drop
	for last := len(rec.blocks) - 1; drop > 0; last-- {
		n := min(drop, len(rec.blocks[last]))
		rec.blocks[last] = rec.blocks[last][:len(rec.blocks[last])-n]
		drop -= n
	}
}

// sound mixes the channels and remarks on what a player should know.
func (rec *recording) sound() (Sound, error) {
	if rec.values == 0 {
		if rec.stopped != nil || rec.promised > 0 {
			return Sound{}, &fault{text: "is damaged or cut short and holds no sound that can be read: record or copy it again", cause: rec.stopped}
		}
		return Sound{}, faultf("holds no sound: record it again")
	}
	rec.remarkLength()
	bad := rec.replaceNotFinite()
	if bad > 0 {
		rec.remarkf("%d samples were no numbers (NaN or infinite) and were replaced by 0", bad)
	}
	stats := make([]channelStats, rec.channels)
	for c := range stats {
		stats[c] = rec.measure(c)
	}
	used := rec.audible(stats)
	samples := rec.mean(used)
	if loudest := loudestOf(stats, used); len(used) > 1 && cancels(samples, stats[loudest]) {
		rec.remarkf("the channels are opposite in phase and would cancel one another, so channel %d was read alone", loudest+1)
		used = []int{loudest}
		samples = rec.mean(used)
	}
	rec.remarkLevels(stats, used)
	return Sound{Samples: samples, Rate: rec.rate, Channels: rec.channels, Format: rec.format, Remarks: rec.remarks}, nil
}

// remarkLength says when less was read than the file promised.
func (rec *recording) remarkLength() {
	got := rec.seconds(int64(rec.frames()))
	promised := rec.seconds(rec.promised)
	cut := rec.stopped == nil || errors.Is(rec.stopped, io.ErrUnexpectedEOF) || errors.Is(rec.stopped, io.EOF)
	switch {
	case rec.promised > int64(rec.frames()) && cut:
		rec.remarkf("cut short: %s of %s could be read", inSeconds(got), inSeconds(promised))
	case rec.promised > int64(rec.frames()):
		rec.remarkf("damaged: %s of %s could be read", inSeconds(got), inSeconds(promised))
	case rec.stopped != nil && cut:
		rec.remarkf("cut short: %s could be read before the file ends", inSeconds(got))
	case rec.stopped != nil:
		rec.remarkf("damaged: only the first %s could be read", inSeconds(got))
	}
}

// inSeconds writes a time for people: tenths, and milliseconds below a second.
func inSeconds(s float64) string {
	if s < 1 {
		return fmt.Sprintf("%.3f s", s)
	}
	return fmt.Sprintf("%.1f s", s)
}

// replaceNotFinite puts 0 for NaN and infinite values and returns how many.
func (rec *recording) replaceNotFinite() (bad int) {
	for _, b := range rec.blocks {
		for i, x := range b {
			if x-x != 0 { // true of NaN and infinite values only
				b[i] = 0
				bad++
			}
		}
	}
	return bad
}

// channelStats describes one channel, in full scale.
type channelStats struct {
	mean  float64
	power float64 // mean square after the mean is taken off
	peak  float64
	clips int // places
}

// measure goes through one channel.
func (rec *recording) measure(channel int) channelStats {
	var s channelStats
	var sum, squares float64
	var before float32
	run := 0
	for _, b := range rec.blocks {
		for i := channel; i < len(b); i += rec.channels {
			x := b[i]
			v := float64(x)
			sum += v
			squares += v * v
			a := math.Abs(v)
			s.peak = max(s.peak, a)
			if a < clipLevel {
				run, before = 0, x
				continue
			}
			if x != before {
				run = 0
			}
			run++
			if run == clipRun {
				s.clips++
			}
			before = x
		}
	}
	n := float64(rec.frames())
	s.mean = sum / n
	s.power = max(0, squares/n-s.mean*s.mean)
	return s
}

// ratio of powers from a level difference in dB.
func powerRatio(db float64) float64 { return math.Pow(10, db/10) }

// audible lists the channels that are not silent beside the loudest; all of
// them when the whole file is silent.
func (rec *recording) audible(stats []channelStats) []int {
	all := make([]int, len(stats))
	for c := range all {
		all[c] = c
	}
	top := stats[loudestOf(stats, all)].power
	var used []int
	for c, s := range stats {
		if top == 0 || s.power >= top*powerRatio(silentBelowDB) {
			used = append(used, c)
		}
	}
	switch silent := len(all) - len(used); {
	case silent == 1 && len(all) == 2:
		rec.remarkf("channel %d is silent, so channel %d was read alone", 2-used[0], used[0]+1)
	case silent > 0:
		rec.remarkf("%d of %d channels are silent and were left out", silent, len(all))
	}
	return used
}

func loudestOf(stats []channelStats, among []int) int {
	best := among[0]
	for _, c := range among {
		if stats[c].power > stats[best].power {
			best = c
		}
	}
	return best
}

// mean mixes the chosen channels. A single channel in a single block is handed
// on without copying; the recording must not be used to write into afterwards.
func (rec *recording) mean(used []int) []float32 {
	if rec.channels == 1 && len(rec.blocks) == 1 {
		return rec.blocks[0]
	}
	out := make([]float32, 0, rec.frames())
	scale := 1 / float64(len(used))
	for _, b := range rec.blocks {
		for i := 0; i < len(b); i += rec.channels {
			sum := 0.0
			for _, c := range used {
				sum += float64(b[i+c])
			}
			out = append(out, float32(sum*scale))
		}
	}
	return out
}

// cancels says whether the mix lost what the loudest channel had.
func cancels(mix []float32, loudest channelStats) bool {
	var sum, squares float64
	for _, x := range mix {
		sum += float64(x)
		squares += float64(x) * float64(x)
	}
	n := float64(len(mix))
	power := squares/n - (sum/n)*(sum/n)
	return loudest.power > 0 && power < loudest.power*powerRatio(cancelBelowDB)
}

// remarkLevels says what looks wrong in the channels that were used.
func (rec *recording) remarkLevels(stats []channelStats, used []int) {
	clips, offset, peak, power := 0, 0.0, 0.0, 0.0
	for _, c := range used {
		clips += stats[c].clips
		offset += stats[c].mean / float64(len(used))
		peak = max(peak, stats[c].peak)
		power = max(power, stats[c].power)
	}
	if power == 0 {
		rec.remarkf("silent from beginning to end")
	}
	if clips > 0 {
		rec.remarkf("clipped at %s: the recording level was too high", places(clips))
	}
	if peak > 1 {
		rec.remarkf("its peaks go beyond full scale, up to %.3g times", peak)
	}
	if math.Abs(offset) >= offsetLevel && rec.seconds(int64(rec.frames())) >= offsetSeconds {
		rec.remarkf("has a constant offset (DC) of %.1f %% of full scale", 100*offset)
	}
}

func places(n int) string {
	if n == 1 {
		return "1 place"
	}
	return fmt.Sprintf("%d places", n)
}
