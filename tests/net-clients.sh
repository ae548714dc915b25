#!/usr/bin/env bash
# Two clients from PyPI, doipclient and udsoncan, unmodified, against `idlewright serve`; then tshark decodes the
# bytes of an exchange. Needs Python with venv and pip; tshark is left out where it is missing.
# usage: tests/net-clients.sh PROGRAM [FOLDER]
set -euo pipefail
here="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)"
program="$(realpath "$1")"
folder="${2:-$(mktemp -d)}"
mkdir -p "$folder"
folder="$(realpath "$folder")"

venv="${XDG_CACHE_HOME:-$HOME/.cache}/idlewright-net-clients"
if [[ ! -x "$venv/bin/python" ]]; then
    python3 -m venv "$venv"
fi
"$venv/bin/pip" install --quiet --disable-pip-version-check doipclient==1.2.2 udsoncan==1.26.1

"$venv/bin/python" "$here/net-clients.py" "$program" "$folder"
"$venv/bin/python" "$here/net-dissect.py" "$program" "$folder"
