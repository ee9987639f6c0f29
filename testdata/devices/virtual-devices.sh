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
#   virtual-devices.sh room FRAMES GAIN
#                                    lay the speaker's sound before the microphone, FRAMES late; see room.c
#   virtual-devices.sh no-room       end that, and print "xruns N"
#   virtual-devices.sh stage SUNG NOTES HEARD SECONDS [LEAK]
#                                    sing, play and listen to the program under test, and wait until that is over; see stage.c
#
# VDEV_DIR picks the private folder (two folders give two independent machines), VDEV_PERIOD the period of the sound card in
# frames. Nothing is installed here; see packages.sh in the folder beside.
set -euo pipefail

here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
dir=${VDEV_DIR:-${TMPDIR:-/tmp}/virtual-devices-$(id -u)}
period=${VDEV_PERIOD:-128} # 2.7 ms: no note was lost with it on a real-time server (measured)
rate=48000
turn=/tmp/virtual-devices-$(id -u).turn
names=/tmp/virtual-devices-$(id -u).names

die() { echo "virtual-devices: $*" >&2; exit 1; }

missing() {
    local program lacking=()
    for program in jackd cc pkg-config flock pgrep; do
        command -v "$program" >/dev/null || lacking+=("$program")
    done
    if ! pkg-config --exists jack 2>/dev/null; then lacking+=("the headers of JACK"); fi
    [ ${#lacking[@]} = 0 ] && return
    printf '%s\n' "${lacking[@]}"
    return 1
}

# alive FILE: whether the process noted in FILE runs. One that has ended and was not waited for (Z) does not.
alive() { [ -s "$dir/$1" ] && ps -o stat= -p "$(cat "$dir/$1")" | grep -q '^[^Z]'; }

# gone FILE: wait until the process noted in FILE is no more in the table of processes: until then its name counts as taken.
gone() {
    [ -s "$dir/$1" ] || return 0
    for _ in $(seq 100); do kill -0 "$(cat "$dir/$1")" 2>/dev/null || return 0; sleep 0.1; done
    return 1
}

# end FILE: end the process noted in FILE, and wait until it has gone.
end() {
    local process
    if alive "$1"; then
        process=$(cat "$dir/$1")
        kill "$process" 2>/dev/null || true
        for _ in $(seq 50); do kill -0 "$process" 2>/dev/null || break; sleep 0.1; done
        kill -KILL "$process" 2>/dev/null || true
    fi
    rm -f "$dir/$1"
}

# back FILE COMMAND...: start COMMAND in the background, its process noted in FILE.pid and its output in FILE.log.
back() {
    local file=$1
    shift
    setsid "$@" >"$dir/$file.log" 2>&1 </dev/null 9>&- &
    echo $! >"$dir/$file.pid"
}

# within SECONDS COMMAND...: try COMMAND ten times a second until it works.
within() {
    local tries=$((10 * $1))
    shift
    for _ in $(seq "$tries"); do "$@" && return; sleep 0.1; done
    return 1
}

# server: the name of this machine's JACK server.
server() { cat "$dir/server"; }

# running NAME: whether a server of that name runs.
running() { pgrep -u "$(id -u)" -f "^jackd -n $1 " >/dev/null; }

# name_server: pick the name, once for the life of this machine: a program that was told it waits for it when the server dies. A
# user's servers share one registry of eight places, and a server that was killed keeps its place until one of its own name starts
# again: so the names are few, and used again. A name is taken by a file that tells the folder of its machine. When no server runs
# at all, what dead ones left behind is removed.
name_server() {
    local name
    pgrep -x -u "$(id -u)" jackd >/dev/null || rm -rf /dev/shm/jack-shm-registry /dev/shm/jack-"$(id -u)"-*
    [ -e "$dir/server" ] && return
    mkdir -p "$names"
    for name in vdev-1 vdev-2 vdev-3 vdev-4 vdev-5 vdev-6; do
        running "$name" && continue
        [ -e "$names/$name" ] && [ -d "$(cat "$names/$name")" ] && continue
        echo "$dir" >"$names/$name"
        echo "$name" >"$dir/server"
        return
    done
    die "six virtual machines run already; end one of them"
}

environment() {
    echo "XDG_RUNTIME_DIR=$dir"
    echo "JACK_NO_START_SERVER=1"
    echo "JACK_DEFAULT_SERVER=$(server)"
    echo "ALSA_CONFIG_PATH=$dir/asound.conf"
}

start() {
    local lacking
    lacking=$(missing) || die "this machine lacks" $lacking
    alive jackd.pid && return
    gone jackd.pid || die "a server that was killed is still there"
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
    # Servers that start or stop at the same moment spoil the registry for each other: they take turns.
    local try
    for try in 1 2 3; do
        exec 9>"$turn"
        flock -w 120 9 || die "another virtual machine holds $turn"
        name_server
        back jackd jackd -n "$(server)" $scheduling -S --no-mlock -d dummy -r $rate -p "$period" -C 2 -P 2
        if JACK_DEFAULT_SERVER=$(server) within 10 "$dir/keyboard" --ask 2>/dev/null; then
            exec 9>&-
            return
        fi
        echo "virtual-devices: jackd did not start (try $try):" >&2
        cat "$dir/jackd.log" >&2
        remove
        exec 9>&-
    done
    die "jackd did not start"
}

# remove ends the server and removes what it left in shared memory.
remove() {
    end jackd.pid
    [ -e "$dir/server" ] || return 0
    rm -f /dev/shm/jack_sem.*_"$(server)"_* /dev/shm/jack_"$(server)"_*
}

plug() {
    local name=${1:-}
    [[ $name =~ ^[A-Za-z0-9-]+$ ]] || die "plug takes a name of letters, digits and hyphens"
    alive jackd.pid || die "not started"
    JACK_DEFAULT_SERVER=$(server) back "keyboard-$name" "$dir/keyboard" "$name"
    within 5 grep -q ready "$dir/keyboard-$name.log" || die "the keyboard did not start; see $dir/keyboard-$name.log"
}

unplug() { end "keyboard-${1:-}.pid"; }

room() {
    alive jackd.pid || die "not started"
    cc -O2 -Wall -Werror -o "$dir/room" "$here/room.c" -ljack
    JACK_DEFAULT_SERVER=$(server) back room "$dir/room" "$@"
    within 5 grep -q ready "$dir/room.log" || die "the room does not start; see $dir/room.log"
}

no_room() {
    end room.pid
    grep xruns "$dir/room.log"
}

stage() {
    alive jackd.pid || die "not started"
    cc -O2 -Wall -Werror -o "$dir/stage" "$here/stage.c" -ljack
    JACK_DEFAULT_SERVER=$(server) exec "$dir/stage" "$@"
}

stop() {
    local file
    for file in "$dir"/keyboard-*.pid; do
        [ -e "$file" ] && end "$(basename "$file")"
    done
    end room.pid
    exec 9>"$turn"
    flock -w 60 9 || true
    remove
    [ -e "$dir/server" ] && rm -f "$names/$(server)"
    exec 9>&-
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
room) room "${@:2}" ;;
no-room) no_room ;;
stage) stage "${@:2}" ;;
*) sed -n '2,/^set /{/^set /d;s/^# \{0,1\}//;p}' "${BASH_SOURCE[0]}" ;;
esac
