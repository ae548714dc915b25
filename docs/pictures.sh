#!/usr/bin/env bash
# Makes the documents' pictures of the window again: docs/pictures.sh [PROGRAM]
# On a display of its own, so that they are the same for everybody; the same tools as tests/window-smoke.sh.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
source tests/window-lib.sh
open_display
"$program" window idles-high --picture docs/window.png --after 20
"$program" window flashes-at-high-revs --picture docs/window-night.png --after 40 --show wheel --open-lid --night
for name in window window-night; do
    # a picture of drawn surfaces needs few colours; the files stay small
    convert "docs/$name.png" -colors 255 -define png:compression-level=9 "PNG8:docs/$name.png"
done
