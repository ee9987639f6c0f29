#!/usr/bin/env bash
# A small emulated computer whose kernel has real sound drivers, for tests of a program as it is shipped: a sound card whose two sides are joined (what
# is played on hw:Loopback,1 is recorded on hw:Loopback,0, and the other way round), and a MIDI card (bytes that are written to its raw port come out of the
# sequencer). Both can be unplugged. It runs on Debian and derivatives, needs no rights, and starts in some seconds.
#
#   virtual-machine.sh missing            print what this machine lacks for it; exit 1 if anything
#   virtual-machine.sh run SCRIPT FILE... run SCRIPT by a plain shell in there, in a folder with the FILEs, and print what it prints; exits as SCRIPT does
#
# In SCRIPT, unplugging is: echo snd_aloop.0 >/sys/bus/platform/drivers/snd_aloop/unbind (snd_virmidi likewise), and plugging in: the same with bind.
# VDEV_KERNEL is the folder in which the kernel is kept, VDEV_LIMIT the longest time in s. Nothing is installed here; see packages.sh in the folder beside.
set -euo pipefail

kernel=${VDEV_KERNEL:-${XDG_CACHE_HOME:-$HOME/.cache}/larkhand-tests/kernel}
limit=${VDEV_LIMIT:-400}
# In the order in which they need each other.
modules="soundcore snd snd-timer snd-pcm snd-seq-device snd-rawmidi snd-seq snd-seq-midi-event snd-seq-virmidi snd-virmidi snd-aloop"

die() { echo "virtual-machine: $*" >&2; exit 1; }

missing() {
    local program lacking=()
    [ "$(uname -m)" = x86_64 ] || lacking+=("a processor of the kind x86_64")
    for program in qemu-system-x86_64 busybox cpio aplay apt-get dpkg flock; do
        command -v "$program" >/dev/null || lacking+=("$program")
    done
    [ -d /usr/share/alsa ] || lacking+=("the configuration of ALSA")
    [ ${#lacking[@]} = 0 ] && return
    printf '%s\n' "${lacking[@]}"
    return 1
}

# fetch unpacks Debian's kernel without installing it.
fetch() {
    mkdir -p "$kernel"
    exec 9>"$kernel/lock"
    flock -w 300 9 || die "another one fetches the kernel"
    [ -e "$kernel/whole" ] && return
    local name
    name=$(apt-cache depends linux-image-amd64 | grep -oE 'linux-image-[0-9][^ ]*' | head -n 1) || die "no kernel for x86_64 is known to apt"
    (cd "$kernel" && apt-get download -qq "$name" 2>/dev/null && dpkg -x "$name"_*.deb . && rm -f "$name"_*.deb) || die "the kernel $name cannot be fetched"
    touch "$kernel/whole"
    exec 9>&-
}

# with_libraries FILE...: copy the shared libraries of programs into the root.
with_libraries() {
    local library
    for library in $(for f in "$@"; do ldd "$f" 2>/dev/null | grep -oE '/[^ ]+' || true; done | sort -u); do
        mkdir -p "$root$(dirname "$library")"
        cp -L "$library" "$root$library"
    done
}

# furnish makes the root file system.
furnish() {
    local script=$1 module
    shift
    mkdir -p "$root"/{bin,proc,sys,dev,tmp,work,usr/share}
    cp "$(command -v busybox)" "$root/bin/busybox"
    cp -r /usr/share/alsa "$root/usr/share/"
    cp "$script" "$root/work/script"
    cp "$@" "$(command -v aplay)" "$root/work/"
    ln -s aplay "$root/work/arecord"
    with_libraries "$root"/work/*
    for module in $modules; do
        cp "$(find "$kernel/lib/modules" -name "$module.ko*" | head -n 1)" "$root/bin/$module.ko" || die "the kernel has no $module"
    done
    cat >"$root/init" <<END
#!/bin/busybox sh
/bin/busybox --install -s /bin
mount -t proc proc /proc; mount -t sysfs sys /sys; mount -t devtmpfs dev /dev
mkdir -p /dev/pts; mount -t devpts pts /dev/pts
for m in $modules; do
    case \$m in
    snd-aloop) insmod /bin/\$m.ko index=0 pcm_substreams=1;;
    snd-virmidi) insmod /bin/\$m.ko index=1 midi_devs=1;;
    *) insmod /bin/\$m.ko;;
    esac
done
export HOME=/tmp PATH=/work:/bin LD_LIBRARY_PATH=/lib/x86_64-linux-gnu:/usr/lib/x86_64-linux-gnu
cd /work
echo BEGINS
sh ./script 2>&1
echo "ENDS \$?"
poweroff -f
END
    chmod +x "$root/init"
    (cd "$root" && find . | cpio -o -H newc --quiet | gzip -1) >"$work/root.gz"
}

run() {
    local lacking
    lacking=$(missing) || die "this machine lacks" $lacking
    fetch
    work=$(mktemp -d)
    trap 'rm -rf "$work"' EXIT
    root=$work/root
    furnish "$@"
    # Emulated and not accelerated: it is the same on every machine, and few test machines allow the latter.
    timeout "$limit" qemu-system-x86_64 -accel tcg -cpu max -smp 2 -m 1024 -display none -no-reboot -kernel "$kernel"/boot/vmlinuz-* -initrd "$work/root.gz" \
        -append "console=ttyS0 quiet panic=-1" -serial stdio </dev/null | tr -d '\r' | tee "$work/log" | sed -n '/^BEGINS$/,/^ENDS /p' | sed '/^BEGINS$/d; /^ENDS /d' || true
    grep -q '^ENDS ' "$work/log" || { tail -n 20 "$work/log" >&2; die "the virtual machine did not come to the end of the script"; }
    return "$(sed -n 's/^ENDS //p' "$work/log" | head -n 1)"
}

case ${1:-help} in
missing) missing ;;
run) run "${@:2}" ;;
*) sed -n '2,/^set /{/^set /d;s/^# \{0,1\}//;p}' "${BASH_SOURCE[0]}" ;;
esac
