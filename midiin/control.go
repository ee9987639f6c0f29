package midiin

// Controllers that bear on notes (MIDI 1.0, table of controller numbers).
const (
	ccDataMSB        = 6
	ccDataLSB        = 38
	ccSustain        = 64
	ccSostenuto      = 66
	ccIncrement      = 96
	ccDecrement      = 97
	ccNRPNLSB        = 98
	ccNRPNMSB        = 99
	ccRPNLSB         = 100
	ccRPNMSB         = 101
	ccAllSoundOff    = 120
	ccResetAll       = 121
	ccAllNotesOff    = 123
	ccOmniOff        = 124
	ccOmniOn         = 125
	ccMono           = 126
	ccPoly           = 127
	pedalDown        = 64   // from this value on a pedal is down (MIDI 1.0); so a half-pressed pedal counts as down
	lowerMaster      = 0    // channel 1
	upperMaster      = 15   // channel 16
	mpeMemberRange   = 48.0 // semitones (MPE specification 1.0)
	mpeMasterRange   = 2.0  // semitones (MPE specification 1.0)
	centsPerSemitone = 100
)

// parameter is the registered parameter that data entry goes to.
type parameter struct {
	msb, lsb   int
	registered bool // false after a non-registered parameter was chosen
}

var (
	noParameter      = parameter{127, 127, true} // RPN null: data entry goes nowhere
	bendSensitivity  = parameter{0, 0, true}     // RPN 0
	mpeConfiguration = parameter{0, 6, true}     // RPN 6
)

// control takes a control change.
func (r *Reader) control(t float64, ch int, controller byte, value int) {
	c := &r.channels[ch]
	switch controller {
	case ccRPNMSB:
		c.parameter.msb, c.parameter.registered = value, true
	case ccRPNLSB:
		c.parameter.lsb, c.parameter.registered = value, true
	case ccNRPNMSB, ccNRPNLSB:
		c.parameter = parameter{127, 127, false}
	case ccDataMSB, ccDataLSB, ccIncrement, ccDecrement:
		r.dataEntry(t, ch, controller, value)
	case ccSustain, ccSostenuto, ccAllSoundOff, ccResetAll, ccAllNotesOff, ccOmniOff, ccOmniOn:
		first, last := r.scope(ch) // what a master says holds for its members
		for i := first; i <= last; i++ {
			r.hold(t, i, controller, value)
		}
	case ccMono:
		r.setMono(t, ch, value)
	case ccPoly:
		r.setPoly(t, ch)
	}
}

// hold takes a control change that sustains or ends notes on one channel.
func (r *Reader) hold(t float64, ch int, controller byte, value int) {
	c := &r.channels[ch]
	switch controller {
	case ccSustain:
		c.sustain = value >= pedalDown
		r.endUnheld(t, ch)
	case ccSostenuto:
		r.setSostenuto(t, ch, value >= pedalDown)
	case ccAllSoundOff:
		for key := range c.sounding.all() {
			r.end(t, ch, key)
		}
	case ccResetAll: // MMA RP-015: bend, pedals and parameter choice go back, the bend's range stays
		c.bend.value = bendCentre
		r.bendChanged(t, ch)
		c.parameter = noParameter
		c.sustain = false
		r.setSostenuto(t, ch, false)
	default: // all notes off, and the mode messages that imply it
		r.releaseAll(t, ch)
	}
}

// setSostenuto holds the keys that are down when the pedal goes down, until it goes up.
func (r *Reader) setSostenuto(t float64, ch int, down bool) {
	c := &r.channels[ch]
	switch {
	case !down:
		c.captured = keySet{}
	case !c.sostenuto:
		c.captured = c.down
	}
	c.sostenuto = down
	r.endUnheld(t, ch)
}

// releaseAll lifts all keys of a channel; pedals still hold (MIDI 1.0, all notes off).
func (r *Reader) releaseAll(t float64, ch int) {
	for key := range r.channels[ch].down.all() {
		r.release(t, ch, key)
	}
}

// setMono makes count channels from ch on play one note at a time: mode 4, one string a channel. Count 0 means all channels from ch on.
func (r *Reader) setMono(t float64, ch, count int) {
	if count == 0 || ch+count > len(r.channels) {
		count = len(r.channels) - ch
	}
	for i := ch; i < ch+count; i++ {
		r.releaseAll(t, i)
		r.channels[i].mono = true
	}
}

// setPoly ends mode 4 on ch and on the mono channels that follow it.
func (r *Reader) setPoly(t float64, ch int) {
	r.releaseAll(t, ch)
	for i := ch; i < len(r.channels) && r.channels[i].mono; i++ {
		r.channels[i].mono = false
	}
}

// dataEntry changes the chosen registered parameter. Bend sensitivity: the upper byte is semitones and sets the cents to 0, the
// lower byte is cents, and a step up or down is one cent (MMA RP-018). Other parameters do not bear on notes.
func (r *Reader) dataEntry(t float64, ch int, controller byte, value int) {
	switch b := r.channels[ch].bend; r.channels[ch].parameter {
	case bendSensitivity:
		switch controller {
		case ccDataMSB:
			b.semitones, b.cents = value, 0
		case ccDataLSB:
			b.cents = float64(value)
		case ccIncrement:
			b.step(1)
		case ccDecrement:
			b.step(-1)
		}
		r.setBendRange(t, ch, b.semitones, b.cents)
	case mpeConfiguration:
		if controller == ccDataMSB {
			r.setZone(t, ch, value)
		}
	}
}

// setBendRange sets the range of a channel; said to one member of an MPE zone it holds for all its members (MPE specification 1.0).
func (r *Reader) setBendRange(t float64, ch, semitones int, cents float64) {
	first, last := ch, ch
	switch r.master(ch) {
	case ch:
	case lowerMaster:
		first, last = lowerMaster+1, lowerMaster+r.lower
	case upperMaster:
		first, last = upperMaster-r.upper, upperMaster-1
	}
	for i := first; i <= last; i++ {
		r.channels[i].bend.semitones, r.channels[i].bend.cents = semitones, cents
	}
	r.refreshBends(t)
}

// setZone takes an MPE configuration message: members channels next to the master ch, 0 ends the zone. It counts on channels
// 1 and 16 only. Where the two zones would overlap the newer takes the channels. Bend ranges go to their defaults.
func (r *Reader) setZone(t float64, ch, members int) {
	const betweenMasters = 14
	members = min(members, betweenMasters+1)
	old := [2]int{r.lower, r.upper}
	switch ch {
	case lowerMaster:
		r.lower = members
		r.upper = min(r.upper, max(0, betweenMasters-members))
	case upperMaster:
		r.upper = members
		r.lower = min(r.lower, max(0, betweenMasters-members))
	default:
		return
	}
	r.zoneRanges(old, ch)
	r.refreshBends(t)
	r.freePedals(t)
}

// freePedals lifts the pedals of all channels but the masters, whose own do not change: a channel that has left a zone would
// never hear of its master's pedal going up.
func (r *Reader) freePedals(t float64) {
	for ch := range r.channels {
		if ch != lowerMaster && ch != upperMaster {
			r.hold(t, ch, ccSustain, 0)
			r.setSostenuto(t, ch, false)
		}
	}
}

// zoneRanges gives the bend ranges that a new zone layout implies to the channels of the zone of master ch and to those that have left a zone.
func (r *Reader) zoneRanges(old [2]int, ch int) {
	active := ch == lowerMaster && r.lower > 0 || ch == upperMaster && r.upper > 0
	for i := range r.channels {
		b := &r.channels[i].bend
		wasMember := i > lowerMaster && i <= lowerMaster+old[0] || i < upperMaster && i >= upperMaster-old[1]
		switch master := r.master(i); {
		case master != i && master == ch:
			b.setRange(mpeMemberRange)
		case i == ch && active:
			b.setRange(mpeMasterRange)
		case i == ch || master == i && wasMember:
			b.setRange(r.usualRange())
		}
	}
}

// refreshBends writes down the bends of all channels after a range or a zone changed.
func (r *Reader) refreshBends(t float64) {
	for i := range r.channels {
		if c := &r.channels[i]; !c.down.empty() {
			c.bend.change(t, r.bendOf(i))
		}
	}
}

// usualRange is the bend range of a channel that was told none.
func (r *Reader) usualRange() float64 {
	if r.opt.BendRange > 0 {
		return r.opt.BendRange
	}
	return defaultBendRange
}

// master is the master channel of a member of an MPE zone, and ch itself for any other channel.
func (r *Reader) master(ch int) int {
	switch {
	case ch > lowerMaster && ch <= lowerMaster+r.lower:
		return lowerMaster
	case ch < upperMaster && ch >= upperMaster-r.upper:
		return upperMaster
	}
	return ch
}

// scope is the channels that a message on ch is for: a master and its members, or ch alone.
func (r *Reader) scope(ch int) (first, last int) {
	switch {
	case ch == lowerMaster && r.lower > 0:
		return ch, ch + r.lower
	case ch == upperMaster && r.upper > 0:
		return ch - r.upper, ch
	}
	return ch, ch
}
