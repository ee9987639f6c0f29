#!/usr/bin/env bash
# A virtual microphone and speaker of PulseAudio, which a program reaches through ALSA's plugin for it, as on most desktops. No MIDI.
#
#   virtual-pulse.sh missing            print what this machine lacks for it; exit 1 if anything
#   virtual-pulse.sh start              start the server; does nothing if it runs
#   virtual-pulse.sh stop               stop it and remove its files
#   virtual-pulse.sh kill               kill it, as a crash does; start brings it back
#   virtual-pulse.sh env                print the environment for the program under test, one NAME=VALUE a line
#   virtual-pulse.sh sing FILE          sing FILE into the microphone: raw samples of 16 bits, 48000 Hz, one channel
#   virtual-pulse.sh listen FILE SECONDS  record the speaker into FILE, likewise with two channels
#
# VDEV_DIR picks the private folder. In the program's ALSA configuration "default" is the speaker and the microphone, and "loop" is the speaker and what it plays.
# Nothing is installed here; see packages.sh in the folder beside.
set -euo pipefail

dir=${VDEV_DIR:-${TMPDIR:-/tmp}/virtual-pulse-$(id -u)}
rate=48000

die() { echo "virtual-pulse: $*" >&2; exit 1; }

missing() {
    local program lacking=()
    for program in pulseaudio pactl pacat parec; do
        command -v "$program" >/dev/null || lacking+=("$program")
    done
    ls /usr/lib/*/alsa-lib/libasound_module_pcm_pulse.so >/dev/null 2>&1 || lacking+=("ALSA's plugin for PulseAudio")
    [ ${#lacking[@]} = 0 ] && return
    printf '%s\n' "${lacking[@]}"
    return 1
}

environment() {
    echo "XDG_RUNTIME_DIR=$dir"
    echo "PULSE_SERVER=unix:$dir/socket"
    echo "PULSE_COOKIE=$dir/cookie"
    echo "ALSA_CONFIG_PATH=$dir/asound.conf"
    echo "JACK_NO_START_SERVER=1"
    echo "JACK_DEFAULT_SERVER=none"
}

# client COMMAND...: run a client of the server.
client() { env $(environment) "$@"; }

# end FILE SIGNAL: end the process noted in FILE, and wait until it has gone.
end() {
    local process
    [ -s "$dir/$1" ] || return 0
    process=$(cat "$dir/$1")
    kill "-$2" "$process" 2>/dev/null || true
    for _ in $(seq 50); do kill -0 "$process" 2>/dev/null || break; sleep 0.1; done
    kill -KILL "$process" 2>/dev/null || true
    rm -f "$dir/$1"
}

# back NAME COMMAND...: start COMMAND in the background, its process noted in NAME.pid.
back() {
    local name=$1
    shift
    # shellcheck disable=SC2046 # a list of words
    env $(environment) setsid "$@" >>"$dir/$name.log" 2>&1 </dev/null & # no function: the process noted must be the program's own
    echo $! >"$dir/$name.pid"
}

# flows SOURCE: wait until a source really delivers sound.
flows() { [ "$( (client timeout 20 parec --latency-msec=5 --raw -d "$1" 2>/dev/null || true) | head -c 400000 | wc -c)" = 400000 ]; }

start() {
    local lacking
    lacking=$(missing) || die "this machine lacks" $lacking
    mkdir -p "$dir/home"
    chmod 700 "$dir"
    cat >"$dir/asound.conf" <<END
pcm_type.pulse { lib libasound_module_pcm_pulse.so }
pcm.default { type asym playback.pcm { type pulse device speaker } capture.pcm { type pulse device microphone } }
pcm.loop { type asym playback.pcm { type pulse device speaker } capture.pcm { type pulse device speaker.monitor } }
END
    cat >"$dir/server.pa" <<END
load-module module-native-protocol-unix auth-anonymous=1 socket=$dir/socket
load-module module-null-sink sink_name=speaker format=float32le rate=$rate channels=2
load-module module-null-sink sink_name=mouth format=float32le rate=$rate channels=1
load-module module-remap-source source_name=microphone master=mouth.monitor
set-default-sink speaker
set-default-source microphone
END
    [ -s "$dir/server.pid" ] && kill -0 "$(cat "$dir/server.pid")" 2>/dev/null && return
    back server env HOME="$dir/home" pulseaudio -n -F "$dir/server.pa" --daemonize=no --exit-idle-time=-1 --realtime=no --high-priority=no
    for _ in $(seq 100); do client pactl info >/dev/null 2>&1 && break; sleep 0.1; done
    client pactl info >/dev/null 2>&1 || { tail -n 20 "$dir/server.log" >&2; die "the server does not start"; }
    # A sink that nobody uses works in steps of two seconds, and its first callback comes late; these keep the steps short.
    back keep-mouth sh -c 'exec parec --latency-msec=5 --raw -d microphone >/dev/null'
    back keep-ear sh -c 'exec parec --latency-msec=5 --raw -d speaker.monitor >/dev/null'
    back keep-speaker sh -c 'exec pacat --latency-msec=5 --raw -d speaker </dev/zero'
    flows microphone && flows speaker.monitor || die "the virtual microphone gives no sound"
}

halt() { # SIGNAL
    local file
    for file in "$dir"/keep-*.pid; do [ -e "$file" ] && end "$(basename "$file")" TERM; done
    end server.pid "$1"
}

case ${1:-help} in
missing) missing ;;
start) start ;;
stop) halt TERM; rm -rf "$dir" ;;
kill) halt KILL ;;
env) environment ;;
sing) client pacat --latency-msec=50 --raw --format=s16le --rate=$rate --channels=1 -d mouth "$2" ;;
listen) client timeout -s INT "$3" parec --latency-msec=50 --raw --format=s16le --rate=$rate --channels=2 -d speaker.monitor "$2" || [ $? = 124 ] ;;
*) sed -n '2,/^set /{/^set /d;s/^# \{0,1\}//;p}' "${BASH_SOURCE[0]}" ;;
esac
