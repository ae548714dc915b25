#!/usr/bin/env bash
# Starts the window on a display of its own, works on it with real clicks and keys, and looks whether anything is
# drawn: tests/window-smoke.sh [PROGRAM] [FOLDER FOR PICTURES]
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
source tests/window-lib.sh

# without a display: one message that names the way without, and a code of its own
code=0
said="$(env -u DISPLAY "$program" 2>&1)" || code=$?
[[ "$code" == 3 ]] || fail "without a display the exit code is $code, not 3: $said"
grep -q 'idlewright run' <<<"$said" || fail "without a display the headless command is not named: $said"
# and with one that is not there
code=0
said="$(DISPLAY=:4242 "$program" 2>&1)" || code=$?
[[ "$code" == 3 ]] || fail "with a display that is not there the exit code is $code, not 3: $said"

open_display
open_window
drawn first
# the sheet in front is put away, the engine is turned with the pointer, keys are typed
key Escape
sleep 1
drawn put-away
changed first put-away || fail "the Escape key changes nothing"
xdotool mousemove 800 350 mousedown 1 sleep 0.7 mousemove 720 340 sleep 0.7 mousemove 640 330 sleep 0.7 mouseup 1
sleep 1
drawn turned
changed put-away turned || fail "dragging the engine changes nothing"
key F3
sleep 1
drawn traces
changed turned traces || fail "the key F3 changes nothing"
key F2 1
sleep 2
drawn runs
close_window
echo "window: opens, draws ($(colours runs) colours), hears keys and pointer; pictures in $pictures"
