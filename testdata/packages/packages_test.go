// Package packages tests the script beside it on pretended systems: a folder of stand-ins is the whole PATH.
package packages

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// tools are the real programs that the script may use; every other one is a stand-in or missing.
var tools = []string{"bash", "cat", "chmod", "env", "grep", "mktemp", "rm", "sed", "tail", "tr"}

// system is a pretended system.
type system struct {
	folder string // its PATH
	t      *testing.T
}

// newSystem makes a Linux with these stand-ins, each a body of bash in which $here is that folder.
func newSystem(t *testing.T, standIns map[string]string) system {
	t.Helper()
	s := system{folder: t.TempDir(), t: t}
	for _, tool := range tools {
		path, err := exec.LookPath(tool)
		if err != nil {
			t.Skipf("skipped: no %s", tool)
		}
		if err := os.Symlink(path, filepath.Join(s.folder, tool)); err != nil {
			t.Fatal(err)
		}
	}
	s.add("uname", "echo Linux")
	s.add("sleep", "exit 0")
	for name, body := range standIns {
		s.add(name, body)
	}
	return s
}

// add puts a stand-in on the PATH, which notes in the file "called" how it was called.
func (s system) add(name, body string) {
	s.t.Helper()
	text := "#!/usr/bin/env bash\nhere=" + s.folder + "\necho \"" + name + " $*\" >>$here/called\n" + body + "\n"
	if err := os.WriteFile(filepath.Join(s.folder, name), []byte(text), 0o755); err != nil {
		s.t.Fatal(err)
	}
}

// run runs the script and returns what it printed, how the programs named in watch were called, and whether it did it.
func (s system) run(watch []string, arguments ...string) (printed string, called []string, done bool) {
	s.t.Helper()
	script, err := filepath.Abs("packages.sh")
	if err != nil {
		s.t.Fatal(err)
	}
	cmd := exec.Command(filepath.Join(s.folder, "bash"), append([]string{script}, arguments...)...)
	cmd.Env = []string{"PATH=" + s.folder, "TMPDIR=" + s.t.TempDir()}
	out, err := cmd.CombinedOutput()
	notes, _ := os.ReadFile(filepath.Join(s.folder, "called")) // not there if no stand-in was called
	for line := range strings.Lines(string(notes)) {
		for _, name := range watch {
			if strings.HasPrefix(line, name+" ") {
				called = append(called, strings.TrimSpace(line))
			}
		}
	}
	return string(out), called, err == nil
}

// The stand-ins.
const (
	root    = "echo 0"
	user    = "echo 1000"
	nothing = "exit 1"
	// installs puts what a build with devices needs on the PATH.
	installs = `for name in gcc g++ pkg-config; do printf '#!/usr/bin/env bash\nexit 0\n' >$here/$name; chmod +x $here/$name; done`
	passOn   = `exec "$@"`
)

const aptInstall = "apt-get -qq -o DPkg::Lock::Timeout=600 -o Acquire::Retries=3 install -y --no-install-recommends "
const aptNames = "gcc g++ libc6-dev pkg-config portaudio19-dev libasound2-dev"

func TestLive(t *testing.T) {
	managers := []string{"apt-get", "dnf", "pacman", "brew", "sudo"}
	for name, c := range map[string]struct {
		standIns map[string]string
		says     []string // each in what is printed
		calls    []string // of the managers and sudo
		done     bool
	}{
		"all is there": {
			standIns: map[string]string{"gcc": "exit 0", "g++": "exit 0", "pkg-config": "exit 0", "apt-get": nothing},
			done:     true,
		},
		"apt, as root": {
			standIns: map[string]string{"id": root, "apt-get": `[ "$DEBIAN_FRONTEND" = noninteractive ] || exit 9; ` + installs, "dpkg-query": nothing},
			says:     []string{"installing with apt-get: " + aptNames + "\n"},
			calls:    []string{aptInstall + aptNames},
			done:     true,
		},
		"apt, some are there": {
			standIns: map[string]string{"id": root, "apt-get": installs, "dpkg-query": `[ "${!#}" != libasound2-dev ] && [ "${!#}" != g++ ] && echo installed`},
			says:     []string{"installing with apt-get: g++ libasound2-dev\n"},
			calls:    []string{aptInstall + "g++ libasound2-dev"},
			done:     true,
		},
		"apt, through sudo": {
			standIns: map[string]string{"id": user, "sudo": passOn, "apt-get": installs, "dpkg-query": nothing},
			says:     []string{"installing with apt-get (through sudo): " + aptNames + "\n"},
			calls:    []string{"sudo env DEBIAN_FRONTEND=noninteractive " + aptInstall + aptNames, aptInstall + aptNames},
			done:     true,
		},
		"apt, neither root nor sudo": {
			standIns: map[string]string{"id": user, "apt-get": installs, "dpkg-query": nothing},
			says:     []string{"ask the administrator to run: " + aptInstall + aptNames + "\n"},
		},
		"apt with an old list of packages": {
			standIns: map[string]string{"id": root, "dpkg-query": nothing,
				"apt-get": `case "$*" in *update*) >$here/fresh ;; *) [ -e $here/fresh ] || exit 100; ` + installs + ` ;; esac`},
			says:  []string{"installing with apt-get: " + aptNames},
			calls: []string{aptInstall + aptNames, "apt-get -qq -o Acquire::Retries=3 update", aptInstall + aptNames},
			done:  true,
		},
		"apt, held by another for a while": {
			standIns: map[string]string{"id": root, "dpkg-query": nothing,
				"apt-get": `case "$*" in
				*update*) if [ -e $here/waited ]; then >$here/fresh; else >$here/waited; echo "E: Could not get lock /var/lib/apt/lists/lock" >&2; exit 100; fi ;;
				*) [ -e $here/fresh ] || exit 100; ` + installs + ` ;; esac`},
			calls: []string{aptInstall + aptNames, "apt-get -qq -o Acquire::Retries=3 update", "apt-get -qq -o Acquire::Retries=3 update", aptInstall + aptNames},
			done:  true,
		},
		"apt without a network": {
			standIns: map[string]string{"id": root, "dpkg-query": nothing, "apt-get": `echo "E: Could not resolve the mirror" >&2; exit 100`},
			says:     []string{"E: Could not resolve the mirror", "could not install " + aptNames + "; run by hand: "},
			calls:    []string{aptInstall + aptNames, "apt-get -qq -o Acquire::Retries=3 update"},
		},
		"dnf": {
			standIns: map[string]string{"id": root, "dnf": installs, "rpm": nothing},
			says:     []string{"installing with dnf: gcc gcc-c++ glibc-devel pkgconf-pkg-config portaudio-devel alsa-lib-devel\n"},
			calls:    []string{"dnf install -y -q gcc gcc-c++ glibc-devel pkgconf-pkg-config portaudio-devel alsa-lib-devel"},
			done:     true,
		},
		"pacman": {
			standIns: map[string]string{"id": root, "pacman": `case $1 in -T) exit 127 ;; *) ` + installs + ` ;; esac`},
			says:     []string{"installing with pacman: gcc glibc pkgconf portaudio alsa-lib\n"},
			calls: []string{"pacman -T gcc", "pacman -T glibc", "pacman -T pkgconf", "pacman -T portaudio", "pacman -T alsa-lib",
				"pacman -S --noconfirm --needed gcc glibc pkgconf portaudio alsa-lib"},
			done: true,
		},
		"brew never takes sudo": {
			standIns: map[string]string{"id": user, "sudo": passOn, "uname": "echo Darwin", "brew": `case $1 in list) exit 1 ;; *) ` + installs + ` ;; esac`},
			says:     []string{"installing with brew: pkgconf portaudio\n"},
			calls:    []string{"brew list --versions pkgconf", "brew list --versions portaudio", "brew install -q pkgconf portaudio"},
			done:     true,
		},
		"installed, yet not to be found": {
			standIns: map[string]string{"id": root, "apt-get": "exit 0", "dpkg-query": nothing},
			says:     []string{"still cannot be found"},
			calls:    []string{aptInstall + aptNames},
		},
		"an unknown system": {
			standIns: map[string]string{"id": root},
			says:     []string{"no apt, dnf, pacman or brew; install a C and a C++ compiler, pkg-config, PortAudio 19 and, on Linux, ALSA"},
		},
	} {
		t.Run(name, func(t *testing.T) {
			printed, called, done := newSystem(t, c.standIns).run(managers, "live")
			if done != c.done {
				t.Errorf("done: %v, want %v", done, c.done)
			}
			for _, want := range c.says {
				if !strings.Contains(printed, want) {
					t.Errorf("printed %q, want %q in it", printed, want)
				}
			}
			if len(c.calls) == 0 && c.done && printed != "" {
				t.Errorf("nothing was called, yet it printed %q", printed)
			}
			if got, want := strings.Join(called, "\n"), strings.Join(c.calls, "\n"); got != want {
				t.Errorf("called\n%s\nwant\n%s", got, want)
			}
		})
	}
}

func TestTests(t *testing.T) {
	debian := newSystem(t, map[string]string{"id": root, "apt-get": "exit 0", "dpkg-query": `[ "${!#}" = flac ] && echo installed`})
	printed, called, done := debian.run([]string{"apt-get"}, "tests", "sox", "flac")
	if !done || printed != "packages: installing with apt-get: sox\n" || len(called) != 1 {
		t.Errorf("printed %q, called %q, done %v", printed, called, done)
	}
	fedora := newSystem(t, map[string]string{"id": root, "dnf": "exit 1"})
	printed, called, done = fedora.run([]string{"dnf"}, "tests", "sox", "flac")
	if !done || !strings.Contains(printed, "sox flac") || !strings.Contains(printed, "skipped") || len(called) > 0 {
		t.Errorf("printed %q, called %q, done %v", printed, called, done)
	}
}

func TestWrongUse(t *testing.T) {
	for _, arguments := range [][]string{nil, {"lunch"}} {
		printed, _, done := newSystem(t, nil).run(nil, arguments...)
		if done || !strings.Contains(printed, "packages.sh live") {
			t.Errorf("%q: printed %q, done %v", arguments, printed, done)
		}
	}
}
