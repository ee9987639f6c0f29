package class

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"larkhand/hunt"
	"larkhand/internal/progress"
	"larkhand/internal/steps"
	"larkhand/match"
)

var firstDay = time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC)

var walks = []int{1, 2, -1, -2, 2, -2, 3, -3, 4, -4, 5, -5, 7}

// evidenceAt says which evidence leads to a note; "" for none.
type evidenceAt func(rng *rand.Rand, at int, n progress.Note) hunt.Kind

// season is sung and played rounds of a made-up player, a session every other day.
func season(seed uint64, rounds int, evidence evidenceAt, settle float64) Player {
	rng := rand.New(rand.NewPCG(seed, 1))
	p := Player{Label: fmt.Sprintf("player %d", seed)}
	for i := range rounds {
		at := firstDay.AddDate(0, 0, 2*(i/12)).Add(time.Duration(i%12) * 90 * time.Second)
		row := progress.Round{At: at, Sang: true, Played: true, Key: "C minor", Tempo: 96, Label: hunt.Known, Response: 2 * math.Exp(0.3*rng.NormFloat64()), Agreement: progress.SamePhrase}
		row.Takes[0] = progress.Centring{CentreCents: 10, SpreadCents: 20 * math.Exp(0.3*rng.NormFloat64())}
		row.Takes[1] = progress.Centring{CentreCents: 8, SpreadCents: 20 * settle * math.Exp(0.3*rng.NormFloat64())}
		r := Round{Bundle: "b", UID: fmt.Sprintf("%d-%d", seed, i)}
		for k := range 6 {
			n := progress.Note{Degree: fmt.Sprint(1 + rng.IntN(7)), Step: progress.NoStep, Verdict: match.Same}
			if k > 0 {
				n.Step = walks[rng.IntN(len(walks))]
			}
			if kind := evidence(rng, k, n); kind != "" {
				n.Kinds, row.Label = progress.KindOf(kind), hunt.Searched
				r.Marks = append(r.Marks, Mark{kind, k, 2 + rng.Float64()})
			}
			row.Notes = append(row.Notes, n)
		}
		r.Row = row
		p.Rounds = append(p.Rounds, r)
	}
	return p
}

func sometimes(p float64, kind hunt.Kind, where func(progress.Note) bool) evidenceAt {
	return func(rng *rand.Rand, _ int, n progress.Note) hunt.Kind {
		if hit := rng.Float64() < p; hit && where(n) {
			return kind
		}
		return ""
	}
}

func anywhere(progress.Note) bool { return true }

func shorts(l Line) []string {
	var out []string
	for _, h := range l.Habits {
		out = append(out, h.Short())
	}
	return out
}

func TestHabitsAreNamed(t *testing.T) {
	cases := []struct {
		name     string
		evidence evidenceAt
		want     []string
	}{
		{"creeps anywhere", sometimes(0.08, hunt.Creep, anywhere), []string{"creeps"}},
		{"waits before degree 6", sometimes(0.6, hunt.Hesitation, func(n progress.Note) bool { return n.Degree == "6" }), []string{"waits: degree 6"}},
		{"restarts after leaps up", sometimes(0.6, hunt.Restart, func(n progress.Note) bool { return n.Step > 4 && n.Step != progress.NoStep }), []string{"restarts: a leap up"}},
		{"corrects degrees 3 and 7", sometimes(0.6, hunt.Correction, func(n progress.Note) bool { return n.Degree == "3" || n.Degree == "7" }),
			[]string{"corrects: degree 3", "corrects: degree 7"}},
		{"nothing", sometimes(0, hunt.Creep, anywhere), nil},
		{"now and then", sometimes(0.01, hunt.Touch, anywhere), nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			l := Of([]Player{season(3, 240, c.evidence, 0.6)}).Players[0]
			got := shorts(l)
			slices.Sort(got)
			if d := cmp.Diff(c.want, got); d != "" {
				t.Error(d)
			}
		})
	}
}

// Players whose evidence stands anywhere by chance are not said to have it at a place: of 60 of them at most a few, since all places of
// one player together may err in 5 %.
func TestPlacesAreNotNamedByChance(t *testing.T) {
	named := 0
	for seed := range uint64(60) {
		l := Of([]Player{season(100+seed, 120, sometimes(0.05, hunt.Correction, anywhere), 0.6)}).Players[0]
		if slices.ContainsFunc(l.Habits, func(h Habit) bool { return h.By != "" }) {
			named++
		}
	}
	const most = 8 // 60 draws at 5 % give more than 8 in 0.2 % of cases (binomial)
	if named > most {
		t.Errorf("%d of 60 players have a place by chance", named)
	}
}

func TestNothingIsClaimedBelowTheLeast(t *testing.T) {
	l := Of([]Player{season(1, progress.Least-1, sometimes(0.5, hunt.Creep, anywhere), 0.3)}).Players[0]
	if l.Enough || len(l.Habits) > 0 || len(l.Trends) > 0 || l.Settling.State != TooFew {
		t.Errorf("claimed %+v", l)
	}
	text := strings.Join(l.Sentences(), "\n")
	if !strings.Contains(text, "29 answers so far; below 30 nothing is claimed") || strings.Contains(text, "Creeps") {
		t.Errorf("said %q", text)
	}
	if len(l.Listen) == 0 {
		t.Error("no round to listen to")
	}
}

func TestSettling(t *testing.T) {
	quiet := sometimes(0, hunt.Creep, anywhere)
	for _, c := range []struct {
		settle float64
		want   Settles
	}{{0.6, Steadier}, {1, NotTold}, {1.6, Looser}} {
		if l := Of([]Player{season(5, 60, quiet, c.settle)}).Players[0]; l.Settling.State != c.want {
			t.Errorf("spread times %g: %q, want %q (%+v)", c.settle, l.Settling.State, c.want, l.Settling.Steadier)
		}
	}
	p := season(5, 60, quiet, 0.6)
	for i := range p.Rounds {
		p.Rounds[i].Row.Sang = false
	}
	if s := Of([]Player{p}).Players[0].Settling; s.Takes != 0 || s.State != TooFew {
		t.Errorf("takes of somebody else count: %+v", s)
	}
}

func TestOrder(t *testing.T) {
	a, b, c := season(1, 60, sometimes(0.02, hunt.Creep, anywhere), 1), season(2, 60, sometimes(0.2, hunt.Creep, anywhere), 1), season(3, 5, sometimes(0, hunt.Creep, anywhere), 1)
	d := season(4, 6, sometimes(0, hunt.Creep, anywhere), 1)
	a.Label, b.Label, c.Label, d.Label = "Zoe", "Moe", "Bea", "Ada"
	var got []string
	table := Of([]Player{a, c, b, d, {Label: "nobody"}})
	for _, l := range table.Players {
		got = append(got, l.Label)
	}
	if want := []string{"Moe", "Zoe", "Ada", "Bea"}; !slices.Equal(got, want) {
		t.Errorf("order %q, want %q", got, want)
	}
	if table.Rounds != 131 || !table.From.Equal(firstDay) {
		t.Errorf("%d rounds from %v", table.Rounds, table.From)
	}
}

func TestListen(t *testing.T) {
	p := season(9, 60, sometimes(0.6, hunt.Hesitation, func(n progress.Note) bool { return n.Degree == "6" }), 1)
	r := &p.Rounds[20]
	for i := range r.Row.Notes {
		r.Row.Notes[i].Degree, r.Row.Notes[i].Verdict, r.Row.Notes[i].Kinds = "1", match.Same, 0
	}
	r.Row.Notes[2].Degree = "6"
	r.Row.Notes[2].Kinds = progress.KindOf(hunt.Hesitation)
	r.Marks = []Mark{{hunt.Hesitation, 2, 50}}
	p.Rounds[7].Row.Agreement = progress.OtherPhrase
	p.Rounds[30].Row.Notes[0].Verdict, p.Rounds[30].Row.Notes[1].Verdict = match.Different, match.LeftOut
	got := map[string]string{}
	for _, l := range Of([]Player{p}).Players[0].Listen {
		got[l.UID] = l.Reason
	}
	for uid, want := range map[string]string{
		"9-20": "Shows the habit best: a wait before note 3 (6).",
		"9-7":  "The second take is another phrase than the first.",
		"9-30": "2 of 6 notes are different or left out.",
	} {
		if got[uid] != want {
			t.Errorf("round %s: %q, want %q; all: %q", uid, got[uid], want, got)
		}
	}
}

// withLinks lets a player write the steps down; the letters go wrong in Gb major, every third round, three times in four, and one round in
// twenty otherwise.
func withLinks(p Player) Player {
	for i := range p.Rounds {
		row := &p.Rounds[i].Row
		wrong := i%20 == 7
		if i%3 == 0 {
			row.Key = "Gb major"
			wrong = i%12 > 0
		}
		names := progress.LinkResult{Name: steps.Names, Compared: len(row.Notes), Failed: wrong}
		if wrong {
			names.Notes = []int{i % len(row.Notes)}
		}
		row.Links = []progress.LinkResult{{Name: steps.Voice, Compared: len(row.Notes)}, {Name: steps.Ear, Compared: len(row.Notes)}, names, {Name: steps.Fingers, Compared: len(row.Notes)}}
	}
	return p
}

func TestWeakLink(t *testing.T) {
	quiet := sometimes(0, hunt.Creep, anywhere)
	writes, few, none := withLinks(season(6, 60, quiet, 1)), withLinks(season(7, progress.Least-1, quiet, 1)), season(8, 60, quiet, 1)
	table := Of([]Player{writes, few, none})
	want := map[string]string{writes.Label: "numbers to letters: in Gb major"}
	for _, l := range table.Players {
		if got := l.weakCell(); got != want[l.Label] {
			t.Errorf("%s: %q, want %q", l.Label, got, want[l.Label])
		}
	}
	var text, page, data, sheet bytes.Buffer
	for _, err := range []error{table.Text(&text, false), table.HTML(&page, "1"), table.JSON(&data), table.CSV(&sheet)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	for name, c := range map[string]struct{ out, part string }{
		"text":      {text.String(), "\n                    weak link: numbers to letters: in Gb major\n"},
		"sentence":  {text.String(), "Numbers to letters fails most in Gb major: 15 of"},
		"few":       {text.String(), "Steps were written down in 29 rounds so far"},
		"listen to": {text.String(), "Shows the weak link: numbers to letters failed at note "},
		"page":      {page.String(), `<td class="words">none<br><span class="look">weak link: numbers to letters: in Gb major</span></td>`},
		"none":      {page.String(), `<td class="words">none</td>`},
		"JSON":      {data.String(), `"steps":60,"weak_links":[{"link":"numbers to letters","failed":{"hits":`},
		"CSV":       {sheet.String(), ",60,numbers to letters,in Gb major,0."},
	} {
		if !strings.Contains(strings.ReplaceAll(c.out, "\n    ", " "), strings.ReplaceAll(c.part, "\n    ", " ")) {
			t.Errorf("%s: no %q in %s", name, c.part, c.out)
		}
	}
}

const hostile = "=<script>alert(1)</script> \"Ann's\" & {{.}} 🎹🎹🎹🎹 مريم \u202ex</title><img src=x onerror=alert(2)>"

func hostileTable() Table {
	p, q := season(1, 60, sometimes(0.1, hunt.Creep, anywhere), 1), season(2, 10, sometimes(0, hunt.Creep, anywhere), 1)
	p.Label = hostile
	p = withLinks(p)
	for i := range p.Rounds {
		p.Rounds[i].Bundle = "<b>bundle</b>"
	}
	return Of([]Player{p, q})
}

func TestTextFits(t *testing.T) {
	var b bytes.Buffer
	if err := hostileTable().Text(&b, false); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(b.String()) {
		if w := cells.StringWidth(strings.TrimRight(line, "\n")); w > textWidth {
			t.Errorf("%d cells: %s", w, line)
		}
	}
	if strings.Contains(b.String(), "\x1b") {
		t.Error("colour without being asked for")
	}
}

func TestHTMLEscapes(t *testing.T) {
	var b bytes.Buffer
	if err := hostileTable().HTML(&b, "1 <i>"); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	for _, bad := range []string{"<script>alert", "<b>bundle", "1 <i>"} {
		if strings.Contains(page, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	if !strings.Contains(page, "مريم") || !strings.Contains(page, "creeps") {
		t.Error("the page lacks the name or the habit")
	}
}

func TestCSV(t *testing.T) {
	var b bytes.Buffer
	if err := hostileTable().CSV(&b); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 3 || len(rows[0]) != len(csvColumns) {
		t.Fatalf("%d rows", len(rows))
	}
	column := func(row int, name string) string { return rows[row][slices.Index(rows[0], name)] }
	if got := column(1, "player"); got != "'"+hostile {
		t.Errorf("player %q", got)
	}
	if column(1, "habits") != "creeps" || column(1, "known_share") == "" {
		t.Errorf("row %q", rows[1])
	}
	if column(2, "enough") != "false" || column(2, "known_share") != "" {
		t.Errorf("a share of few rounds is claimed: %q", rows[2])
	}
}

func TestJSON(t *testing.T) {
	var b bytes.Buffer
	if err := hostileTable().JSON(&b); err != nil {
		t.Fatal(err)
	}
	var d Document
	if err := json.Unmarshal(b.Bytes(), &d); err != nil {
		t.Fatal(err)
	}
	if d.Schema != Schema || len(d.Players) != 2 || d.Players[0].Player != hostile || d.Players[0].Habits[0].Kind != "creep" {
		t.Errorf("read back %+v", d)
	}
	for _, list := range []string{"habits", "trends", "listen_first", "sentences"} {
		if strings.Contains(b.String(), `"`+list+`":null`) {
			t.Errorf("the list %s is null", list)
		}
	}
	var empty bytes.Buffer
	if err := Of(nil).JSON(&empty); err != nil || !strings.Contains(empty.String(), `"from":null`) || !strings.Contains(empty.String(), `"players":[]`) {
		t.Errorf("an empty table is %s, %v", empty.String(), err)
	}
}

func TestLeaps(t *testing.T) {
	for step, want := range map[int]string{
		progress.NoStep: "", 0: "the same note again", 1: "a step up", 2: "a step up", 3: "a third up", 4: "a third up", 5: "a leap up", 12: "a leap up",
		-2: "a step down", -3: "a third down", -5: "a leap down",
	} {
		if got := leapOf(step); got != want {
			t.Errorf("%d semitones: %q, want %q", step, got, want)
		}
	}
}

// Whatever the rounds: no panic, no claim from too few, and the order of the rounds has no say.
func TestAnyRounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var p Player
		number := rapid.SampledFrom([]float64{math.NaN(), 0, 1, 20})
		for i := range rapid.IntRange(0, 70).Draw(t, "rounds") {
			r := Round{UID: fmt.Sprint(i)}
			r.Row = progress.Round{
				At: firstDay.Add(time.Duration(i) * time.Hour), Sang: rapid.Bool().Draw(t, "sang"), Played: rapid.Bool().Draw(t, "played"), Key: "C major",
				Label: rapid.SampledFrom([]hunt.Label{hunt.Known, hunt.Unsure, hunt.Searched}).Draw(t, "label"), Response: number.Draw(t, "response"), Tempo: math.NaN(),
				Agreement: rapid.SampledFrom([]progress.Agreement{progress.OneTake, progress.SamePhrase, progress.OtherPhrase}).Draw(t, "agreement"),
			}
			for k := range r.Row.Takes {
				r.Row.Takes[k] = progress.Centring{CentreCents: number.Draw(t, "centre"), SpreadCents: number.Draw(t, "spread")}
			}
			for range rapid.IntRange(0, 4).Draw(t, "notes") {
				r.Row.Notes = append(r.Row.Notes, progress.Note{
					Degree: rapid.SampledFrom([]string{"1", "b3"}).Draw(t, "degree"), Step: rapid.SampledFrom([]int{progress.NoStep, 0, 2, -7}).Draw(t, "step"),
					Verdict: rapid.SampledFrom([]match.Verdict{match.Same, match.Different, match.LeftOut, match.Unclear}).Draw(t, "verdict"),
					Kinds:   progress.Kinds(rapid.IntRange(0, 31).Draw(t, "kinds")),
				})
			}
			if rapid.Bool().Draw(t, "steps") {
				r.Row.Links = []progress.LinkResult{{Name: steps.Ear, Compared: 1, Failed: rapid.Bool().Draw(t, "failed"), Notes: []int{rapid.IntRange(0, 5).Draw(t, "at")}}}
			}
			r.Row.Pieces = rapid.Bool().Draw(t, "pieces")
			if rapid.Bool().Draw(t, "mark") {
				r.Marks = []Mark{{rapid.SampledFrom(progress.AllKinds[:]).Draw(t, "kind"), rapid.IntRange(-1, 5).Draw(t, "note"), 1}}
			}
			p.Rounds = append(p.Rounds, r)
		}
		table := Of([]Player{p})
		var one, two bytes.Buffer
		if err := table.Text(&one, true); err != nil {
			t.Fatal(err)
		}
		slices.Reverse(p.Rounds)
		if err := Of([]Player{p}).Text(&two, true); err != nil {
			t.Fatal(err)
		}
		if one.String() != two.String() {
			t.Errorf("the order of the rounds changes the table:\n%s\n%s", one.String(), two.String())
		}
		for _, l := range table.Players {
			if !l.Enough && (len(l.Habits) > 0 || l.Answers-l.Pieces >= progress.Least) {
				t.Errorf("claimed from %d answers: %+v", l.Answers, l.Habits)
			}
		}
		for _, write := range []func(Table) error{
			func(t Table) error { return t.JSON(&one) }, func(t Table) error { return t.CSV(&one) }, func(t Table) error { return t.HTML(&one, "1") },
		} {
			if err := write(table); err != nil {
				t.Fatal(err)
			}
		}
	})
}
