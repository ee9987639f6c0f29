package round

import (
	"fmt"
	"math"

	"larkhand/internal/music"
)

// View is what to show at a moment, s on the audio clock; it changes nothing. A moment before the latest event counts as that.
func (m *Machine) View(now float64) View {
	if !(now >= m.now) || math.IsInf(now, 1) {
		now = m.now
	}
	people := m.setup.people()
	singer, player := m.Turn()
	v := View{
		Part: m.part, PartName: m.part.String(), Round: m.round,
		Singer: people[singer], Player: people[player],
		Singing: m.voice.on, Playing: m.hands.count > 0,
		Key: m.key(m.shift), Muted: m.muted, NextKey: m.key(m.nextShift()),
		Learning: m.learning, GoOnKey: m.setup.GoOnKey, GoOnPedal: m.setup.GoOnPedal,
		Can:   m.can(),
		Steps: m.steps, InPieces: m.inPieces, Misheard: m.facts.Misheard && (m.open || m.part == PartVerdict),
		Sound: m.sounds(now),
	}
	v.Turn = v.Singer
	if m.part >= PartNumbers && m.part <= PartVerdict {
		v.Turn = v.Player
	}
	if v.Sounding = v.Sound.String(); v.Sounding != "" && !math.IsInf(m.sound.began, 1) {
		v.SoundFor = math.Max(0, now-m.sound.began)
	}
	if m.inPieces {
		v.Piece = len(m.facts.Pieces) + 1
		if m.part == PartAnswer && m.betweenPieces(now) {
			v.Piece++
		}
	}
	if m.setup.Timing != NoLoop {
		v.Tempo, v.NextTempo = m.tempo, m.next.tempo
	}
	if !math.IsInf(m.began, 0) {
		v.Elapsed = math.Max(0, now-m.began)
	}
	if m.waits {
		if kind, gone := m.missing(m.allNeeds()); gone {
			v.WaitsFor = kind.String()
		}
	}
	m.lookLeft(&v, now)
	m.lookLoop(&v, now)
	v.Prompt = m.prompt(v)
	return v
}

// lookLeft fills in what is left of the part. A last note that is held over its bar line leaves nothing.
func (m *Machine) lookLeft(v *View, now float64) {
	end := m.deadline
	if m.part.Take() > 0 && !m.onForm() || m.part == PartAnswer && (!m.onForm() || m.inPieces) || math.IsInf(end, 1) {
		v.Open = true
		return
	}
	if m.hold {
		end = m.barLine
	}
	v.SecondsLeft = math.Max(0, end-now)
	if m.loop == nil {
		return
	}
	beats := int(math.Ceil(v.SecondsLeft/m.beat() - sameMoment))
	perBar := m.loop.Chart.Meter.Beats
	v.BarsLeft, v.BeatsLeft = beats/perBar, beats%perBar
}

// lookLoop fills in where the loop is.
func (m *Machine) lookLoop(v *View, now float64) {
	if m.loop == nil {
		return
	}
	v.HasLoop = true
	v.Bars, v.Beats = len(m.loop.Chart.Bars), m.loop.Chart.Meter.Beats
	at := math.Max(now, m.loop.Starts)
	if p, ok := m.loop.BarBeat(at); ok {
		v.Chorus, v.Bar = p.Chorus, p.Bar
		v.Beat = int(p.Beat)
		v.Through = p.Beat - math.Floor(p.Beat)
	}
	v.Chord, _ = m.loop.ChordAt(at)
	v.Next, v.NextIn = m.nextChord(at, v.Chord)
}

// nextChord looks for the next other chord, at most once through the chart; where there is none it is the same one.
func (m *Machine) nextChord(now float64, chord music.Chord) (next music.Chord, in float64) {
	bar := m.bar()
	first := m.loop.NextBar(now)
	if first > now+sameMoment {
		first -= bar
	}
	p, _ := m.loop.BarBeat(first)
	for i := range len(m.loop.Chart.Bars) + 1 {
		chords := m.loop.Chart.Bars[(p.Bar-1+i+len(m.loop.Chart.Bars))%len(m.loop.Chart.Bars)].Chords
		for k, c := range chords {
			at := first + (float64(i)+float64(k)/float64(len(chords)))*bar
			if at > now+sameMoment && c != chord {
				return c, at - now
			}
		}
	}
	return chord, m.loop.Length()
}

// prompt is one sentence on what to do now.
func (m *Machine) prompt(v View) string {
	name := ""
	if v.Turn.Name != "" && len(m.setup.Players) > 1 {
		name = v.Turn.Name + ": "
	}
	if m.learning {
		return "Press the MIDI key or the pedal that is to go on; g again for none."
	}
	switch m.part {
	case PartIdle:
		if v.WaitsFor != "" {
			return fmt.Sprintf("Waiting for the %s; plug it in again.", v.WaitsFor)
		}
		return "Go on when you are ready."
	case PartLoopAlone:
		return "Listen to the loop; do not sing yet."
	case PartCountIn:
		return name + "Sing after the count."
	case PartTake1:
		return name + "Sing a short phrase."
	case PartTake2:
		return name + "Sing the same phrase once more."
	case PartNumbers:
		return name + "Write down the numbers of what was sung."
	case PartLetters:
		return name + "Write down the letters."
	case PartThinking:
		if m.facts.Written != nil {
			return name + "Play it when you are ready."
		}
		return name + "Work out the degrees, then the letters."
	case PartAnswer:
		if m.inPieces {
			return name + "Play the phrase piece by piece; go on when it is whole."
		}
		return name + "Play the phrase."
	case PartVerdict:
		return "Look at the result."
	}
	return ""
}
