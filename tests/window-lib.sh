# What the scripts that work at the window share; sourced, not run. Gives: fail, shot, colours, drawn, changed,
# open_window ARGUMENTS, key KEYS, tabs N, press N, alive, close_window; sets pictures and program.
# Needs Xvfb, a Vulkan driver (Mesa's software one will do), xdotool and ImageMagick; draws without a GPU.

program="${1:-${CARGO_TARGET_DIR:-target}/debug/idlewright}"
pictures="${2:-$(mktemp -d)}"
mkdir -p "$pictures"
fail() { printf 'window: %s\n' "$*" >&2; exit 1; }
[[ -x "$program" ]] || fail "$program is not built: cargo build"
for tool in Xvfb xdotool import convert; do
    command -v "$tool" >/dev/null || fail "$tool is missing"
done

# a home of its own: neither what somebody likes, nor that cautions were read before
home="$(mktemp -d)"
export HOME="$home" XDG_CONFIG_HOME="$home/config" XDG_RUNTIME_DIR="$home"
unset WAYLAND_DISPLAY

pid=
screen=
clean() {
    [[ -z "$pid" ]] || kill "$pid" 2>/dev/null || true
    [[ -z "$screen" ]] || kill "$screen" 2>/dev/null || true
    rm -rf "$home"
}
trap clean EXIT

# A display of its own; its number comes through a pipe when it is ready.
open_display() {
    mkfifo "$home/number"
    Xvfb -displayfd 3 -screen 0 1600x900x24 -nolisten tcp 3>"$home/number" 2>/dev/null &
    screen=$!
    local number
    read -r -t 60 number <"$home/number" || fail "Xvfb does not start"
    export DISPLAY=":$number"
}

shot() { import -window root "$pictures/$1.png"; }
# how many colours are in a picture: a blank one has one
colours() { convert "$pictures/$1.png" -format '%k' info:; }
drawn() {
    for _ in $(seq 240); do
        shot "$1"
        (($(colours "$1") > 200)) && return 0
        alive
        sleep 0.5
    done
    fail "$1: nothing is drawn: $(colours "$1") colours"
}
changed() { ! cmp -s <(convert "$pictures/$1.png" rgb:-) <(convert "$pictures/$2.png" rgb:-); }
alive() { kill -0 "$pid" 2>/dev/null || { cat "$home/log" >&2; fail "the window ended by itself"; }; }

open_window() {
    "$program" "$@" >"$home/log" 2>&1 &
    pid=$!
    local window=
    for _ in $(seq 600); do
        alive
        window="$(xdotool search --name '^Idlewright$' 2>/dev/null | head -1)" || true
        [[ -n "$window" ]] && break
        sleep 0.2
    done
    [[ -n "$window" ]] || fail "no window within two minutes"
    xdotool windowfocus "$window" 2>/dev/null || true
}
close_window() {
    alive
    kill "$pid"
    wait "$pid" 2>/dev/null || true
    pid=
}

# Keys go to what has the focus; a slow machine needs a moment to see each.
pause="${WINDOW_PAUSE:-0.25}"
key() {
    for k in "$@"; do
        xdotool key "$k"
        sleep "$pause"
    done
}
tabs() { for _ in $(seq "$1"); do key Tab; done; }
# the so-many-th thing of what stands in front
press() { tabs "$1"; key Return; }
click() {
    xdotool mousemove "$1" "$2"
    sleep "$pause"
    xdotool click 1
    sleep "$pause"
}
