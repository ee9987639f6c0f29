package command

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"larkhand/internal/journal"
	"larkhand/internal/phrasebook"
)

const journalFlag = "journal"

// phraseFolder is the folder of the kept phrases below the journal's.
const phraseFolder = "phrases"

// journalDir is the flag that names the journal's folder.
type journalDir struct{ dir string }

func (d *journalDir) register(cmd *cobra.Command) {
	cmd.Flags().StringVar(&d.dir, journalFlag, "", "`folder` of the journal, such as a backup; \"larkhand journal where\" tells the usual one")
}

// path is the folder: as named, or the usual one.
func (d journalDir) path() string {
	if d.dir == "" {
		return journal.DefaultDir()
	}
	return d.dir
}

// book is the folder of the kept phrases below the journal's.
func (d journalDir) book() phrasebook.Book {
	return phrasebook.Open(filepath.Join(d.path(), phraseFolder))
}

// open opens a journal that is there already: to be changed, or, where the folder may not be written, to be read.
func (d journalDir) open() (*journal.Journal, error) {
	if _, err := os.Stat(journal.Where(d.path()).Database); errors.Is(err, fs.ErrNotExist) {
		return journal.OpenToRead(d.path()) // says in one sentence that there is none; Open would make one
	}
	j, err := journal.Open(d.path())
	if errors.Is(err, journal.ErrReadOnly) {
		return journal.OpenToRead(d.path())
	}
	return j, err
}

// with opens the journal, does something with it, and closes it.
func (d journalDir) with(do func(*journal.Journal) error) error {
	j, err := d.open()
	if err != nil {
		return err
	}
	defer j.Close()
	return do(j)
}

// withRounds is with, which does nothing where phrases are kept and no round is yet.
func (d journalDir) withRounds(do func(*journal.Journal) error) error {
	at := journal.Where(d.path())
	_, database := os.Stat(at.Database)
	_, rounds := os.Stat(at.Rounds) // with rounds, a database that is not there was lost
	phrases, wrong := d.book().Check()
	if errors.Is(database, fs.ErrNotExist) && errors.Is(rounds, fs.ErrNotExist) && phrases+len(wrong) > 0 {
		return nil
	}
	return d.with(do)
}

func newJournal() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "journal",
		Short: "Look after the journal: check, backup, repair, where",
		Long: `Look after the journal, in which "larkhand check --save" keeps rounds: a database,
and the takes and answers as FLAC and MIDI files beside it. The phrases that
"larkhand phrases" keeps lie there too.`,
		Example: "  larkhand journal where\n  larkhand journal check\n  larkhand journal backup /media/stick/larkhand",
		Args:    noArguments,
		RunE:    func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newJournalCheck(), newJournalBackup(), newJournalRepair(), newJournalWhere())
	return cmd
}

func newJournalCheck() *cobra.Command {
	var dir journalDir
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Read the whole journal and say what is wrong with it",
		Long: `Read the whole journal: whether the database is sound, and whether every take and
answer is there and as it was saved, and every kept phrase. Nothing is changed. The
exit code is 1 where something is wrong.`,
		Example: "  larkhand journal check",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var health journal.Health
			err := dir.withRounds(func(j *journal.Journal) (err error) {
				health, err = j.Check(cmd.Context())
				return err
			})
			if err != nil {
				return err
			}
			return tellHealth(cmd.OutOrStdout(), health, dir)
		},
	}
	dir.register(cmd)
	return cmd
}

func tellHealth(w io.Writer, h journal.Health, dir journalDir) error {
	for _, p := range h.Problems {
		about := ""
		if p.Round != 0 {
			about = fmt.Sprintf("round %d: ", p.Round)
		}
		if _, err := fmt.Fprintf(w, "%s%s\n", about, p.Text); err != nil {
			return err
		}
	}
	phrases, wrong := dir.book().Check()
	if err := tellEach(w, wrong); err != nil {
		return err
	}
	if n := len(h.Problems) + len(wrong); n > 0 {
		return fmt.Errorf("%s in the journal in %s", counted(n, "problem"), dir.path())
	}
	_, err := fmt.Fprintf(w, "The journal in %s is sound: %s, %s%s.\n", dir.path(), counted(h.Rounds, "round"), counted(h.Files, "file"), andPhrases(phrases))
	return err
}

// andPhrases ends a list; "" where no phrases are kept.
func andPhrases(n int) string {
	if n == 0 {
		return ""
	}
	return ", " + counted(n, "phrase")
}

func newJournalBackup() *cobra.Command {
	var dir journalDir
	cmd := &cobra.Command{
		Use:   "backup FOLDER",
		Short: "Copy the journal into a folder",
		Long: `Copy the journal into a folder, as it stands at this moment, also while another
larkhand writes to it. Into the folder of an earlier backup only the new files are
copied. The copy is a journal of its own: "--journal FOLDER" opens it. Kept phrases
are copied with it.`,
		Example: "  larkhand journal backup /media/stick/larkhand\n  larkhand history --journal /media/stick/larkhand",
		Args:    between(1, 1, "one folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			var b journal.BackedUp
			err := dir.withRounds(func(j *journal.Journal) (err error) {
				b, err = j.Backup(cmd.Context(), args[0])
				return err
			})
			if err != nil {
				return err
			}
			to := journalDir{dir: args[0]}
			copied, err := dir.book().Backup(to.book())
			if err != nil {
				return err
			}
			b.Files += copied
			phrases, _ := to.book().Check() // what cannot be read here, "journal check" tells
			return tellBackup(cmd.OutOrStdout(), b, phrases, args[0])
		},
	}
	dir.register(cmd)
	return cmd
}

func tellBackup(w io.Writer, b journal.BackedUp, phrases int, folder string) error {
	if err := tellEach(w, b.Remarks); err != nil {
		return err
	}
	if n := len(b.Remarks); n > 0 {
		return fmt.Errorf("the backup in %s lacks %s; all else is there", folder, counted(n, "file"))
	}
	there := are(b.Rounds, "round")
	if phrases > 0 {
		there = fmt.Sprintf("%s and %s are", counted(b.Rounds, "round"), counted(phrases, "phrase"))
	}
	_, err := fmt.Fprintf(w, "%s in the backup in %s; %s copied now.\n", sentence(there), folder, were(b.Files, "file"))
	return err
}

func newJournalRepair() *cobra.Command {
	var dir journalDir
	cmd := &cobra.Command{
		Use:   "repair",
		Short: "Mend a damaged journal",
		Long: `Mend the journal. A damaged database is made anew from all that can be read of it
and from the folders of the rounds; the damaged one is kept beside it. Nothing is
thrown away. No other larkhand may have the journal open.`,
		Example: "  larkhand journal repair",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			r, err := journal.Repair(cmd.Context(), dir.path())
			if err != nil {
				return err
			}
			return tellRepaired(cmd.OutOrStdout(), r)
		},
	}
	dir.register(cmd)
	return cmd
}

func tellRepaired(w io.Writer, r journal.Repaired) error {
	var lines []string
	add := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	if r.Damaged {
		add("The database was damaged and has been made anew; the damaged one is kept as %s.", r.Old)
		add("%s read from it.", sentence(were(r.Kept, "round")))
	}
	if r.FromFiles > 0 {
		add("%s taken up from the folders.", sentence(were(r.FromFiles, "round")))
	}
	if r.InPart > 0 {
		add("%s only in part; \"larkhand history --rejudge NUMBER\" judges such a round again from its files.", sentence(were(r.InPart, "round")))
	}
	if r.Lost > 0 {
		add("%s lost; a backup may have what is missing.", sentence(were(r.Lost, "round")))
	}
	if r.Digests > 0 {
		add("%s made known to progress again.", sentence(were(r.Digests, "round")))
	}
	lines = append(lines, r.Remarks...)
	if len(lines) == 0 {
		add("Nothing had to be mended.")
	}
	return tellEach(w, lines)
}

// sentence begins with a capital letter.
func sentence(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

// tellEach writes sentences, one a line.
func tellEach(w io.Writer, sentences []string) error {
	for _, text := range sentences {
		if _, err := fmt.Fprintln(w, text); err != nil {
			return err
		}
	}
	return nil
}

func newJournalWhere() *cobra.Command {
	var dir journalDir
	cmd := &cobra.Command{
		Use:     "where",
		Short:   "Tell where the journal lies",
		Example: "  larkhand journal where",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			at := journal.Where(dir.path())
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "journal    %s\ndatabase   %s\nrounds     %s\nrecording  %s\nphrases    %s\n",
				at.Dir, at.Database, at.Rounds, at.Recording, dir.book().Dir())
			return err
		},
	}
	dir.register(cmd)
	return cmd
}

// were is "1 round was", "3 rounds were"; are is the same for now.
func were(n int, noun string) string { return withVerb(n, noun, "was", "were") }
func are(n int, noun string) string  { return withVerb(n, noun, "is", "are") }

func withVerb(n int, noun, one, more string) string {
	if n == 1 {
		return counted(n, noun) + " " + one
	}
	return counted(n, noun) + " " + more
}
