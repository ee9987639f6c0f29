package singer

import "math"

// part holds all control values of a take over time.
type part struct {
	voice Voice
	notes []Note
	spans []span
	loud  *loudness

	pitch    *track // MIDI number
	vibrato  *track // cents
	vibHz    *track // Hz
	wobble   *track // cents
	level    *track // amplitude of the glottal source
	pulse    *track // Rd
	breath   *track // amplitude of aspiration
	friction *track // RMS, centre in Hz, bandwidth in Hz
	tract    *track // values of a shape
	end      float64
}

// Lengths of movements, s. From memory of formant transitions of 30 to 60 ms (Klatt 1980; Delattre et al. 1955) and of level
// contours; own where the range is wide.
const (
	closureSeconds  = 0.020 // the voice stops or the mouth closes
	burstSeconds    = 0.008
	frictionRamp    = 0.030
	sonorantRamp    = 0.035 // level change between vowel and voiced consonant
	slurRamp        = 0.080 // formants between two vowels without consonant
	vibratoGrows    = 0.250
	vibratoDies     = 0.060
	settleSeconds   = 0.080 // after an overshoot or a nudge
	tailSeconds     = 0.300 // silence after the last note
	breathLead      = 0.050 // s between an audible breath and the note
	breathPeak      = 0.6   // part of a breath after which it fades; own
	breathDB        = -22.0 // level of a breath as a source, relative to the source of the note
	approach        = 0.6   // part of an approximant in which the formants move towards it; own
	longestRelease  = 0.6   // part of a short note that its release may take; own
	barDB           = -14.0 // voice bar in the closure of b d g
	aspirationDB    = -16.0 // aspiration of p t k
	lowestRd        = 0.35
	highestRd       = 2.6
	rdPerDB         = 0.04 // softer notes have weaker upper harmonics (Sundberg and Gauffin 1979, trend only)
	attackPoint     = 0.436
	transitionAhead = 0.010 // s by which the formants start to move before the vowel
)

// attackPoint: a raised cosine passes 0.4 (-8 dB) of its height at acos(1-2*0.4)/pi of its length. Annotated vowel onsets lie
// where the second harmonic is 8 dB under its maximum (measured on 64 sight-singing clips), so the attack is laid there.

func newPart(notes []Note, v Voice, loud *loudness) *part {
	p := &part{voice: v, notes: notes, spans: plan(notes), loud: loud}
	first := 60.0
	if len(notes) > 0 {
		first = notes[0].Sounding()
	}
	neutral := v.open(rowV[v.Kind], 0)
	p.pitch, p.vibrato, p.vibHz, p.wobble = newTrack(first), newTrack(0), newTrack(usualVibrato), newTrack(0)
	p.level, p.pulse, p.breath = newTrack(0), newTrack(v.Shape), newTrack(0)
	p.friction, p.tract = newTrack(0, 4000, 2000), newTrack(neutral.values()...)
	for i := range notes {
		p.arrange(i)
	}
	for _, k := range []*track{p.pitch, p.vibrato, p.vibHz, p.wobble, p.level, p.pulse, p.breath, p.friction, p.tract} {
		k.ready()
	}
	p.end += tailSeconds
	return p
}

// sung is what the arranging of one note needs to know.
type sung struct {
	Note
	span
	follows bool    // the next note is connected
	hz      float64 // sounding centre
	rms     float64 // level of the vowel as sound, linear
	rd      float64
	shape   shape
	gain    float64 // amplitude of the source that gives rms
}

func (p *part) arrange(i int) {
	n := p.notes[i]
	s := sung{Note: n, span: p.spans[i], hz: hertz(n.Sounding())}
	s.follows = i+1 < len(p.spans) && p.spans[i+1].connected
	s.rms = fromDB(p.voice.LevelDBFS + n.LevelDB)
	s.rd = clamp(p.voice.Shape-rdPerDB*n.LevelDB, lowestRd, highestRd)
	s.shape = p.voice.vowelShape(s.said.vowel, s.hz)
	s.gain = p.loud.gain(s.shape, s.hz, s.rd, s.rms)
	p.pulse.around(s.vowel, sonorantRamp, s.rd)
	p.arrangeBreath(i, &s)
	p.arrangePitch(i, &s)
	p.arrangeLead(&s)
	p.arrangeVowel(&s)
	p.arrangeEnd(&s)
}

func (p *part) arrangeBreath(i int, s *sung) {
	if s.BreathSeconds <= 0 {
		return
	}
	end := s.consonants - breathLead
	start := end - s.BreathSeconds
	if i > 0 {
		start = math.Max(start, p.spans[i-1].voiceEnd+p.spans[i-1].said.noisyEnd()+breathLead)
	}
	if end-start < breathLead {
		return
	}
	middle := start + breathPeak*(end-start)
	p.tract.add(start-breathLead/2, start, p.voice.open(rowV[p.voice.Kind], 0).values()...)
	p.breath.add(start, middle, s.gain*fromDB(breathDB))
	p.breath.add(middle, end, 0)
}

// arrangePitch lays the glide or the scoop, the overshoot, the slope, the vibrato and the fall.
func (p *part) arrangePitch(i int, s *sung) {
	target := s.Sounding()
	nudge, voiceStart := 0.0, s.vowel
	if k := len(s.said.lead); k > 0 {
		nudge = s.said.lead[k-1].nudge
		if s.said.lead[0].sonorant() {
			voiceStart = s.consonants
		}
	}
	entry := target + (nudge-s.ScoopCents)/centsPerSemitone
	settle := voiceStart
	if s.connected {
		before := p.notes[i-1].Sounding()
		middle := s.vowel - (s.vowel-s.consonants)/2
		length := math.Min(orUsual(s.GlideSeconds, usualGlide), 2*math.Min(middle-p.spans[i-1].vowel, s.voiceEnd-middle))
		if target != before {
			entry += math.Copysign(s.OvershootCents, target-before) / centsPerSemitone
		}
		p.pitch.around(middle, length, entry)
		settle = math.Max(settle, middle+length/2)
	} else {
		p.pitch.add(s.consonants-tick, s.consonants-tick, entry)
	}
	settled := settle + settleSeconds
	if s.ScoopCents != 0 {
		settled = settle + orUsual(s.ScoopSeconds, usualScoop)
	}
	half := s.SlopeCents / 2 / centsPerSemitone
	p.pitch.add(settle, settled, target-half)
	if half != 0 {
		p.pitch.add(settled, s.voiceEnd, target+half)
	}
	if s.FallCents != 0 {
		start := math.Max(s.voiceEnd-orUsual(s.FallSeconds, usualFall), s.vowel)
		p.pitch.add(start, s.voiceEnd, target+half-s.FallCents/centsPerSemitone)
	}
	grow := s.vowel + s.VibratoDelay
	if die := s.voiceEnd - vibratoDies; s.VibratoCents != 0 && grow < die {
		p.vibHz.add(s.vowel, s.vowel, orUsual(s.VibratoHz, usualVibrato))
		p.vibrato.add(grow, math.Min(grow+vibratoGrows, die), s.VibratoCents)
		p.vibrato.add(die, s.voiceEnd, 0)
	}
	p.wobble.around(s.vowel, sonorantRamp, s.WobbleCents)
}

// sonorant: the voice sounds through the consonant with clear pitch.
func (c *consonant) sonorant() bool {
	return c.manner == nasal || c.manner == approximant || c.manner == dip
}

func (p *part) arrangeLead(s *sung) {
	if len(s.said.lead) == 0 {
		return
	}
	scale := (s.vowel - s.consonants) / s.said.leadSeconds()
	t := s.consonants
	for _, c := range s.said.lead {
		end := t + c.seconds*scale
		p.arrangeConsonant(c, t, end, scale, s)
		t = end
	}
}

// arrangeConsonant lays one consonant over [start, end]; scale is how much shorter or longer than usual it is.
func (p *part) arrangeConsonant(c *consonant, start, end, scale float64, s *sung) {
	drop := fromDB(-orUsual(s.DropDB, c.dropDB))
	noise := s.rms * fromDB(c.noiseDB+p.voice.ConsonantDB)
	near := p.voice.locusShape(c, s.shape, s.hz)
	switch c.manner {
	case plosive:
		p.arrangePlosive(c, start, end, scale, s, near)
	case nasal:
		p.tract.around(start, closureSeconds, near.values()...)
		p.level.around(start, sonorantRamp, p.loud.gain(near, s.hz, s.rd, s.rms*drop))
	case approximant:
		p.tract.add(start-transitionAhead, start+(end-start)*approach, near.values()...)
		p.level.around(start, sonorantRamp, p.loud.gain(near, s.hz, s.rd, s.rms*drop))
	case fricative:
		p.tract.around(start, frictionRamp, near.values()...)
		voice := 0.0
		if c.voiced {
			voice = p.loud.gain(near, s.hz, s.rd, s.rms*drop)
		}
		p.level.around(start, frictionRamp, voice)
		p.friction.add(start-tick, start-tick, 0, c.noiseHz*tractScale[p.voice.Kind], c.bandHz)
		p.friction.add(start, start+frictionRamp, noise, c.noiseHz*tractScale[p.voice.Kind], c.bandHz)
		p.friction.add(end-closureSeconds, end, 0, c.noiseHz*tractScale[p.voice.Kind], c.bandHz)
	case aspirate:
		p.tract.add(start-transitionAhead, start+frictionRamp, s.shape.values()...)
		p.level.around(start, frictionRamp, 0)
		p.breath.add(start, start+frictionRamp, s.gain*fromDB(c.noiseDB))
		p.breath.add(end-closureSeconds, end+closureSeconds, 0)
	case glottal:
		p.level.around(start, closureSeconds, s.gain*drop)
	case dip:
		p.level.add(start, (start+end)/2, s.gain*drop)
	}
}

func (p *part) arrangePlosive(c *consonant, start, end, scale float64, s *sung, near shape) {
	burst := end - c.delay*scale
	p.tract.add(start-transitionAhead, start+closureSeconds, near.values()...)
	bar := 0.0
	if c.voiced {
		bar = s.gain * fromDB(barDB)
	}
	p.level.around(start, closureSeconds, bar)
	p.level.add(burst-closureSeconds, burst, 0)
	hz := c.noiseHz * tractScale[p.voice.Kind]
	p.friction.add(burst-tick, burst-tick, s.rms*fromDB(c.noiseDB+p.voice.ConsonantDB), hz, c.bandHz)
	p.friction.add(burst+burstSeconds/2, burst+2*burstSeconds, 0, hz, c.bandHz)
	if !c.voiced {
		p.breath.add(burst, burst+burstSeconds, s.gain*fromDB(aspirationDB))
		p.breath.add(end-burstSeconds, end+closureSeconds, 0)
	}
}

// entering is how a vowel starts, s: length of the rise of the level, length of the formant movement, and how long before the
// onset that movement starts (after plosives: before the burst).
type entering struct{ attack, transition, ahead float64 }

// entries are the vowel starts after each manner of consonant: transitions as in Klatt (1980) and Delattre et al. (1955), from memory;
// rises own, set so that the level passes -8 dB at the onset.
var entries = map[manner]entering{
	plosive:     {0.014, 0.045, transitionAhead},
	nasal:       {sonorantRamp, 0.030, 0.015},
	approximant: {sonorantRamp, 0.070, 0.030},
	fricative:   {0.022, 0.045, 2 * transitionAhead},
	aspirate:    {0.035, tick, transitionAhead},
	glottal:     {0.015, tick, transitionAhead},
}

// entry says how the vowel starts after what stands before it.
func (s *sung) entry() entering {
	if len(s.said.lead) == 0 {
		if s.connected {
			return entering{math.Max(orUsual(s.GlideSeconds, usualGlide), sonorantRamp), slurRamp, slurRamp / 2}
		}
		attack := orUsual(s.AttackSeconds, usualAttack)
		return entering{attack, tick, attack}
	}
	c := s.said.lead[len(s.said.lead)-1]
	if c.manner == dip {
		return entering{(s.vowel - s.consonants) / 2, slurRamp, slurRamp / 2}
	}
	e := entries[c.manner]
	e.ahead += c.delay
	return e
}

func (p *part) arrangeVowel(s *sung) {
	e := s.entry()
	p.tract.add(s.vowel-e.ahead, s.vowel-e.ahead+e.transition*p.voice.Slur, s.shape.values()...)
	rise := s.vowel - attackPoint*e.attack
	if s.connected && len(s.said.lead) == 0 {
		rise = s.vowel - e.attack/2
	}
	p.level.add(rise, rise+e.attack, s.gain)
	if s.DecayDB != 0 {
		p.level.add(rise+e.attack, s.voiceEnd, s.gain*fromDB(s.DecayDB))
	}
	if to := s.said.vowel.to; to != nil {
		const movesFrom, movesTo = 0.45, 0.95 // parts of the vowel in which a moving vowel moves; own
		d := s.voiceEnd - s.vowel
		target := p.voice.vowelShape(to, s.hz)
		p.tract.add(s.vowel+movesFrom*d, s.vowel+movesTo*d, target.values()...)
	}
}

// arrangeEnd lays the last consonants and the end of the voice.
func (p *part) arrangeEnd(s *sung) {
	sonorants, noisy := s.said.lastParts()
	t := s.voiceEnd - seconds(sonorants)*s.lastScale()
	for _, c := range sonorants {
		end := t + c.seconds*s.lastScale()
		p.arrangeConsonant(c, t, end, s.lastScale(), s)
		t = end
	}
	release := orUsual(s.ReleaseSeconds, usualRelease)
	if len(noisy) > 0 {
		release = frictionRamp
	}
	release = math.Min(release, (s.voiceEnd-s.vowel)*longestRelease)
	if !s.follows {
		start := s.voiceEnd - (1-attackPoint)*release
		p.level.add(start, start+release, 0)
	}
	t = s.voiceEnd
	for _, c := range noisy {
		p.arrangeConsonant(c, t, t+c.seconds, 1, s)
		p.level.add(t+c.seconds-closureSeconds, t+c.seconds, 0)
		t += c.seconds
	}
	p.end = math.Max(p.end, t+release)
}

// lastScale shortens last consonants that would take more than half of the note.
func (s *sung) lastScale() float64 {
	sonorants, _ := s.said.lastParts()
	if len(sonorants) == 0 {
		return 1
	}
	return math.Min(1, (s.voiceEnd-s.vowel)/2/seconds(sonorants))
}

func seconds(cs []*consonant) float64 {
	sum := 0.0
	for _, c := range cs {
		sum += c.seconds
	}
	return sum
}

// lastParts splits the last consonants: leading sonorants sound inside the note, the rest after it.
func (s spoken) lastParts() (sonorants, noisy []*consonant) {
	i := 0
	for i < len(s.last) && s.last[i].sonorant() {
		i++
	}
	return s.last[:i], s.last[i:]
}

// noisyEnd is how long the consonants after the voice last, s.
func (s spoken) noisyEnd() float64 {
	_, noisy := s.lastParts()
	return seconds(noisy)
}
