package round

import (
	"math"

	"larkhand/internal/loop"
)

// This file is the course of the round: what begins when, and what follows what.

// start goes towards the next round: it starts or changes the loop and waits for the count-in.
func (m *Machine) start(at float64) {
	if kind, gone := m.missing(m.allNeeds()); gone {
		m.idle(at, true)
		m.warnGone(kind, at)
		return
	}
	m.heedPlan()
	if math.IsInf(m.started, 1) {
		m.started, m.rested = at, at
		m.care(at)
	}
	if m.setup.Timing == NoLoop {
		m.tempo, m.shift = m.next.tempo, m.next.shift
		m.beginRound()
		m.enterTake(PartTake1, at, at)
		return
	}
	m.startLoop(at)
	alone := m.leadIn
	begins := m.plan(math.Max(at, m.loop.Starts), alone)
	m.leadIn = false
	if alone && begins > at+sameMoment {
		m.enter(PartLoopAlone, at, begins)
		return
	}
	m.countIn(at)
}

// startLoop starts the loop, or starts it anew where tempo or key change.
func (m *Machine) startLoop(at float64) {
	same := m.next == change{tempo: m.tempo, shift: m.shift}
	if m.loop != nil && same && !m.stale {
		return
	}
	if m.loop != nil {
		m.emit(Command{Kind: StopLoop, At: at})
	}
	m.tempo, m.shift, m.stale = m.next.tempo, m.next.shift, false
	m.leadIn = m.setup.LeadIn
	m.loop = &loop.Loop{Chart: TransposedChart(m.setup.Chart, m.key(m.shift), m.shift), Tempo: m.tempo, Starts: at + startDelay}
	if m.onForm() && m.setup.FromTop && !m.leadIn { // the count-in is the end of the chart, so that nobody waits for its top
		m.loop.Starts -= m.loop.Length() - math.Mod(float64(m.setup.CountInBars)*m.bar(), m.loop.Length())
	}
	m.emit(Command{Kind: StartLoop, At: at, Loop: *m.loop, Swing: m.setup.Swing, Muted: m.muted})
}

// plan sets when take 1 begins and returns when its count-in does. alone leaves room for once through the loop, on the
// form from the top with the count-in as its end.
func (m *Machine) plan(after float64, alone bool) (countIn float64) {
	count := float64(m.setup.CountInBars) * m.bar()
	fromTop := m.onForm() && m.setup.FromTop
	switch {
	case fromTop && alone:
		m.take1 = m.nextTop(after + math.Max(m.loop.Length(), m.loop.Length()/2+count))
	case fromTop:
		m.take1 = m.nextTop(after + count)
	case alone:
		m.take1 = m.loop.NextBar(after+m.loop.Length()) + count
	default:
		m.take1 = m.loop.NextBar(after) + count
	}
	return m.take1 - count
}

// nextTop is the first time at or after t at which the chart begins anew.
func (m *Machine) nextTop(t float64) float64 {
	const rounding = 1e-7 // bars, as in package loop
	passes := (t - m.loop.Starts) / m.loop.Length()
	return m.loop.Starts + math.Ceil(passes-rounding/float64(len(m.loop.Chart.Bars)))*m.loop.Length()
}

// beginRound gives the round its number and opens its facts.
func (m *Machine) beginRound() {
	if !m.redo {
		m.round++
	}
	m.redo, m.open, m.short = false, true, false
	m.heard = [3]bool{}
	m.again, m.unbound, m.inPieces, m.newPiece = false, false, false, false
	m.facts = Facts{Round: m.round, Singer: m.singer(), Player: m.player(), Key: m.key(m.shift), Timing: m.setup.Timing, Swing: m.setup.Swing}
	if m.loop != nil {
		l := *m.loop
		m.facts.Loop = &l
	}
}

func (m *Machine) countIn(at float64) {
	m.beginRound()
	if m.take1 > at+sameMoment {
		m.enter(PartCountIn, at, m.take1)
		return
	}
	m.enterTake(PartTake1, at, m.upbeat(at))
}

// expire does what is due at a part's deadline.
func (m *Machine) expire(at float64) {
	switch m.part {
	case PartLoopAlone:
		m.countIn(at)
	case PartCountIn:
		take := PartTake1
		if m.again {
			take = PartTake2
		}
		m.enterTake(take, at, m.upbeat(at))
	case PartTake1, PartTake2:
		m.takeDue(at)
	case PartThinking:
		m.enterAnswer(at, at)
	case PartAnswer:
		m.answerDue(at)
	case PartVerdict:
		m.start(at)
	}
}

// enterTake begins a take at a bar line; its recording begins at cut, at the upbeat. What a take needs is there: the parts
// before it need the same.
func (m *Machine) enterTake(p Part, at, cut float64) {
	end := at + longestWait
	switch {
	case m.onForm() && p == PartTake2: // a last note of take 1 that was held over the bar line takes nothing from take 2's bars
		end = m.barLine + m.takeLength()
	case m.onForm():
		end = at + m.takeLength()
	case m.voice.on:
		end = at + longestTake
	}
	m.enter(p, at, end)
	m.learning = m.learning && p == PartTake1
	m.hands.early = math.Inf(1)
	m.heard[p.Take()] = m.voice.on
	m.beginTake(p, at, cut)
}

// takeLength is the length of a take and of an answer on the form, s.
func (m *Machine) takeLength() float64 { return float64(m.setup.TakeBars) * m.bar() }

// upbeat is where take 1 begins in the recording: a little before its bar line, or before a voice that sings an upbeat.
func (m *Machine) upbeat(at float64) float64 {
	if m.singsUpbeat(upbeatAfterCount, at) {
		return m.voice.since - upbeatMargin
	}
	return at - onsetRoom
}

// singsUpbeat is true where the voice came in at most so many beats before a bar line.
func (m *Machine) singsUpbeat(beats, at float64) bool {
	return m.voice.since < at && m.voice.since >= at-math.Min(beats*m.beat(), longestBeat)
}

// split is where take 1 ends and take 2 begins when that is due: before a voice that sings an upbeat to take 2, in the last pause
// if there is one just then, otherwise before the bar line by as much as is silent.
func (m *Machine) split(at float64) float64 {
	switch {
	case !m.voice.on:
		return math.Max(m.voice.until, at-onsetRoom)
	case m.singsUpbeat(upbeatAfterTake, at):
		return m.voice.since - upbeatMargin
	case m.voice.paused >= at-onsetRoom:
		return m.voice.paused
	}
	return at
}

// takeDue is called when a take's bars, its silence or its longest time are over.
func (m *Machine) takeDue(at float64) {
	switch {
	case m.onForm() && !m.hold && m.held(at):
		m.hold = true
		m.deadline = at + math.Min(m.beat(), longestBeat)
	case m.onForm():
		m.endOfTake(at, m.due(at))
	case !m.heard[m.part.Take()]:
		m.restartTake(at)
	default:
		if m.voice.on {
			m.warn(TooLong, at, "")
		}
		m.endOfTake(at, m.due(at))
	}
}

// due is where the take ends that is over now: before what belongs to take 2, or now.
func (m *Machine) due(at float64) float64 {
	if m.part == PartTake1 {
		return m.split(at)
	}
	return at
}

// held is true where the voice still sounds, with no pause to part at, and is no upbeat of what comes.
func (m *Machine) held(at float64) bool {
	upbeat := m.part == PartTake1 && m.singsUpbeat(upbeatAfterTake, at)
	return m.voice.on && m.voice.paused < at-onsetRoom && !upbeat
}

// endOfTake ends the take at cut and goes on to what follows it.
func (m *Machine) endOfTake(at, cut float64) {
	take := m.part
	if take == PartTake2 {
		cut = math.Min(cut, m.hands.early)
	}
	m.endRecording(at, cut, false)
	if !m.heard[take.Take()] {
		m.warn(NothingSung, at, "")
	}
	switch {
	case take == PartTake1:
		m.enterTake(PartTake2, at, cut)
	case m.steps:
		m.unbound = true
		m.workOut(PartNumbers, at, math.Inf(1))
	case !m.onForm() || m.setup.ThinkingBars == FreeThinking:
		m.workOut(PartThinking, at, math.Inf(1))
	case m.setup.ThinkingBars == 0:
		m.facts.Awaited = m.barLine
		early := m.hands.early
		m.enterAnswer(at, math.Min(cut, at))
		if early <= at {
			m.strike(early)
		}
	default:
		end := m.barLine + float64(m.setup.ThinkingBars)*m.bar()
		m.facts.Awaited = end
		m.workOut(PartThinking, at, end)
	}
}

// workOut begins the thinking room, or the first step before it; a first note that has come already ends it at once.
func (m *Machine) workOut(p Part, at, end float64) {
	early := m.hands.early
	m.enter(p, at, end)
	if early <= at {
		m.answerBegins(early)
	}
}

// answerBegins is called when the first note comes while the player is still given time to think.
func (m *Machine) answerBegins(note float64) {
	m.enterAnswer(m.now, note)
	if m.part == PartAnswer {
		m.strike(note)
	}
}

// enterAnswer begins the answer.
func (m *Machine) enterAnswer(at, cut float64) {
	if kind, gone := m.missing(m.needs(PartAnswer)); gone {
		m.breakOff(at)
		m.warnGone(kind, at)
		return
	}
	end := math.Inf(1)
	switch {
	case m.inPieces:
		end = at + longestPieces
	case !m.onForm():
	case m.setup.ThinkingBars == FreeThinking || m.unbound:
		end = m.loop.NextBar(at) + m.takeLength()
	default:
		end = m.facts.Awaited + m.takeLength()
	}
	m.enter(PartAnswer, at, end)
	m.hands = handState{struck: at, latest: at, early: math.Inf(1)}
	m.newPiece = false
	m.beginAnswer(at, cut)
}

// answerDue is called when the answer's bars or its silence are over, or its longest time.
func (m *Machine) answerDue(at float64) {
	if m.inPieces {
		m.warn(TooLong, at, "")
		m.endOfAnswer(at)
		return
	}
	limit := math.Min(m.barLine+m.takeLength(), m.began+longestAnswer)
	playing := m.hands.count > 0 || m.hands.notes == 0 || at-m.hands.latest < m.bar()
	if m.onForm() && playing && at+m.bar()/2 < limit {
		m.deadline = at + m.bar()
		return
	}
	if !m.onForm() && m.hands.count > 0 {
		m.warn(TooLong, at, "")
	}
	m.endOfAnswer(at)
}

// endOfAnswer ends the round.
func (m *Machine) endOfAnswer(at float64) {
	m.endRecording(at, at, false)
	if m.hands.notes == 0 && !m.heard[1] && !m.heard[2] && m.onForm() {
		m.warn(NobodyThere, at, "")
		m.discard(at, PartIdle)
		m.closeRound()
		m.redo = true
		m.stopLoop(at)
		m.idle(at, false)
		return
	}
	m.facts.Complete = m.hands.notes > 0 && !m.short && len(m.facts.Takes) == 2
	if m.hands.notes == 0 {
		m.warn(NothingPlayed, at, "")
	}
	if m.facts.Complete {
		m.emit(Command{Kind: JudgeRound, At: at, Facts: m.copyFacts()})
	}
	m.save(at)
	m.enterVerdict(at)
}

// enterVerdict lets the verdict stand and plans what comes.
func (m *Machine) enterVerdict(at float64) {
	m.turn++
	m.rest(at)
	const barWithoutLoop = 4 // s
	bars := float64(m.setup.VerdictBars)
	switch {
	case bars == 0:
		m.enter(PartVerdict, at, math.Inf(1))
	case m.loop == nil:
		m.enter(PartVerdict, at, at+bars*barWithoutLoop)
	default:
		m.enter(PartVerdict, at, m.plan(at+bars*m.bar(), false))
	}
}

// idle waits: for a start, or for a device that is gone.
func (m *Machine) idle(at float64, waits bool) {
	m.enter(PartIdle, at, math.Inf(1))
	m.waits = waits
}

func (m *Machine) stopLoop(at float64) {
	if m.loop == nil {
		return
	}
	m.loop, m.stale = nil, false
	m.emit(Command{Kind: StopLoop, At: at})
}
