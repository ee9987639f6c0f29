#!/usr/bin/env bash
# Installs packages of the system, for "make install" and "make test". It says what it will install before it does, does nothing
# where nothing is missing, and never asks.
#
#   packages.sh live             what a build with devices needs: a C and a C++ compiler, pkg-config, PortAudio, ALSA on Linux
#   packages.sh compiler         a C compiler alone
#   packages.sh tests NAME...    these Debian packages; on other systems it only says what the tests will skip
set -euo pipefail

lock_seconds=600 # wait that long for another apt or dpkg
log=$(mktemp)
trap 'rm -f "$log"' EXIT

say() { echo "packages: $*"; }
die() { echo "packages: $*" >&2; exit 1; }
have() { command -v "$1" >/dev/null 2>&1; }

# manager: the package manager of this system; "none" where none is known.
manager() {
    local program
    for program in apt-get dnf pacman brew; do
        if have "$program"; then echo "$program"; return; fi
    done
    echo none
}

# live_names MANAGER: the packages for a build with devices.
live_names() {
    case $1 in
    apt-get) echo gcc g++ libc6-dev pkg-config portaudio19-dev libasound2-dev ;;
    dnf) echo gcc gcc-c++ glibc-devel pkgconf-pkg-config portaudio-devel alsa-lib-devel ;;
    pacman) echo gcc glibc pkgconf portaudio alsa-lib ;;
    brew) echo pkgconf portaudio ;;
    esac
}

compiler_names() {
    case $1 in
    apt-get) echo gcc libc6-dev ;;
    dnf) echo gcc glibc-devel ;;
    pacman) echo gcc glibc ;;
    brew) echo gcc ;;
    esac
}

compiles() { # LANGUAGE COMPILER
    have "$2" && "$2" -x "$1" -o /dev/null - 2>/dev/null <<<'int main(void) { return 0; }'
}
has_c() { compiles c "${CC:-cc}" || compiles c gcc || compiles c clang; }
has_cxx() { compiles c++ "${CXX:-c++}" || compiles c++ g++ || compiles c++ clang++; }
has_live() {
    has_c && has_cxx && have pkg-config && pkg-config --exists portaudio-2.0 &&
        { [ "$(uname -s)" != Linux ] || pkg-config --exists alsa; }
}

# lacking MANAGER NAME...: those of the packages that are not installed.
lacking() {
    local with=$1 name
    shift
    for name in "$@"; do
        case $with in
        apt-get) [ "$(dpkg-query -W -f '${db:Status-Status}' "$name" 2>/dev/null)" = installed ] || echo "$name" ;;
        dnf) rpm -q --quiet --whatprovides "$name" || echo "$name" ;;
        pacman) pacman -T "$name" >/dev/null || echo "$name" ;;
        brew) brew list --versions "$name" >/dev/null 2>&1 || echo "$name" ;;
        esac
    done
}

# command_for MANAGER: the command that installs packages.
command_for() {
    case $1 in
    apt-get) echo "env DEBIAN_FRONTEND=noninteractive apt-get -qq -o DPkg::Lock::Timeout=$lock_seconds -o Acquire::Retries=3 install -y --no-install-recommends" ;;
    dnf) echo "dnf install -y -q" ;;
    pacman) echo "pacman -S --noconfirm --needed" ;; # -Sy would upgrade half of the system
    brew) echo "brew install -q" ;;
    esac
}

# refresh renews the list of Debian's packages. apt does not wait for the lock on that list by itself.
refresh() {
    local waited=0
    until $before env DEBIAN_FRONTEND=noninteractive apt-get -qq -o Acquire::Retries=3 update >"$log" 2>&1 </dev/null; do
        grep -qi 'could not get lock\|unable to lock' "$log" || return 1
        [ "$waited" -lt "$lock_seconds" ] || return 1
        sleep 5
        waited=$((waited + 5))
    done
}

# install MANAGER NAME...: installs what is missing of the packages.
install() {
    local with=$1 names command before=""
    shift
    names=$(lacking "$with" "$@" | tr '\n' ' ')
    names=${names% }
    [ -n "$names" ] || return 0
    command=$(command_for "$with")
    if [ "$with" != brew ] && [ "$(id -u)" != 0 ]; then
        have sudo || die "$names must be installed, and this user may not: ask the administrator to run: ${command#env DEBIAN_FRONTEND=noninteractive } $names"
        before=sudo
    fi
    say "installing with $with${before:+ (through sudo)}: $names"
    # shellcheck disable=SC2086 # the names and the command are lists of words
    if ! $before $command $names >"$log" 2>&1 </dev/null; then
        [ "$with" = apt-get ] && refresh && $before $command $names >"$log" 2>&1 </dev/null || {
            tail -n 20 "$log" >&2
            die "could not install $names; run by hand: ${before:+sudo }$command $names"
        }
    fi
}

with=$(manager)
case ${1:-} in
live)
    has_live && exit 0
    [ "$with" != none ] || die "this system has no apt, dnf, pacman or brew; install a C and a C++ compiler, pkg-config, PortAudio 19 and, on Linux, ALSA, with their headers"
    # shellcheck disable=SC2046
    install "$with" $(live_names "$with")
    has_live || die "a C and a C++ compiler, pkg-config, PortAudio 19 or ALSA still cannot be found; on macOS run 'xcode-select --install'"
    ;;
compiler)
    has_c && exit 0
    [ "$with" != none ] || die "this system has no apt, dnf, pacman or brew; install a C compiler"
    # shellcheck disable=SC2046
    install "$with" $(compiler_names "$with")
    ;;
tests)
    shift
    if [ "$with" = apt-get ]; then
        install "$with" "$@"
    else
        say "the programs that some tests compare with are known here by their Debian names only: $*. A test whose program is not installed says so and is skipped."
    fi
    ;;
*)
    sed -n '2,/^set /{/^set /d;s/^# \{0,1\}//;p}' "${BASH_SOURCE[0]}"
    exit 2
    ;;
esac
