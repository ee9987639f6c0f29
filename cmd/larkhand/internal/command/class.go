package command

import (
	"bufio"
	"cmp"
	"context"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/text/unicode/norm"

	"larkhand/internal/bundle"
	"larkhand/internal/class"
	"larkhand/internal/round"
)

// classFlags is the flags of the command.
type classFlags struct {
	out, labelFile   string
	labels           []string
	csv, json, plain bool
}

func newClass() *cobra.Command {
	var f classFlags
	cmd := &cobra.Command{
		Use:   "class BUNDLE|FOLDER...",
		Short: "Make a teacher's table of the rounds of several players",
		Long: `Make a teacher's table of the rounds of several players, from bundles that they wrote
with "larkhand export", or from a folder that holds such bundles: who guesses, with
which habit, who takes how long, whose second take does not settle, which link
between voice and fingers fails where steps were written down, and which rounds
to listen to first. All rounds are judged again by this version, so that all
are judged alike. Below 30 answers nothing is claimed of a player.

Players are called as in the bundles (one without a name as its bundle), or as you
say: --label OLD=NEW, where OLD is a player's name or BUNDLE/NAME where two players
have one name. A file for --labels has such a line for each. Two players who get one
name are counted as one. Nothing leaves the machine.`,
		Example: `  larkhand class anna.zip ben.zip
  larkhand class handed-in --out class.html
  larkhand class handed-in --label "me=Anna" --label "ben/me=Ben" --csv > class.csv`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return wrongUse("%s takes one or more bundles or a folder of bundles; see '%s --help'", cmd.CommandPath(), cmd.CommandPath())
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd, args) },
	}
	fl := cmd.Flags()
	fl.StringVar(&f.out, "out", "", "also write the table as a page to this HTML `file`")
	fl.StringArrayVar(&f.labels, "label", nil, "call a player otherwise: `OLD=NEW`; may be given several times")
	fl.StringVar(&f.labelFile, "labels", "", "`file` with a line OLD=NEW for each player")
	fl.BoolVar(&f.csv, "csv", false, "print the table as comma-separated values")
	fl.BoolVar(&f.json, "json", false, "print JSON (schema larkhand.class/1)")
	fl.BoolVar(&f.plain, "plain", false, "print without colour, as to a file")
	exclusive(cmd, "csv", "json")
	return cmd
}

func (f *classFlags) run(cmd *cobra.Command, args []string) error {
	labels, err := f.readLabels()
	if err != nil {
		return err
	}
	paths, err := bundlesIn(args)
	if err != nil {
		return err
	}
	open, rounds, err := openBundles(paths)
	defer closeBundles(open)
	if err != nil {
		return err
	}
	rounds = onlyOnce(rounds)
	if rounds, err = heardRight(cmd, rounds); err != nil {
		return err
	}
	if err := labels.check(rounds); err != nil {
		return err
	}
	players, failed, err := judgeClass(cmd, rounds, labels)
	if err != nil {
		return err
	}
	if len(players) == 0 {
		return fmt.Errorf("none of %s could be judged; the reasons, if any, stand above", counted(len(rounds), "round"))
	}
	table := class.Of(players)
	if f.out != "" {
		write := func(w io.Writer) error { return table.HTML(w, programVersion()) }
		if err := writeFile(f.out, paths, write); err != nil {
			return err
		}
	}
	if err := f.print(cmd, table); err != nil {
		return err
	}
	if failed > 0 {
		return fmt.Errorf("%d of %s could not be judged and are not in the table; the reasons stand above", failed, counted(len(rounds), "round"))
	}
	return nil
}

func (f *classFlags) print(cmd *cobra.Command, table class.Table) error {
	out := cmd.OutOrStdout()
	switch {
	case f.json:
		return table.JSON(out)
	case f.csv:
		return table.CSV(out)
	}
	if err := table.Text(out, !f.plain && inColour(out)); err != nil || f.out == "" {
		return err
	}
	_, err := fmt.Fprintln(out, "\nThe page is in "+f.out+".")
	return err
}

// bundlesIn are the bundles that the arguments name: a folder that is no bundle itself stands for the bundles in it.
func bundlesIn(args []string) ([]string, error) {
	var paths []string
	for _, arg := range args {
		entries, err := os.ReadDir(arg)
		if err != nil || isBundle(arg) {
			paths = append(paths, arg) // a file, or what Open has a sentence for
			continue
		}
		found := false
		for _, entry := range entries {
			path := filepath.Join(arg, entry.Name())
			if entry.Type().IsRegular() && strings.EqualFold(filepath.Ext(path), ".zip") || entry.IsDir() && isBundle(path) {
				paths, found = append(paths, path), true
			}
		}
		if !found {
			return nil, fmt.Errorf("%s holds no bundles; \"larkhand export --out %s\" writes one", arg, filepath.Join(arg, "anna.zip"))
		}
	}
	return paths, nil
}

func isBundle(dir string) bool {
	info, err := os.Lstat(filepath.Join(dir, bundle.ManifestName))
	return err == nil && info.Mode().IsRegular()
}

// onlyOnce leaves out rounds that stand in an earlier bundle too.
func onlyOnce(rounds []bundled) []bundled {
	seen := map[string]bool{}
	return slices.DeleteFunc(rounds, func(b bundled) bool {
		id := b.Identity()
		twice := seen[id]
		seen[id] = true
		return twice
	})
}

// heardRight leaves out the rounds that their players marked as misheard: they count nowhere.
func heardRight(cmd *cobra.Command, rounds []bundled) ([]bundled, error) {
	all := len(rounds)
	rounds = slices.DeleteFunc(rounds, func(b bundled) bool { return b.Misheard })
	n := all - len(rounds)
	if n == 0 {
		return rounds, nil
	}
	if len(rounds) == 0 {
		return nil, fmt.Errorf("the bundles hold %s, all marked as misheard, and such rounds count nowhere", counted(all, "round"))
	}
	_, err := fmt.Fprintln(cmd.ErrOrStderr(), sentence(withVerb(n, "round", "is", "are"))+" left out: marked as misheard.")
	return rounds, err
}

// labelMap is how the teacher calls players, by NAME and by BUNDLE/NAME.
type labelMap map[string]string

func (f *classFlags) readLabels() (labelMap, error) {
	m := labelMap{}
	for _, text := range f.labels {
		if !m.add(text) {
			return nil, wrongUse("--label %q names no player; write it as in --label \"me=Anna\"", text)
		}
	}
	if f.labelFile == "" {
		return m, nil
	}
	file, err := os.Open(f.labelFile)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", f.labelFile, plainCause(err))
	}
	defer file.Close()
	lines := bufio.NewScanner(file)
	for n := 1; lines.Scan(); n++ {
		text := strings.TrimSpace(strings.TrimPrefix(lines.Text(), "\ufeff")) // some editors put a mark at the beginning of a file
		if text == "" || text[0] == '#' {
			continue
		}
		if !m.add(text) {
			return nil, fmt.Errorf("line %d of %s is no label; write it as in \"me=Anna\"", n, f.labelFile)
		}
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", f.labelFile, plainCause(err))
	}
	return m, nil
}

func (m labelMap) add(text string) bool {
	old, label, ok := strings.Cut(text, "=")
	old, label = composed(old), composed(label)
	if !ok || old == "" || label == "" {
		return false
	}
	m[old] = label
	return true
}

// composed is a name as the journal keeps names.
func composed(name string) string { return norm.NFC.String(strings.TrimSpace(name)) }

// of is the label of a player of a bundle.
func (m labelMap) of(b bundled, name string) string {
	name = composed(name)
	in := composed(bundleName(b.from))
	if name == "" {
		return cmp.Or(m[in], in)
	}
	return cmp.Or(m[in+"/"+name], m[name], name)
}

// check refuses labels for players that there are not.
func (m labelMap) check(rounds []bundled) error {
	there, shown := map[string]bool{}, map[string]bool{}
	for _, b := range rounds {
		in := composed(bundleName(b.from))
		for _, name := range []string{b.Sang, cmp.Or(b.Played, b.Sang)} {
			name = composed(name)
			there[name], there[in+"/"+name] = true, true
			if name == "" {
				there[in], shown[in] = true, true
			} else {
				shown[name] = true
			}
		}
	}
	for old := range m {
		if !there[old] {
			return fmt.Errorf("there is no player %q to be called %q; there are %s", old, m[old], strings.Join(slices.Sorted(maps.Keys(shown)), ", "))
		}
	}
	return nil
}

// judgedBundled is a round of a bundle that was judged.
type judgedBundled struct {
	bundled
	round round.Round
	err   error
}

// judgeClass judges all rounds on all cores and sorts them by players. Those that cannot be judged are told.
func judgeClass(cmd *cobra.Command, rounds []bundled, labels labelMap) (players []class.Player, failed int, err error) {
	bar := newBar(cmd.ErrOrStderr(), max(len(rounds), 1))
	defer bar.clear()
	byLabel := map[string][]class.Round{}
	add := func(label string, j judgedBundled, sang, played bool) {
		byLabel[label] = append(byLabel[label], class.RoundOf(bundleName(j.from), j.UID, j.At, j.round, sang, played))
	}
	done := 0
	for j := range inOrder(cmd.Context(), rounds, judgeBundled) {
		done++
		if j.err != nil {
			if cmd.Context().Err() == nil {
				failed++
				bar.clear()
				fmt.Fprintln(cmd.ErrOrStderr(), oneLine(j.err))
			}
		} else if sang, played := labels.of(j.bundled, j.Sang), labels.of(j.bundled, cmp.Or(j.Played, j.Sang)); sang == played {
			add(sang, j, true, true)
		} else {
			add(sang, j, true, false)
			add(played, j, false, true)
		}
		bar.show(done)
	}
	for _, label := range slices.Sorted(maps.Keys(byLabel)) {
		players = append(players, class.Player{Label: label, Rounds: byLabel[label]})
	}
	return players, failed, cmd.Context().Err()
}

// judgeBundled reads a round and judges it by this version.
func judgeBundled(ctx context.Context, b bundled) judgedBundled {
	if !b.Whole() {
		return judgedBundled{bundled: b, err: fmt.Errorf("%s was exported without its takes and its answer, so that it cannot be judged", b.named())}
	}
	c, err := b.from.Round(b.Round)
	if err != nil {
		return judgedBundled{bundled: b, err: err}
	}
	r, err := b.judge(ctx, c)
	for i := range r.Takes {
		r.Takes[i].Voice.Frames = nil // much memory, and the table needs none of it
	}
	return judgedBundled{bundled: b, round: r, err: err}
}
