package practice

import (
	"context"
	"time"

	"larkhand/internal/music"
	"larkhand/internal/round"
)

// This file is what comes next: the plan of the next round, which a Planner makes.

// Planner proposes the next round. All of its methods are called on one goroutine, that judges and saves rounds.
type Planner interface {
	// Plan proposes the next round: before the first, after each that was saved, and whenever what Next says has changed.
	Plan(ctx context.Context, next Next) Plan
	// Judged is told of each round that was judged, before its verdict is shown; it may add remarks to it.
	Judged(f *Finished)
	// Marked is told that a round was marked as misheard after its verdict, or that the mark was taken back.
	Marked(round int, misheard bool)
	// Settled is told that nothing more comes to the rounds so far: the next one is being recorded, or the session is over.
	Settled()
}

// Next is the round that is to be planned.
type Next struct {
	Singer, Player round.Person
	Key            *music.Key // that it has without a plan; nil where it is guessed
	Fixed          bool       // the key stays: the player asked for it, or the round has begun
	Rungs          int        // by how much larger the player wants the phrase than it would be proposed; may be negative
}

// Plan is what is proposed for a round.
type Plan struct {
	Text  string   // one sentence
	Why   []string // sentences
	Shift *int     // semitones above the setup's key; nil leaves the key. It is not heeded where the key is fixed
}

// planTime is how long a plan may take: so long the first one keeps a session from beginning. Own: a journal of 100,000 rounds is read in a tenth of a second.
const planTime = 2 * time.Second

// outlook is what the engine has of plans.
type outlook struct {
	plan     *Plan // of the round under way, between rounds of the next one; nil where none is made yet
	of       whose // that it is made for, or that was asked for last
	previous *Plan // of the round whose verdict stands
	before   whose
	number   int      // of the latest that was asked for
	first    *planned // that waits for the session to begin
	rungs    int      // that the player wants more
	asked    bool     // the player asked for the next round's key
	complete bool     // the round under way was played to its end
}

// whose says for whom, and in which key, a plan is.
type whose struct {
	singer, player int
	key            string
}

// planned is the report of a plan.
type planned struct {
	number int
	next   Next
	plan   Plan
}

// Resize asks for a larger phrase next, or for a smaller one where rungs is negative. It may be called from any goroutine.
func (s *Session) Resize(rungs int) {
	select {
	case s.resizes <- rungs:
	case <-s.done:
	}
}

func (e *engine) resize(rungs int) {
	e.outlook.rungs += rungs
	e.replan(e.part != round.PartVerdict && e.part != round.PartIdle)
}

// whose is whom the next round belongs to, within a round this one.
func (e *engine) whose() (w whose, key *music.Key) {
	w.singer, w.player = e.machine.NextTurn()
	v := e.machine.View(e.now)
	key = v.NextKey
	if e.part != round.PartVerdict && e.part != round.PartIdle {
		key = v.Key
	}
	if key != nil {
		w.key = key.String()
	}
	return w, key
}

// replan asks for a plan; the one that was asked for before is not heeded any more.
func (e *engine) replan(fixed bool) {
	if e.cfg.Planner == nil || e.part == round.PartOver {
		return
	}
	o, people := &e.outlook, e.people()
	who, key := e.whose()
	if who.player != o.of.player {
		o.rungs = 0
	}
	o.of = who
	o.number++
	number, next := o.number, Next{Singer: people[who.singer], Player: people[who.player], Key: key, Fixed: fixed || o.asked, Rungs: o.rungs}
	e.onBench(func() {
		ctx, cancel := context.WithTimeout(context.Background(), planTime)
		defer cancel()
		e.report(planned{number, next, e.cfg.Planner.Plan(ctx, next)})
	})
}

// planFirst waits for the plan of the first round.
func (e *engine) planFirst(ctx context.Context) {
	if e.cfg.Planner == nil {
		return
	}
	e.replan(false)
	limit := time.NewTimer(planTime)
	defer limit.Stop()
	for e.outlook.first == nil {
		select {
		case r := <-e.reports:
			if p, ok := r.(planned); ok {
				e.outlook.first = &p
			} else {
				e.late = append(e.late, r)
			}
		case <-limit.C:
			return
		case <-ctx.Done():
			return
		}
	}
}

// takePlan shows a plan, and has the next round in its key. One that comes when its round has begun is made anew in the key that sounds.
func (e *engine) takePlan(p planned) {
	o := &e.outlook
	if p.number != o.number || e.part == round.PartOver {
		return
	}
	if p.plan.Shift != nil && !p.next.Fixed {
		if e.part != round.PartVerdict && e.part != round.PartIdle {
			e.replan(true)
			return
		}
		e.tell(round.Event{Kind: round.KeyPlanned, Time: e.now - settle, Amount: *p.plan.Shift})
		o.of, _ = e.whose()
	}
	o.plan = &p.plan
}

// planAt does what is to be planned where a part begins.
func (e *engine) planAt(part round.Part) {
	o := &e.outlook
	switch part {
	case round.PartVerdict:
		o.previous, o.before, o.plan = o.plan, o.of, nil
		if o.complete {
			o.rungs = 0
		}
		o.asked, o.complete = e.machine.KeyAsked(), false
		e.replan(false)
	case round.PartLoopAlone, round.PartCountIn, round.PartTake1:
		o.asked = false
		if who, _ := e.whose(); who != o.of {
			o.plan = nil
			e.replan(true)
		}
		if part == round.PartTake1 && e.cfg.Planner != nil {
			e.onBench(e.cfg.Planner.Settled)
		}
	}
}

// ask gives what a player asks for to the machine, and plans by it.
func (e *engine) ask(event round.Event) {
	o, in := &e.outlook, e.part
	if in == round.PartVerdict && event.Action == round.Repeat { // the same again, as it was planned
		o.number++
		o.plan, o.of = o.previous, o.before
	}
	e.tell(event)
	if (in == round.PartVerdict || in == round.PartIdle) && event.Action == round.AnotherKey {
		o.asked = true
		e.replan(true)
	}
}

// planMarked tells the planner that a round was marked after its verdict.
func (e *engine) planMarked(number int, misheard bool) {
	if e.cfg.Planner == nil {
		return
	}
	e.onBench(func() { e.cfg.Planner.Marked(number, misheard) })
	if e.part == round.PartVerdict || e.part == round.PartIdle {
		e.replan(false)
	}
}
