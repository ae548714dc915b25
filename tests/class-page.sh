#!/usr/bin/env bash
# The pages of a class in a real browser, operated as a person would: two lessons from joining to the debrief, by the
# pointer and by keys alone; three seats and a wall at once; a broken connection; a page loaded again; a server killed
# in the middle of a learning routine; every page in three sizes and both themes; a class behind a reverse proxy.
# Needs Node, npm and Chromium; the proxy's trial needs nginx and is run only where it is asked for.
#
# tests/class-page.sh [PROGRAM] [FOLDER FOR PICTURES] [lessons | class | looks | types | proxied]…
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

export IDLEWRIGHT="${1:-target/debug/idlewright}"
export PICTURES="${2:-}"
shift $(($# < 2 ? $# : 2))
parts=("$@")
((${#parts[@]})) || parts=(types looks class lessons)
[[ -n "$PICTURES" ]] && mkdir -p "$PICTURES"

at=tests/class-page
if [[ ! -d $at/node_modules ]]; then
    (cd "$at" && npm install --no-package-lock --no-audit --no-fund --silent)
fi
for part in "${parts[@]}"; do
    case "$part" in
        types) "$at/node_modules/.bin/tsc" -p "$at/tsconfig.json" && echo "ok    types" ;;
        *) node "$at/$part.mjs" ;;
    esac
done
