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
	"larkhand/internal/round"
)

// PlainConfig is what Plain works with.
type PlainConfig struct {
	Begin func() (Session, error)
	Kept  string // one sentence on where rounds are kept, or that they are not
	Offer *Offer // nil: nothing was left
}

// Plain practises line by line, for a screen reader or a pipe: a line when something begins, changes or goes wrong, and the
// verdict as `larkhand check` prints it. Lines of in are keys of the round view; an empty one goes on. It returns when the session has ended.
func Plain(ctx context.Context, in io.Reader, out io.Writer, cfg PlainConfig) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	keys := readLines(ctx, in)
	p := plain{out: out, kept: cfg.Kept}
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
	p.say("Larkhand. Enter goes on; a letter and enter: " + strings.Join(plainKeys(), ", ") + ".")
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

func plainKeys() []string {
	var out []string
	for _, b := range bindings {
		if b.short != "" && len(b.keys) > 0 && b.keys[0] != " " {
			out = append(out, b.shown+" "+b.short)
		}
	}
	return out
}

// plain is what was said so far.
type plain struct {
	out     io.Writer
	session Session
	kept    string
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
	key := strings.TrimSpace(line)
	if key == "" {
		key = " "
	}
	b, ok := bound(key)
	switch way := volumeWay(key); {
	case way != 0:
		p.session.ChangeVolume(way * volumeStep)
	case ok && b.acts:
		p.session.Do(b.action, b.amount)
	case key == keyQuit:
		p.session.Do(round.Quit, 0)
	case key == keyHelp:
		for _, b := range bindings {
			if b.long != "" {
				p.say(b.long)
			}
		}
	default:
		p.say(fmt.Sprintf("%q is no key here; ? names them.", key))
	}
}

// tell says what is new in a snapshot.
func (p *plain) tell(s practice.Snapshot) {
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
	}
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

// partLine says that a part begins.
func partLine(v round.View) string {
	line := strings.ToUpper(v.PartName[:1]) + v.PartName[1:] + "."
	if v.Prompt != "" {
		line += " " + v.Prompt
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
		for _, line := range reportLines(*r.Judged, false) {
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
