# Functions shared by the scripts that operate the window; to be sourced, not run. They find things by their words in
# the file that `idlewright window --screen FILE` keeps writing, act on them by a real pointer or by real keys alone,
# and wait for what they expect. Needs Xvfb, a Vulkan driver (Mesa's software one will do), xdotool and ImageMagick;
# no GPU.
#
# hand=pointer or hand=keys selects how `press`, `write`, `either` work.

program="${1:-${CARGO_TARGET_DIR:-target}/release/idlewright}"
pictures="${2:-$(mktemp -d)}"
mkdir -p "$pictures"
hand=pointer
# longest wait for anything [s]
patience="${WINDOW_PATIENCE:-180}"

fail() {
    printf 'window: %s\n' "$*" >&2
    [[ -z "${screen:-}" ]] || shot failed 2>/dev/null || true
    [[ ! -s "${seen:-}" ]] || cp "$seen" "$pictures/failed.screen"
    printf 'window: what was seen then: %s\n' "$pictures/failed.png" >&2
    exit 1
}
[[ -x "$program" ]] || fail "$program is not built: cargo build --release"
for tool in Xvfb xdotool import convert; do
    command -v "$tool" >/dev/null || fail "$tool is missing"
done

# a home of its own, without a user's preferences and without cautions already read
home="$(mktemp -d)"
export HOME="$home" XDG_CONFIG_HOME="$home/config" XDG_RUNTIME_DIR="$home"
unset WAYLAND_DISPLAY
seen="$home/screen"

pid=
screen=
clean() {
    [[ -z "$pid" ]] || kill "$pid" 2>/dev/null || true
    [[ -z "$screen" ]] || kill "$screen" 2>/dev/null || true
    rm -rf "$home"
}
trap clean EXIT

# A display of its own; its number comes through a pipe when it is ready. The display does not restart when a window
# is closed: the next window would find it busy.
open_display() {
    mkfifo "$home/number"
    Xvfb -displayfd 3 -screen 0 1600x900x24 -nolisten tcp -noreset 3>"$home/number" 2>/dev/null &
    screen=$!
    local number
    read -r -t 60 number <"$home/number" || fail "Xvfb does not start"
    export DISPLAY=":$number"
}

shot() { import -window root "$pictures/$1.png"; }
# number of colours in a picture: a blank one has one
colours() { convert "$pictures/$1.png" -format '%k' info:; }
changed() { ! cmp -s <(convert "$pictures/$1.png" rgb:-) <(convert "$pictures/$2.png" rgb:-); }
alive() { kill -0 "$pid" 2>/dev/null || { cat "$home/log" >&2; fail "the window ended by itself"; }; }

# Called repeatedly while something is waited for.
between() { :; }

# Waits until a command succeeds, or gives up and reports what it waited for.
wait_for() {
    local what="$1" end=$((SECONDS + patience))
    shift
    until "$@"; do
        alive
        between
        ((SECONDS < end)) || fail "waited in vain for $what"
        sleep 0.05
    done
}

open_window() {
    rm -f "$seen"
    "$program" window --screen "$seen" "$@" >"$home/log" 2>&1 &
    pid=$!
    local window
    wait_for "a window" window_there
    window="$(xdotool search --name '^Idlewright$' | head -1)"
    xdotool windowfocus "$window" 2>/dev/null || true
    wait_for "a first frame" test -s "$seen"
}
window_there() { xdotool search --name '^Idlewright$' >/dev/null 2>&1; }
close_window() {
    alive
    kill "$pid"
    wait "$pid" 2>/dev/null || true
    pid=
}

# ---------------------------------------------------------------------------------------------------
# Contents of the screen
# ---------------------------------------------------------------------------------------------------

# frame, time, pace, runs_to, engine
is() { awk -F'\t' -v what="$1" '$1 == what { print $2; exit }' "$seen"; }
frame() { is frame; }
a_frame_after() { (($(frame) > $1)); }
frames() { wait_for "$1 frames" a_frame_after $(($(frame) + $1 - 1)); }

# The line of the first thing with this name (a star stands for anything before, behind or both), after the one called
# $2 if that is given. Of the things behind a sheet only labels are taken; labels only if nothing else has that name.
thing() {
    awk -F'\t' -v words="$1" -v after="${2:-}" '
        function called(is, wanted) {
            if (wanted == "*") return 1
            if (wanted ~ /^\*.*\*$/ && length(wanted) > 1) return index(is, substr(wanted, 2, length(wanted) - 2)) > 0
            if (wanted ~ /^\*./) return is ~ (substr(wanted, 2) "$")
            if (wanted ~ /\*$/) return index(is, substr(wanted, 1, length(wanted) - 1)) == 1
            return is == wanted
        }
        $1 != "thing" { next }
        $9 ~ /behind/ {
            # labels behind the veil of a sheet can still be read
            if ($2 == "Label" && after == "" && label == "" && called($3, words)) label = $0
            next
        }
        after != "" && !past { past = called($3, after); next }
        called($3, words) {
            if ($2 != "Label") { print; exit }
            if (label == "") label = $0
        }
        END { if (label != "") print label }
    ' "$seen" | head -1
}
there() { [[ -n "$(thing "$@")" ]]; }
gone() { ! there "$@"; }
has() { [[ ",$(thing "$1" "${3:-}" | cut -f9)," == *",$2,"* ]]; }
can_press() { has "$1" press "${2:-}"; }
holds() { [[ "$(thing "$1" "${3:-}" | cut -f4)" == "$2" ]]; }

# The same, with or without a unit behind it.
reads() {
    local held
    held="$(thing "$1" "${3:-}" | cut -f4)"
    [[ "$held" == "$2" || "$held" == "$2 "* ]]
}

until_there() { wait_for "»$1«" there "$@"; }
until_gone() { wait_for "»$1« to go" gone "$@"; }
until_is() { wait_for "»$1« to be $2" has "$@"; }

# ---------------------------------------------------------------------------------------------------
# Input
# ---------------------------------------------------------------------------------------------------

# Keys go to the focused thing.
key() {
    local before
    for k in "$@"; do
        before="$(frame)"
        xdotool key "$k"
        wait_for "a frame after the key $k" a_frame_after $((before + 1))
    done
}
nothing_focused() { ! awk -F'\t' '$1 == "thing" && $9 ~ /focus/ { found = 1 } END { exit !found }' "$seen"; }
# A shortcut key: the focused thing loses the focus first, or it would take the key.
shortcut() {
    nothing_focused || key Escape
    key "$@"
}

press() {
    wait_for "»$1« that can be pressed${2:+ behind »$2«}" can_press "$@"
    if [[ "$hand" == keys ]]; then
        focus_on "$@"
        key Return
    else
        point_at "$@"
        xdotool click 1
        frames 2
    fi
}

# The pointer goes to the middle of the visible part of a thing, which is scrolled into view first. Its position must
# be stable for some frames: a list may still be scrolling, and a sheet grows as it is answered.
point_at() {
    local x y before
    for _ in $(seq 200); do
        read -r x y <<<"$(middle "$@")"
        if has "$1" hidden "${2:-}"; then
            # the mouse wheel is turned over a scrollable area: panels and sheets all cover this height
            local turns=$(((y > 450 ? y - 450 : 450 - y) / 150))
            ((turns = turns < 1 ? 1 : turns > 8 ? 8 : turns, 1))
            xdotool mousemove "$x" 450 click --repeat "$turns" --delay 5 $((y > 450 ? 5 : 4))
            frames 2
            continue
        fi
        before="$x $y"
        frames 3
        [[ "$(middle "$@")" != "$before" ]] || break
    done
    ! has "$1" hidden "${2:-}" || fail "»$1« cannot be scrolled into sight"
    xdotool mousemove "$x" "$y"
}
middle() { thing "$@" | awk -F'\t' '{ print int(($5 + $7) / 2), int(($6 + $8) / 2) }'; }

# Tab, or Tab with Shift, until a thing has the keyboard.
focus_on() {
    local way before place
    for _ in $(seq 300); do
        ! has "$1" focus "${2:-}" || return 0
        place="$(cut -f2-8 <<<"$(thing "$@")")"
        # the shorter way: things are listed in Tab order
        way="$(awk -F'\t' -v place="$place" '
            $1 != "thing" { next }
            { here = $2; for (k = 3; k <= 8; k++) here = here "\t" $k }
            $9 ~ /focus/ { focus = NR }
            here == place { at = NR }
            END { print (focus && at < focus) ? "shift+Tab" : "Tab" }' "$seen")"
        # the focus is read only after the key has acted: one Tab too many would move it on later
        before="$(frame)"
        xdotool key "$way"
        wait_for "the focus to move on" a_frame_after $((before + 2))
    done
    fail "»$1« cannot be reached by Tab"
}

# Writes into a field with this name, or after something with this name.
write() {
    local words="$1" text="$2" after="${3:-}"
    wait_for "the field »$words«" there "$words" "$after"
    if [[ "$hand" == keys ]]; then focus_on "$words" "$after"; else
        point_at "$words" "$after"
        xdotool click 1
        wait_for "»$words« to have the keyboard" has "$words" focus "$after"
    fi
    # existing text is replaced; a person holds one key down while pressing the next
    if [[ -n "$(thing "$words" "$after" | cut -f4)" ]]; then
        for do in "keydown ctrl" "key a" "keyup ctrl"; do
            # shellcheck disable=SC2086
            xdotool $do
            frames 2
        done
    fi
    xdotool type --delay 20 "$text"
    # letters typed and entered within one frame of a slow machine would also act as the window's shortcut keys
    frames 3
    reads "$words" "$text" "$after" || fail "»$words« holds »$(thing "$words" "$after" | cut -f4)«, not »$text«"
    key "${4:-Tab}"
}

# By pointer the thing is pressed, by keyboard its shortcut key.
either() {
    if [[ "$hand" == keys ]]; then shortcut "$2"; else press "$1"; fi
}
