package command

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/music"
	"larkhand/internal/phrase"
	"larkhand/internal/phrasebook"
)

// phrases is the flags that all the commands on kept phrases share.
type phrases struct {
	dir       journalDir
	numbering string
	player    string
}

func (p *phrases) register(cmd *cobra.Command) {
	p.dir.register(cmd)
	cmd.Flags().StringVar(&p.numbering, "numbering", music.AlteredNumbers.String(),
		"`custom` of the numbers: scale counts the phrase's own scale, altered counts against major")
	complete(cmd, "numbering", music.ScaleNumbers.String(), music.AlteredNumbers.String())
	cmd.Flags().StringVar(&p.player, "player", "", "`name` of the player whose record it is")
}

func (p phrases) book() phrasebook.Book { return p.dir.book() }

func (p phrases) numbers() (music.Numbering, error) {
	n, err := music.ParseNumbering(p.numbering)
	if err != nil {
		return n, wrongValue("numbering", err)
	}
	return n, nil
}

func newPhrases() *cobra.Command {
	var p phrases
	var tag string
	cmd := &cobra.Command{
		Use:   "phrases",
		Short: "Phrases you keep: list, keep, carry through keys, when they are due",
		Long: `Phrases you keep: without a word after it, the list of them. A phrase is kept as
numbers with rhythm, so it can be carried to any key; each key has its own record of
when it was tried, and of when it is due again.

A phrase is typed like this: "1 1 2 b3:2 -:1 5' 4:1/2". After a colon comes the
length in quarter notes, which holds for the notes after it; - is a rest; ' puts a
note an octave up from where it would lie nearest, a comma an octave down.`,
		Example: "  larkhand phrases keep Rain --numbers \"1 2 b3:2 5\" --scale minor --tag slow\n" +
			"  larkhand phrases keep Harbour --round 12\n  larkhand phrases due --player Anna\n  larkhand phrases tour Rain --order fourths",
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return p.list(cmd, tag) },
	}
	p.register(cmd)
	cmd.Flags().StringVar(&tag, "tag", "", "only phrases with this `word` among their tags")
	cmd.AddCommand(newPhrasesKeep(), newPhrasesShow(), newPhrasesDue(), newPhrasesTour(), newPhrasesTried(),
		newPhrasesRemove(), newPhrasesRestore(), newPhrasesExport(), newPhrasesImport())
	return cmd
}

// onePhrase takes the name of a phrase.
func onePhrase(cmd *cobra.Command, args []string) error {
	if len(args) == 1 {
		return nil
	}
	return wrongUse("%s takes the name of one phrase, in quotes where it has spaces; \"larkhand phrases\" lists them", cmd.CommandPath())
}

// list prints all phrases.
func (p phrases) list(cmd *cobra.Command, tag string) error {
	numbering, err := p.numbers()
	if err != nil {
		return err
	}
	all, broken := p.book().List()
	if tag != "" {
		all = slices.DeleteFunc(all, func(e phrasebook.Entry) bool {
			return !slices.ContainsFunc(e.Tags, func(t string) bool { return strings.EqualFold(t, tag) })
		})
	}
	out := cmd.OutOrStdout()
	if len(all) == 0 {
		if broken != nil {
			return broken
		}
		_, err := fmt.Fprintln(out, "No phrases are kept yet. Keep one: larkhand phrases keep Rain --numbers \"1 2 b3:2 5\" --scale minor")
		return err
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "phrase\tscale\tnumbers\tkeys\tdue next\ttags")
	for _, e := range all {
		typed, err := e.Write(numbering)
		if err != nil {
			return err
		}
		held, next := standing(e.Cards[p.player])
		fmt.Fprintf(w, "%s\t%s\t%s\t%d of 12\t%s\t%s\n", shown(e.Name), e.Scale, cut(typed), held, next, shown(strings.Join(e.Tags, ", ")))
	}
	return errors.Join(w.Flush(), broken)
}

// shown is text of a player's own on one line.
func shown(text string) string { return strings.Map(printable, text) }

func printable(r rune) rune {
	if r < ' ' || r == 0x7f {
		return ' '
	}
	return r
}

// cut shortens typed numbers for a table.
func cut(typed string) string {
	const most = 28
	if r := []rune(typed); len(r) > most {
		return string(r[:most-3]) + "..."
	}
	return typed
}

// standing is in how many keys a phrase was recalled last time, and which key is due next.
func standing(cards map[string]phrase.Card) (held int, next string) {
	var first string
	for class := range 12 {
		tonic := phrase.Tonic(class)
		c := cards[tonic]
		if c.Tries == 0 {
			continue
		}
		if c.Repetitions > 0 {
			held++
		}
		if first == "" || c.Due().Before(cards[first].Due()) {
			first = tonic
		}
	}
	if first == "" {
		return 0, "now"
	}
	return held, first + " " + cards[first].Due().Local().Format(time.DateOnly)
}

func newPhrasesShow() *cobra.Command {
	var p phrases
	var tonic string
	cmd := &cobra.Command{
		Use:     "show NAME",
		Short:   "Show a phrase: numbers, letters in a key, and its record",
		Example: "  larkhand phrases show Rain --key Eb",
		Args:    onePhrase,
		RunE: func(cmd *cobra.Command, args []string) error {
			numbering, err := p.numbers()
			if err != nil {
				return err
			}
			e, err := p.book().Find(args[0])
			if err != nil {
				return err
			}
			return p.show(cmd.OutOrStdout(), e, tonic, numbering)
		},
	}
	p.register(cmd)
	cmd.Flags().StringVar(&tonic, "key", "C", "`tonic` in which its letters are shown, such as Eb")
	return cmd
}

// show prints one phrase.
func (p phrases) show(out io.Writer, e phrasebook.Entry, tonic string, numbering music.Numbering) error {
	key, err := e.Key(tonic)
	if err != nil {
		return wrongValue("key", err)
	}
	typed, err := e.Write(numbering)
	if err != nil {
		return err
	}
	var letters []string
	for _, pitch := range e.In(key, middleOfVoice) {
		letters = append(letters, key.Letter(pitch).Letter)
	}
	fmt.Fprintf(out, "%s, %s\n\nnumbers  %s\nletters  %s\n", shown(e.Name), key, typed, strings.Join(letters, " "))
	if len(e.Tags) > 0 {
		fmt.Fprintf(out, "tags     %s\n", shown(strings.Join(e.Tags, ", ")))
	}
	if e.Chords != "" {
		fmt.Fprintf(out, "chords   %s (written in C)\n", shown(e.Chords))
	}
	fmt.Fprintln(out)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "key\ttries\tdue\twhy")
	for class := range 12 {
		c := e.Cards[p.player][phrase.Tonic(class)]
		due := "now"
		if c.Tries > 0 {
			due = c.Due().Local().Format(time.DateOnly)
		}
		fmt.Fprintf(w, "%s\t%d\t%s\t%s\n", phrase.Tonic(class), c.Tries, due, c.Reason())
	}
	return w.Flush()
}

// middleOfVoice is the MIDI number around which a phrase is laid where nothing tells where the player sings: F4.
const middleOfVoice = 65

func newPhrasesDue() *cobra.Command {
	var p phrases
	cmd := &cobra.Command{
		Use:   "due",
		Short: "List the phrases and keys that are due now, with the reason",
		Long: `List the phrases and keys that are due now, the longest overdue first, each with
the reason for its date. Of a phrase that was never tried, C comes first.

The dates come from a known rule for learning by repetition (SM-2): 1 day, 6 days,
then longer each time that it holds; a day after it failed. For words and facts such
spacing is well shown; for melodies it is a fair guess.`,
		Example: "  larkhand phrases due --player Anna",
		Args:    noArguments,
		RunE:    func(cmd *cobra.Command, _ []string) error { return p.due(cmd.OutOrStdout(), time.Now()) },
	}
	p.register(cmd)
	return cmd
}

// dueKey is a phrase in a key that is due.
type dueKey struct {
	name, tonic string
	card        phrase.Card
}

func (p phrases) due(out io.Writer, now time.Time) error {
	all, broken := p.book().List()
	var due []dueKey
	for _, e := range all {
		cards := e.Cards[p.player]
		tried := false
		for class := range 12 {
			tonic := phrase.Tonic(class)
			if c := cards[tonic]; c.Tries > 0 {
				tried = true
				if !c.Due().After(now) {
					due = append(due, dueKey{e.Name, tonic, c})
				}
			}
		}
		if !tried {
			due = append(due, dueKey{e.Name, phrase.Tonic(0), phrase.Card{}})
		}
	}
	slices.SortStableFunc(due, func(a, b dueKey) int { return a.order().Compare(b.order()) })
	if len(due) == 0 {
		_, err := fmt.Fprintln(out, "Nothing is due.")
		return errors.Join(err, broken)
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "phrase\tkey\tdue\twhy")
	for _, d := range due {
		date := "now"
		if d.card.Tries > 0 {
			date = d.card.Due().Local().Format(time.DateOnly)
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", shown(d.name), d.tonic, date, d.card.Reason())
	}
	return errors.Join(w.Flush(), broken)
}

// order puts what was tried before what never was.
func (d dueKey) order() time.Time {
	if d.card.Tries == 0 {
		return time.Unix(1<<40, 0)
	}
	return d.card.Due()
}

func newPhrasesTour() *cobra.Command {
	var p phrases
	var order, from string
	var seed uint64
	cmd := &cobra.Command{
		Use:     "tour NAME",
		Short:   "Carry a phrase through the twelve keys: its letters in each",
		Example: "  larkhand phrases tour Rain --order weak --player Anna",
		Args:    onePhrase,
		RunE: func(cmd *cobra.Command, args []string) error {
			e, err := p.book().Find(args[0])
			if err != nil {
				return err
			}
			key, err := e.Key(from)
			if err != nil {
				return wrongValue("from", err)
			}
			if !cmd.Flags().Changed("seed") {
				seed = uint64(time.Now().UnixNano())
			}
			tour, err := phrase.Tour(phrase.Order(order), key.PitchClasses()[0], e.Cards[p.player], rand.New(rand.NewPCG(seed, 0)))
			if err != nil {
				return wrongValue("order", err)
			}
			return printTour(cmd.OutOrStdout(), e.Phrase, tour)
		},
	}
	p.register(cmd)
	cmd.Flags().StringVar(&order, "order", string(phrase.Fourths), "`order` of the keys: fourths, semitones, random, or weak (those that failed first)")
	complete(cmd, "order", string(phrase.Fourths), string(phrase.Semitones), string(phrase.Random), string(phrase.Weak))
	cmd.Flags().StringVar(&from, "from", "C", "`tonic` to begin on")
	cmd.Flags().Uint64Var(&seed, "seed", 0, "`number` that the random order depends on; each time another if not given")
	return cmd
}

func printTour(out io.Writer, p phrase.Phrase, tour []string) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, tonic := range tour {
		on, err := p.Key(tonic)
		if err != nil {
			return err
		}
		key, err := p.UsualKey(on.PitchClasses()[0])
		if err != nil {
			return err
		}
		var letters []string
		for _, pitch := range p.In(key, middleOfVoice) {
			letters = append(letters, key.Letter(pitch).Letter)
		}
		fmt.Fprintf(w, "%s\t%s\n", key, strings.Join(letters, " "))
	}
	return w.Flush()
}

func newPhrasesRemove() *cobra.Command {
	var p phrases
	cmd := &cobra.Command{
		Use:     "remove NAME",
		Short:   "Put a phrase away; \"phrases restore\" brings it back",
		Example: "  larkhand phrases remove Rain",
		Args:    onePhrase,
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := p.book().Remove(args[0]); err != nil {
				return err
			}
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "%s is put away; \"larkhand phrases restore %s\" brings it back.\n", shown(args[0]), quoted(args[0]))
			return err
		},
	}
	p.dir.register(cmd)
	return cmd
}

func newPhrasesRestore() *cobra.Command {
	var p phrases
	cmd := &cobra.Command{
		Use:     "restore NAME",
		Short:   "Bring back a phrase that was removed",
		Example: "  larkhand phrases restore Rain",
		Args:    onePhrase,
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := p.book().Restore(args[0]); err != nil {
				return err
			}
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "%s is back.\n", shown(args[0]))
			return err
		},
	}
	p.dir.register(cmd)
	return cmd
}

// quoted puts a name in quotes where a shell needs them.
func quoted(name string) string {
	if strings.ContainsAny(name, " \t'\"$`\\*?!&;()<>|#~") {
		return "'" + strings.ReplaceAll(name, "'", `'\''`) + "'"
	}
	return name
}
