#!/usr/bin/env bash
# A virtual sound card and MIDI keyboard for tests on a machine without any: a JACK server with its dummy driver, all in
# user space.
#
#   virtual-devices.sh missing       print what this machine lacks for it; exit 1 if anything
#   virtual-devices.sh start         start the server; does nothing if it runs
#   virtual-devices.sh stop          stop it and everything plugged into it, and remove its files
#   virtual-devices.sh status        print "running" or "stopped"; exit 1 if stopped
#   virtual-devices.sh env           print the environment for the program under test, one NAME=VALUE a line
#   virtual-devices.sh build-env     print the environment for "go build": MIDI over JACK instead of ALSA
#   virtual-devices.sh plug NAME     plug in a MIDI keyboard called NAME, with an input and an output
#   virtual-devices.sh unplug NAME   unplug it
#   virtual-devices.sh stage SUNG NOTES HEARD SECONDS
#                                    sing, play and listen to the program under test, and wait until that is over; see stage.c
#
# VDEV_DIR picks the private folder (two folders give two independent machines), VDEV_PERIOD the period of the sound card in
# frames. Nothing is installed here; see packages.sh in the folder beside.
set -euo pipefail

here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
dir=${VDEV_DIR:-${TMPDIR:-/tmp}/virtual-devices-$(id -u)}
period=${VDEV_PERIOD:-128} # 2.7 ms: no note was lost with it on a real-time server (measured)
rate=48000
server=vdev$(printf %s "$dir" | cksum | cut -d' ' -f1)

die() { echo "virtual-devices: $*" >&2; exit 1; }

missing() {
    local program lacking=()
    for program in jackd cc pkg-config; do
        command -v "$program" >/dev/null || lacking+=("$program")
    done
    if ! pkg-config --exists jack 2>/dev/null; then lacking+=("the headers of JACK"); fi
    [ ${#lacking[@]} = 0 ] && return
    printf '%s\n' "${lacking[@]}"
    return 1
}

# alive FILE: whether the process noted in FILE runs.
alive() { [ -s "$dir/$1" ] && kill -0 "$(cat "$dir/$1")" 2>/dev/null; }

# end FILE: end the process noted in FILE, and wait until it has gone.
end() {
    local process
    if alive "$1"; then
        process=$(cat "$dir/$1")
        kill "$process" 2>/dev/null || true
        for _ in $(seq 30); do kill -0 "$process" 2>/dev/null || break; sleep 0.1; done
        kill -KILL "$process" 2>/dev/null || true
    fi
    rm -f "$dir/$1"
}

# back FILE COMMAND...: start COMMAND in the background, its process noted in FILE.pid and its output in FILE.log.
back() {
    local file=$1
    shift
    setsid "$@" >"$dir/$file.log" 2>&1 </dev/null &
    echo $! >"$dir/$file.pid"
}

# within SECONDS COMMAND...: try COMMAND ten times a second until it works.
within() {
    local tries=$((10 * $1))
    shift
    for _ in $(seq "$tries"); do "$@" && return; sleep 0.1; done
    return 1
}

environment() {
    echo "XDG_RUNTIME_DIR=$dir"
    echo "JACK_NO_START_SERVER=1"
    echo "JACK_DEFAULT_SERVER=$server"
    echo "ALSA_CONFIG_PATH=$dir/asound.conf"
}

start() {
    local lacking
    lacking=$(missing) || die "this machine lacks" $lacking
    alive jackd.pid && return
    mkdir -p "$dir"
    chmod 700 "$dir"
    cc -O2 -Wall -Werror -o "$dir/keyboard" "$here/keyboard.c" -ljack
    # A private ALSA configuration, so that the real devices of this machine stay out of the tests. It must define
    # "default", or PortAudio aborts; its card does not exist.
    echo "pcm.default { type hw card 99 }" >"$dir/asound.conf"
    # Real time where it is allowed (-R): without it the dummy driver slips, and MIDI messages get lost.
    # -S: each period waits for its clients, so a slow one delays rather than loses sound.
    local scheduling=-R
    chrt -f 10 true 2>/dev/null || scheduling=-r
    back jackd jackd -n "$server" $scheduling -S --no-mlock -d dummy -r $rate -p "$period" -C 2 -P 2
    JACK_DEFAULT_SERVER=$server within 10 "$dir/keyboard" --ask 2>/dev/null || die "jackd did not start; see $dir/jackd.log"
}

plug() {
    local name=${1:-}
    [[ $name =~ ^[A-Za-z0-9-]+$ ]] || die "plug takes a name of letters, digits and hyphens"
    alive jackd.pid || die "not started"
    JACK_DEFAULT_SERVER=$server back "keyboard-$name" "$dir/keyboard" "$name"
    within 5 grep -q ready "$dir/keyboard-$name.log" || die "the keyboard did not start; see $dir/keyboard-$name.log"
}

unplug() { end "keyboard-${1:-}.pid"; }

stage() {
    alive jackd.pid || die "not started"
    cc -O2 -Wall -Werror -o "$dir/stage" "$here/stage.c" -ljack
    JACK_DEFAULT_SERVER=$server exec "$dir/stage" "$@"
}

stop() {
    local file
    for file in "$dir"/keyboard-*.pid "$dir"/jackd.pid; do
        [ -e "$file" ] && end "$(basename "$file")"
    done
    rm -f /dev/shm/jack_sem.*_"$server"_* /dev/shm/jack_"$server"_*
    rm -rf "$dir"
}

case ${1:-help} in
missing) missing ;;
start) start ;;
stop) stop ;;
status) if alive jackd.pid; then echo running; else echo stopped; exit 1; fi ;;
env) environment ;;
build-env)
    echo "CGO_ENABLED=1"
    echo "CGO_CXXFLAGS=-O2 -w -include $here/rtmidi-jack.h"
    echo "CGO_LDFLAGS=-O2 -ljack"
    ;;
plug) plug "${2:-}" ;;
unplug) unplug "${2:-}" ;;
stage) stage "${@:2}" ;;
*) sed -n '2,/^set /{/^set /d;s/^# \{0,1\}//;p}' "${BASH_SOURCE[0]}" ;;
esac
