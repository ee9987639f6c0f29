package command

import (
	"fmt"
	"os"
	"strconv"

	"larkhand/internal/journal"
	"larkhand/internal/soundfile"
)

// backingOf is what is to be taken out of the takes of a stored round. The error says that it is not kept although it was heard.
func backingOf(s journal.Stored) (backing, error) {
	var b backing
	for _, f := range append(s.Backings[:len(s.Backings):len(s.Backings)], s.Path) {
		if f.Path != "" && f.State != journal.Good {
			return b, fmt.Errorf("round %d cannot be shown or judged again: %s", s.ID, f.Remark)
		}
	}
	for _, f := range s.Backings {
		b.sounds = append(b.sounds, f.Path)
	}
	h := s.Hearing
	b.loops, b.path = h.BackingLoops, s.Path.Path
	if h.BackingStarts != nil {
		b.starts = exact(*h.BackingStarts)
	}
	if h.Alone != nil {
		b.alone = exact(h.Alone[0]) + "-" + exact(h.Alone[1])
	}
	if !b.wanted() && loudspeakerHeard(s) {
		return b, fmt.Errorf("round %d cannot be shown or judged again: a loudspeaker was heard in its takes and its sound is not kept; --json prints what was said of it", s.ID)
	}
	return b, nil
}

// exact writes a number so that it reads back as it is.
func exact(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// loudspeakerHeard says whether the loop was taken out of a take when the round was judged last.
func loudspeakerHeard(s journal.Stored) bool {
	d, ok := lastDocument(s)
	if !ok {
		return false
	}
	for _, t := range d.Takes {
		if t.Bleed != nil && t.Bleed.Present {
			return true
		}
	}
	return false
}

// keepBacking puts what was taken out of the takes into the entry of a round.
func keepBacking(e *journal.Entry, b backing) error {
	if !b.wanted() {
		return nil
	}
	opt, err := b.options()
	if err != nil {
		return err
	}
	e.Hearing.BackingLoops = b.loops
	if !opt.StartUnknown {
		e.Hearing.BackingStarts = &opt.Start
	}
	if len(opt.VoiceFree) > 0 {
		e.Hearing.Alone = &[2]float64{opt.VoiceFree[0].From, opt.VoiceFree[0].To}
	}
	for i, path := range b.sounds {
		if i >= len(e.Takes) {
			break
		}
		sound, err := soundfile.Read(path)
		if err != nil {
			return err
		}
		data, err := journal.EncodeTake(sound.Samples, sound.Rate)
		if err != nil {
			return err
		}
		e.Backings = append(e.Backings, data)
	}
	if b.path != "" {
		if e.Path, err = os.ReadFile(b.path); err != nil {
			return fmt.Errorf("cannot read %s: %w", b.path, plainCause(err))
		}
	}
	return nil
}
