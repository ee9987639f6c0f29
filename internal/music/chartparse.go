package music

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// ParseChart reads a chart as musicians type it.
//
//   - "Cm7 | Fm7 | G7b9 | Cm7": bars are split by | or by a new line; several chords in a bar share it evenly.
//   - "Cm7 / / G7": with slashes every word is one beat, and there must be as many as the meter has.
//   - "%" alone in a bar repeats the bar before it; "N.C." is a bar, or a part of one, without a chord.
//   - "|: Cm7 | Fm7 :|" is played twice, ":| x3" three times. Without "|:" the repeat goes back to the last repeat or to the beginning.
//   - "|: Cm7 | Fm7 [1 G7 :| [2 Cm7": first and second endings, and more if wanted; the last one needs no ":|".
//   - "3/4: C | G": the meter comes first; without it the chart is in 4/4.
//
// Errors name the bar, counted as written from 1, and the chord. A chart has at most 1024 bars with its repeats unrolled.
func ParseChart(s string) (Chart, error) {
	if len(s) > maxChartText {
		return Chart{}, fmt.Errorf("a chart has at most %d characters; write repeats with |: and :|", maxChartText)
	}
	meter, text, err := readMeter(s)
	if err != nil {
		return Chart{}, err
	}
	r := chartReader{meter: meter}
	if err := r.read(text); err != nil {
		return Chart{}, err
	}
	return Chart{Meter: meter, Bars: r.played}, nil
}

var meterPattern = regexp.MustCompile(`^\s*(\d{1,3})\s*/\s*(\d{1,3})\s*(:|\s)`)

// readMeter reads "3/4:" at the beginning.
func readMeter(s string) (m Meter, rest string, err error) {
	found := meterPattern.FindStringSubmatch(s)
	if found == nil {
		return CommonTime, s, nil
	}
	m.Beats, _ = strconv.Atoi(found[1])
	m.Unit, _ = strconv.Atoi(found[2])
	if !m.Valid() {
		return m, "", fmt.Errorf("%s is no meter: write 1 to %d beats of a note value 1, 2, 4, 8, 16 or 32, such as 3/4", m, maxParts)
	}
	return m, s[len(found[0]):], nil
}

// chartPattern cuts a chart into its words: a new line, a bar line with an optional number of times, an ending, or anything else.
var chartPattern = regexp.MustCompile(`\n|:?\|+\]?:?|\[\d+\.?|[^\s|\[:]+|[\[:]`)

var timesPattern = regexp.MustCompile(`^[x×](\d{1,3})$`)

// chartReader unrolls a chart while it reads.
type chartReader struct {
	meter   Meter
	played  []Bar    // everything up to the part being read
	part    []Bar    // bars of the part being read: of the repeat, of an ending, or of what stands between
	body    []Bar    // of a repeat with endings: what comes before the first ending
	before  []Bar    // the bar that % repeats: none, or one
	words   []string // of the bar being read
	number  int      // of the bar being read, as written, from 1
	opened  int      // the bar where an explicit |: stands that is not closed yet; 0 for none
	ending  int      // the ending being read; 0 outside
	closed  bool     // the ending was closed by :| and the next one must follow
	barOpen bool     // a | stands just before on the same line, so a second | would close an empty bar
}

// read goes through the whole text.
func (r *chartReader) read(text string) error {
	r.number = 1
	words := chartPattern.FindAllString(text, -1)
	for i := 0; i < len(words); i++ {
		word := words[i]
		times := 0
		if strings.HasPrefix(word, ":|") && i+1 < len(words) {
			if found := timesPattern.FindStringSubmatch(words[i+1]); found != nil {
				times, _ = strconv.Atoi(found[1])
				i++
				if times < 2 || times > maxRepeats {
					return fmt.Errorf("bar %d: a part is played 2 to %d times, not %d", r.number, maxRepeats, times)
				}
			}
		}
		if err := r.word(word, times); err != nil {
			return err
		}
	}
	return r.end()
}

// word takes one word; times is the number after a closing repeat, 0 for none.
func (r *chartReader) word(word string, times int) error {
	switch {
	case word == "\n":
		r.barOpen = false
		return r.closeBar()
	case strings.Contains(word, "|"):
		return r.barLine(word, times)
	case word[0] == '[' && len(word) > 1:
		return r.openEnding(word)
	case word == "[" || word == ":":
		return fmt.Errorf("bar %d: %q stands alone; write |: and :| for a repeat, [1 and [2 for endings", r.number, word)
	}
	if err := r.endingFollows(); err != nil {
		return err
	}
	r.words = append(r.words, word)
	r.barOpen = false
	return nil
}

// barLine takes a word with a | in it.
func (r *chartReader) barLine(word string, times int) error {
	closes, opens := strings.HasPrefix(word, ":"), strings.HasSuffix(word, ":")
	if r.barOpen && len(r.words) == 0 && word == "|" {
		return fmt.Errorf("bar %d is empty: write its chord, N.C. for none, or %% to repeat the bar before", r.number)
	}
	if err := r.closeBar(); err != nil {
		return err
	}
	r.barOpen = !closes && !opens
	if closes {
		if err := r.closeRepeat(times); err != nil {
			return err
		}
	}
	if opens {
		return r.openRepeat()
	}
	return nil
}

// closeBar ends the bar being read, if it has any words.
func (r *chartReader) closeBar() error {
	if len(r.words) == 0 {
		return nil
	}
	bar, err := r.readBar()
	if err != nil {
		return fmt.Errorf("bar %d: %w", r.number, err)
	}
	r.part = append(r.part, bar)
	r.before = []Bar{bar}
	r.words = nil
	r.number++
	return r.checkLength()
}

func (r *chartReader) checkLength() error {
	if len(r.played)+len(r.part) > maxBars {
		return fmt.Errorf("the chart has more than %d bars with its repeats; write the form once, it loops by itself", maxBars)
	}
	return nil
}

// readBar turns the words of a bar into chords.
func (r *chartReader) readBar() (Bar, error) {
	if len(r.words) == 1 && r.words[0] == "%" {
		if len(r.before) == 0 {
			return Bar{}, errors.New("% repeats the bar before, and there is none; write a chord")
		}
		return r.before[0], nil
	}
	if len(r.words) > maxParts {
		return Bar{}, fmt.Errorf("%d chords are too many for one bar; write at most %d", len(r.words), maxParts)
	}
	chords, slashes, err := r.readChords()
	if err != nil {
		return Bar{}, err
	}
	if slashes && len(chords) != r.meter.Beats {
		return Bar{}, fmt.Errorf("with slashes every word is one beat, so write %d chords and slashes in %s, not %d", r.meter.Beats, r.meter, len(chords))
	}
	return Bar{Chords: chords}.reduce(), nil
}

// readChords reads the words of a bar as chords; a slash goes on with the chord before it.
func (r *chartReader) readChords() (chords []Chord, slashes bool, err error) {
	var last *Chord
	if len(r.before) > 0 {
		last = &r.before[0].Chords[len(r.before[0].Chords)-1]
	}
	for _, word := range r.words {
		switch word {
		case "/":
			if last == nil {
				return nil, false, errors.New("a slash goes on with the chord before it, and there is none; write a chord first")
			}
			slashes = true
			chords = append(chords, *last)
			continue
		case "%":
			return nil, false, errors.New("% repeats a whole bar and stands alone in it; inside a bar write / to go on with a chord")
		}
		c, err := ParseChord(word)
		if err != nil {
			return nil, false, err
		}
		chords = append(chords, c)
		last = &c
	}
	return chords, slashes, nil
}

var errFirstEndingOpen = errors.New("the first ending is never closed; write :| after it and then [2")

// openRepeat takes |: .
func (r *chartReader) openRepeat() error {
	if r.opened > 0 && r.ending == 0 {
		return fmt.Errorf("bar %d: the repeat that opens at bar %d is still open; close it with :| first", r.number, r.opened)
	}
	if err := r.endingFollows(); err != nil {
		return err
	}
	if r.ending == 1 {
		return errFirstEndingOpen
	}
	r.settle(1)
	r.ending, r.closed, r.body = 0, false, nil
	r.opened = r.number
	return nil
}

// settle moves the part being read to what is played, so many times.
func (r *chartReader) settle(times int) {
	for range times {
		r.played = append(r.played, r.part...)
		if len(r.played) > maxBars {
			break
		}
	}
	r.part = nil
}

// closeRepeat takes :| with the number of times that follows it, 0 for none.
func (r *chartReader) closeRepeat(times int) error {
	if len(r.part) == 0 {
		return fmt.Errorf("bar %d: there is nothing to repeat before :|; write the bars first", r.number)
	}
	if r.ending > 0 {
		if times > 0 {
			return fmt.Errorf("bar %d: with endings the part is played once for each ending; leave x%d out", r.number, times)
		}
		r.settle(1)
		r.closed = true
		return r.checkLength()
	}
	const twice = 2
	r.settle(max(times, twice))
	r.opened = 0
	return r.checkLength()
}

// openEnding takes "[1", "[2." and so on.
func (r *chartReader) openEnding(word string) error {
	if err := r.closeBar(); err != nil {
		return err
	}
	r.barOpen = false
	number, err := strconv.Atoi(strings.Trim(word, "[."))
	if err != nil || number != r.ending+1 || number > 1 && !r.closed {
		return fmt.Errorf("bar %d: ending %s does not belong here; write for example |: C | F [1 G :| [2 C", r.number, word)
	}
	if number == 1 {
		r.body = r.part
	}
	if len(r.body) == 0 {
		return fmt.Errorf("bar %d: there is nothing to repeat before ending %s; write the bars first", r.number, word)
	}
	r.part = r.body
	r.settle(1)
	r.ending, r.closed = number, false
	r.before = r.body[len(r.body)-1:]
	return r.checkLength()
}

// endingFollows complains where a first ending was closed and no second one begins. After the second one the music may go on.
func (r *chartReader) endingFollows() error {
	if r.closed && r.ending == 1 {
		return fmt.Errorf("bar %d: a first ending needs a second one; write [2 after :|", r.number)
	}
	if r.closed {
		r.ending, r.closed, r.opened, r.body = 0, false, 0, nil
	}
	return nil
}

// end takes the end of the text.
func (r *chartReader) end() error {
	if err := r.closeBar(); err != nil {
		return err
	}
	if err := r.endingFollows(); err != nil {
		return err
	}
	switch {
	case r.opened > 0 && r.ending == 0:
		return fmt.Errorf("the repeat that opens at bar %d is never closed; write :| after its last bar", r.opened)
	case r.ending == 1:
		return errFirstEndingOpen
	}
	r.settle(1)
	if len(r.played) == 0 {
		return errors.New(`the chart has no bars: write chords with | between the bars, such as "Cm7 | Fm7 | G7b9 | Cm7"`)
	}
	return r.checkLength()
}
