#!/usr/bin/env bash
# Memory used by a window that is open for two hours: two simulated hours are recorded as fast as possible, while the
# window keeps drawing. There are the same rows, marks and logbook as in two hours of real time, but fewer frames;
# therefore a period of frames without new rows is measured separately.
# tests/window-memory.sh [PROGRAM] [FOLDER] [HOURS]
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
source tests/window-lib.sh
hours="${3:-2}"
held() { awk '/^VmRSS:/ { print $2 }' "/proc/$pid/status"; }
open_display
open_window healthy-idle
until_there "In a real workshop"
key Escape
until_there "Before you touch this car"
key Escape
until_gone "Close"
# traces in the middle: they read everything that is recorded
key F3
key 1
wait_for "a minute" eval 'awk -v now="$(is time)" "BEGIN { exit !(now > 60) }"'
before="$(held)"
patience=3600
for _ in $(seq "$hours"); do
    key o
    until_there "Drive, park or wait"
    write "*" 60 "for" Return
    press "Leave the car as it is for this time"
    wait_for "an hour to begin" eval '[[ "$(is runs_to)" != - ]]'
    wait_for "an hour to end" eval '[[ "$(is runs_to)" == - ]]'
done
key Escape space
wait_for "time to stand" eval '[[ "$(is pace)" == pause ]]'
after="$(held)"
from="$(frame)"
frames 400
then="$(held)"
printf 'window: %d MB at first, %+d MB after %s simulated hours (%d frames), %+d MB after %d frames more\n' \
    $((before / 1024)) $(((after - before) / 1024)) "$hours" "$from" $(((then - after) / 1024)) $(($(frame) - from))
(((after - before) / 1024 <= 50)) || fail "two hours take more than 50 MB"
close_window
