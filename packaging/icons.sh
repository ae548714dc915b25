#!/usr/bin/env bash
# Draws the icon in every size again, after packaging/idlewright.svg was changed. Needs rsvg-convert.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"
for size in 16 32 48 64 128 256 512; do
    rsvg-convert -w "$size" -h "$size" idlewright.svg -o "icons/$size.png"
done
