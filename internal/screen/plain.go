package screen

import (
	"bufio"
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"larkhand/internal/practice"
	"larkhand/internal/report"
	"larkhand/internal/round"
)

// PlainConfig is what Plain works with.
type PlainConfig struct {
	Begin func() (Session, error)
	Setup round.Setup // of that session
	Kept  string      // one sentence on where rounds are kept, or that they are not
	Offer *Offer      // nil: nothing was left
}

// Plain practises line by line, for a screen reader or a pipe: a line when something begins, changes or goes wrong, and the
// verdict as `larkhand check` prints it. Lines of in are keys of the round view, or words for them, or numbers and letters that are
// written down; an empty one goes on. It returns when the session has ended.
func Plain(ctx context.Context, in io.Reader, out io.Writer, cfg PlainConfig) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	keys := readLines(ctx, in)
	p := plain{out: out, kept: cfg.Kept, setup: cfg.Setup}
	if !p.ask(ctx, cfg.Offer, keys) {
		return p.err
	}
	session, err := cfg.Begin()
	if err != nil {
		return err
	}
	p.session = session
	ended := make(chan error, 1)
	go func() { ended <- session.Run(ctx) }()
	p.say("Larkhand. Enter goes on; a key or its word and enter: " + strings.Join(plainKeys(practice.Snapshot{}, ofRound, ofNext, ofLoop, ofScreen), ", ") + ", i help, q quit.")
	snapshots := session.Snapshots()
	for {
		select {
		case s, ok := <-snapshots:
			if !ok {
				return p.leave(<-ended)
			}
			p.tell(s)
		case line, ok := <-keys:
			if !ok {
				keys = nil // no more keys: the session goes on by itself
				continue
			}
			p.press(line)
		}
		if p.err != nil {
			cancel() // nobody can read on
		}
	}
}

// ask makes the offer, where there is one, until it is answered. It is false where the player rather quits. At the end of the
// lines it is left for later.
func (p *plain) ask(ctx context.Context, offer *Offer, lines <-chan string) bool {
	if offer == nil {
		return true
	}
	p.say(offer.Text)
	for p.err == nil {
		p.say("One letter and enter: " + offerKeys + ", q quit.")
		select {
		case line, ok := <-lines:
			key := strings.TrimSpace(line)
			switch {
			case !ok:
				return true
			case key == keyQuit:
				return false
			}
			told, done := offer.answer(key)
			if told != "" {
				p.say(told)
			}
			if done {
				return true
			}
		case <-ctx.Done():
			return false
		}
	}
	return false
}

// readLines gives the lines of in until it ends or ctx does. What waits in a read that nothing ends stays until the process ends.
func readLines(ctx context.Context, in io.Reader) <-chan string {
	lines := make(chan string)
	go func() {
		defer close(lines)
		scanner := bufio.NewScanner(in)
		for scanner.Scan() {
			select {
			case lines <- scanner.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	return lines
}

// plainKeys are the keys of groups that act, with their words.
func plainKeys(s practice.Snapshot, groups ...group) []string {
	var out []string
	for _, b := range bindings {
		if slices.Contains(groups, b.group) && b.short != "" && b.keys[0] != " " && b.acting(s) {
			out = append(out, b.shown+" "+b.short)
		}
	}
	return out
}

// plain is what was said so far.
type plain struct {
	out     io.Writer
	session Session
	setup   round.Setup
	kept    string
	latest  practice.Snapshot
	err     error // of out

	part    round.Part
	round   int
	chord   string
	notice  practice.Notice
	verdict int // round whose result was told
	judging bool

	muted, key    string
	volume, tempo float64
	heard         bool // there is a volume
	learning      bool

	sounding string
	piece    int
	plan     *practice.Plan
	hearing  bool // what can be heard again was named
}

func (p *plain) say(text string) {
	if p.err == nil {
		_, p.err = fmt.Fprintln(p.out, text)
	}
}

func (p *plain) leave(err error) error {
	if err == nil {
		p.say("The session is over. " + p.kept)
		err = p.err
	}
	return err
}

func (p *plain) press(line string) {
	v := p.latest.View
	line = strings.TrimSpace(line)
	_, writes := kindOf(v.Part)
	b, ok := called(line, writes)
	switch {
	case ok:
		p.act(b)
	case writes:
		p.handIn(line)
	case line == "":
		p.session.Do(round.GoOn, 0)
	default:
		p.say(fmt.Sprintf("%q is no key here; help names them.", line))
	}
}

// act does what a key says.
func (p *plain) act(b binding) {
	switch key := b.keys[0]; {
	case volumeWay(key) != 0:
		p.session.ChangeVolume(volumeWay(key) * volumeStep)
	case sizeWay(key) != 0:
		p.session.Resize(sizeWay(key))
	case b.acts:
		p.session.Do(b.action, b.amount)
	case key == keyKeys:
		p.sayKeys()
	case key == keyHelp:
		p.sayHelp()
	default: // escape leads nowhere else here
		p.session.Do(round.Quit, 0)
	}
}

// handIn gives the session what was written, and says how it is read.
func (p *plain) handIn(text string) {
	v := p.latest.View
	said, wrong := "Left out.", ""
	if text != "" {
		said, wrong = understood(v, p.setup, text)
	}
	switch {
	case wrong != "":
		p.say(wrong)
	case text == "" && takeSounds(v):
		p.session.Do(round.GoOn, 0)
	default:
		p.say(said)
		p.session.Write(text)
	}
}

// sayKeys says the keys at hand.
func (p *plain) sayKeys() {
	key := p.latest.View.Key
	if key == nil {
		key = p.setup.Key
	}
	if key == nil {
		p.say(noKeyAtHand)
		return
	}
	chart := soundingChart(p.latest.View, p.setup)
	if err := report.KeysWords(p.out, report.NewKeysDocument(*key, p.setup.Numbering, &chart)); err != nil && p.err == nil {
		p.err = err
	}
}

// sayHelp explains the keys.
func (p *plain) sayHelp() {
	for g, name := range groupNames {
		p.say(name + ":")
		for _, b := range bindings {
			if b.group == group(g) && b.long != "" {
				p.say(b.long)
			}
		}
	}
	p.say("Words do as well: " + strings.Join(plainWords(), ", ") + ".")
	p.say("Care: " + care)
}

// plainWords are the words for keys.
func plainWords() []string {
	var out []string
	for _, b := range bindings {
		if word := cmp.Or(b.word, b.short); word != "" && len(b.keys) > 0 {
			out = append(out, word)
		}
	}
	return out
}

// tell says what is new in a snapshot.
func (p *plain) tell(s practice.Snapshot) {
	before := p.latest
	p.latest = s
	last := slices.Index(s.Notices, p.notice) // several may have one time
	for i, n := range s.Notices {
		if i > last && (last >= 0 || n.Time >= p.notice.Time) {
			word := "Warning: "
			if n.Warning == round.Care {
				word = "Care: "
			}
			p.say(word + n.Text)
			p.notice = n
		}
	}
	v := s.View
	p.tellChanges(s)
	if v.Part != p.part || v.Round != p.round {
		p.part, p.round, p.chord = v.Part, v.Round, ""
		p.say(partLine(v))
		p.tellHearing(s)
	}
	p.tellPlan(s)
	for _, told := range changes(before, s) {
		p.say(told)
	}
	p.tellBack(v)
	if chord := v.Chord.String(); v.HasLoop && chord != p.chord {
		p.chord = chord
		p.say(fmt.Sprintf("Bar %d: %s, next %s.", v.Bar, v.Chord, v.Next))
	}
	if s.Judging && !p.judging {
		p.say("Judging.")
	}
	p.judging = s.Judging
	if r := s.Result; r != nil && r.Facts.Round != p.verdict {
		p.verdict = r.Facts.Round
		p.tellResult(r)
	}
}

// tellChanges says what a key changed.
func (p *plain) tellChanges(s practice.Snapshot) {
	v := s.View
	if muted := mutedText(v.Muted); muted != p.muted {
		p.muted = muted
		p.say("Silent: " + cmp.Or(muted, "nothing") + ".")
	}
	if s.HasVolume && p.heard && s.Volume != p.volume {
		p.say(fmt.Sprintf("Volume %.0f dB.", s.Volume))
	}
	p.volume, p.heard = s.Volume, s.HasVolume
	if v.NextTempo != p.tempo {
		if p.tempo != 0 {
			p.say(fmt.Sprintf("The next round at %g quarters a minute.", v.NextTempo))
		}
		p.tempo = v.NextTempo
	}
	if v.NextKey != nil && v.NextKey.String() != p.key {
		if p.key != "" {
			p.say("The next round in " + v.NextKey.String() + ".")
		}
		p.key = v.NextKey.String()
	}
	if v.Learning && !p.learning {
		p.say(v.Prompt)
	}
	if goOn := goOnText(v.GoOnKey, v.GoOnPedal); p.learning && !v.Learning && goOn != "" {
		p.say("From now on " + goOnName(goOn) + " goes on.")
	}
	p.learning = v.Learning
}

// tellHearing names once what a player can go back to.
func (p *plain) tellHearing(s practice.Snapshot) {
	if p.hearing || !slices.Contains(s.View.Can, round.HearTake) {
		return
	}
	p.hearing = true
	p.say("From here on you can go back: " + strings.Join(plainKeys(s, ofHearing), ", ") + ".")
}

// tellPlan says what is planned for the next phrase, and why.
func (p *plain) tellPlan(s practice.Snapshot) {
	if s.Plan == nil || !planShown(s.View.Part) || p.plan != nil && p.plan.Text == s.Plan.Text && slices.Equal(p.plan.Why, s.Plan.Why) {
		return
	}
	p.plan = s.Plan
	p.say(s.Plan.Text)
	for _, why := range s.Plan.Why {
		p.say(why)
	}
}

// tellBack says what a player went back to, and which piece is played.
func (p *plain) tellBack(v round.View) {
	if v.Piece != p.piece {
		if v.Part == round.PartAnswer && v.Piece > 1 {
			p.say(fmt.Sprintf("Piece %d.", v.Piece))
		}
		p.piece = v.Piece
	}
	if v.Sounding != p.sounding {
		if v.Sounding != "" {
			p.say("You hear " + v.Sounding + ".")
		}
		p.sounding = v.Sounding
	}
}

// partLine says that a part begins.
func partLine(v round.View) string {
	line := strings.ToUpper(v.PartName[:1]) + v.PartName[1:] + "."
	if v.Prompt != "" {
		line += " " + v.Prompt
	}
	if kind, writes := kindOf(v.Part); writes {
		line += fmt.Sprintf(" A line of %s and enter; an empty line leaves this step out.", kind)
	}
	if !v.Open && (v.BarsLeft > 0 || v.BeatsLeft > 0) {
		line += " " + leftInWords(v) + "."
	}
	return line
}

func (p *plain) tellResult(r *practice.Result) {
	if r.Judged == nil {
		p.say("No verdict: " + r.Reason)
	} else {
		p.say("Verdict: " + string(r.Judged.Finding.Label) + ".")
		for _, line := range Words(*r.Judged, reportWidth, false) {
			p.say(line)
		}
	}
	if who := whose(r); who != "" {
		p.say(who)
	}
	if r.Response != nil {
		p.say(responseText(*r.Response, r.Facts.Loop != nil))
	}
	if r.SaveError != "" {
		p.say("Not saved: " + r.SaveError)
	} else if r.Journal != "" {
		p.say(r.Journal)
	}
}
