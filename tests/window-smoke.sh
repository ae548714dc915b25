#!/usr/bin/env bash
# Starts the window on a display of its own, works on it with real clicks and keys, and checks that something is
# drawn: tests/window-smoke.sh [PROGRAM] [FOLDER FOR PICTURES]
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
source tests/window-lib.sh

# without a display: one message that names the way to work without one, and an exit code of its own
code=0
said="$(env -u DISPLAY "$program" 2>&1)" || code=$?
[[ "$code" == 3 ]] || fail "without a display the exit code is $code, not 3: $said"
grep -q 'idlewright run' <<<"$said" || fail "without a display the headless command is not named: $said"
# and with a display that does not exist
code=0
said="$(DISPLAY=:4242 "$program" 2>&1)" || code=$?
[[ "$code" == 3 ]] || fail "with a display that is not there the exit code is $code, not 3: $said"
# frames that are only timed are rendered into memory
said="$(env -u DISPLAY "$program" window healthy-idle --frames 20)" || fail "frames are not timed without a display"
grep -qE '^1600 x 900 on .*: [0-9.]+ frames/s' <<<"$said" || fail "frames were timed, and it says: $said"

open_display
began="$(date +%s%N)"
open_window
wait_for "a drawn engine" eval '[[ "$(is engine)" == drawn ]]'
took=$((($(date +%s%N) - began) / 1000000))
until_there "In a real workshop"
shot first
(($(colours first) > 200)) || fail "nothing is drawn: $(colours first) colours"
# the sheets in front are closed, the engine is turned with the pointer, keys are typed
key Escape
until_there "Before you touch this car"
key Escape
until_gone "Close"
shot put-away
changed first put-away || fail "the Escape key changes nothing"
xdotool mousemove 800 350 mousedown 1
for x in 760 720 680 640; do
    xdotool mousemove "$x" 330
    frames 2
done
xdotool mouseup 1
frames 4
shot turned
changed put-away turned || fail "dragging the engine changes nothing"
key F3
until_is "Traces" on
frames 4
shot traces
changed turned traces || fail "the key F3 changes nothing"
key F2 1
wait_for "time to run" eval 'awk -v now="$(is time)" "BEGIN { exit !(now > 1) }"'
shot runs
# a pace that is not reached is reported
key 3
wait_for "time to run faster" eval 'awk -v now="$(is time)" "BEGIN { exit !(now > 30) }"'
measured() {
    awk -v from="$(is time) $(date +%s%N)" -v to="$(sleep 6; echo "$(is time) $(date +%s%N)")" 'BEGIN {
        split(from, a, " "); split(to, b, " "); printf "%d", (b[1] - a[1]) / (b[2] - a[2]) * 1e9 }'
}
# a machine that was busy with something else may have time again in the meantime
told_or_reached() { there "reaches ×*" || { reached="$(measured)" && ((reached >= 90)); }; }
reached="$(measured)"
((reached >= 90)) || wait_for "the pace, or how far it falls short" told_or_reached
close_window

# a picture taken at once shows the engine, and so does one in the night bay
"$program" window healthy-idle --picture "$pictures/picture.png" || fail "no picture was taken"
(($(colours picture) > 200)) || fail "the picture is blank: $(colours picture) colours"
echo "window: $said"
echo "window: opens (engine on the screen after $took ms), draws ($(colours runs) colours), hears keys and pointer, reaches ×$reached of ×100; pictures in $pictures"
