#!/usr/bin/env bash
# Starts the window on a display of its own, works on it with real clicks and keys, and looks whether anything is
# drawn: tests/window-smoke.sh [PROGRAM] [FOLDER FOR PICTURES]
# Needs Xvfb, a Vulkan driver (Mesa's software one will do), xdotool and ImageMagick; draws without a GPU.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

program="${1:-${CARGO_TARGET_DIR:-target}/debug/idlewright}"
pictures="${2:-$(mktemp -d)}"
mkdir -p "$pictures"
fail() { printf 'window: %s\n' "$*" >&2; exit 1; }
[[ -x "$program" ]] || fail "$program is not built: cargo build"
for tool in Xvfb xdotool import convert; do
    command -v "$tool" >/dev/null || fail "$tool is missing"
done

# settings of its own: neither what somebody likes, nor that cautions were read before
home="$(mktemp -d)"
export HOME="$home" XDG_CONFIG_HOME="$home/config" XDG_RUNTIME_DIR="$home"
unset WAYLAND_DISPLAY

# without a display: one message that names the way without, and a code of its own
code=0
said="$(env -u DISPLAY "$program" 2>&1)" || code=$?
[[ "$code" == 3 ]] || fail "without a display the exit code is $code, not 3"
grep -q 'idlewright run' <<<"$said" || fail "without a display the headless command is not named: $said"

exec 5< <(Xvfb -displayfd 1 -screen 0 1600x900x24 -nolisten tcp 2>/dev/null & echo "$!" >"$home/xvfb"; wait)
read -r -t 30 number <&5 || fail "Xvfb does not start"
export DISPLAY=":$number"
pid=
clean() {
    [[ -z "$pid" ]] || kill "$pid" 2>/dev/null || true
    kill "$(cat "$home/xvfb")" 2>/dev/null || true
    rm -rf "$home"
}
trap clean EXIT

"$program" window A1 >"$home/log" 2>&1 &
pid=$!
window=
for _ in $(seq 600); do
    kill -0 "$pid" 2>/dev/null || { cat "$home/log"; fail "the window ended by itself"; }
    window="$(xdotool search --name '^Idlewright$' 2>/dev/null | head -1)" && [[ -n "$window" ]] && break
    sleep 0.2
done
[[ -n "$window" ]] || fail "no window within two minutes"

# a picture, and how many colours are in it: a blank one has one
shot() { import -window root "$pictures/$1.png"; }
colours() { convert "$pictures/$1.png" -format '%k' info:; }
drawn() {
    for _ in $(seq 300); do
        shot "$1"
        (($(colours "$1") > 200)) && return 0
        sleep 0.5
    done
    fail "$1: nothing is drawn: $(colours "$1") colours"
}
changed() { ! cmp -s <(convert "$pictures/$1.png" rgb:-) <(convert "$pictures/$2.png" rgb:-); }

drawn first
xdotool windowfocus "$window" 2>/dev/null || true
# the first sheet is put away, time goes, the engine is turned with the pointer and a key is typed
xdotool key --window "$window" Escape
sleep 3
drawn put-away
changed first put-away || fail "the Escape key changes nothing"
xdotool mousemove 800 350 mousedown 1 mousemove 700 330 mousemove 600 320 mouseup 1
sleep 3
drawn turned
changed put-away turned || fail "dragging the engine changes nothing"
xdotool key --window "$window" F3
sleep 3
drawn traces
changed turned traces || fail "the key F3 changes nothing"
kill -0 "$pid" 2>/dev/null || { cat "$home/log"; fail "the window ended by itself"; }
kill "$pid"
wait "$pid" 2>/dev/null || true
pid=
echo "window: opens, draws ($(colours first) colours), hears keys and pointer; pictures in $pictures"
