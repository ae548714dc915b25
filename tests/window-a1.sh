#!/usr/bin/env bash
# A1 from start to end at the window, with real keys and clicks: job card, measuring, a wrong part, a skipped relearn,
# the right one, the debrief; then the logbook that was saved is run again. tests/window-a1.sh [PROGRAM] [FOLDER]
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
source tests/window-lib.sh
open_display

# so many seconds of the bench at ten times the clock, then it stands
go() { key 2; sleep "$(awk "BEGIN { print $1 / 10 }")"; key 1 space; }
# the service sheet: codes, learned values, readiness, live values, clear, then routines; so many Tabs to each
ask() { key m; press "$1"; key Escape; }

open_window
drawn a1-1-first
# the third thing on the first sheet: the first job
press 3
sleep 20
drawn a1-2-job
# its cautions stand in front
press 2
ask 2
ask 3
drawn a1-3-read
# a wrong part first: key off, throttle body from the shelf
key q
go 13
xdotool mousemove 150 620
drawn a1-4-shelf
close_window
