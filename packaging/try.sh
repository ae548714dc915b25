#!/usr/bin/env bash
# Tries the Linux packages as a school would, in a bare Debian that has neither a compiler nor a display:
#   packaging/try.sh [FOLDER OF packaging/build.sh]
# Needs root, debootstrap, lintian, desktop-file-utils, curl, Xvfb, and the mirror that this machine's own apt uses.
# TRY_KEEP=FOLDER keeps the bare Debian, and takes it up again the next time.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
packages="$(cd "${1:-target/packages}" && pwd)"
step() { printf '\n== %s\n' "$*"; }
fail() { printf 'try: %s\n' "$*" >&2; exit 1; }
for tool in debootstrap lintian desktop-file-validate curl Xvfb dpkg-deb; do
    command -v "$tool" >/dev/null || fail "$tool is missing"
done
((EUID == 0)) || fail "installing into a folder needs root"
one() { # the one file of a pattern
    local found
    mapfile -t found < <(compgen -G "$packages/$1")
    [[ ${#found[@]} == 1 && -f "${found[0]}" ]] || fail "$1 is not there, or there several times, in $packages"
    printf '%s' "${found[0]}"
}
with_window="$(one 'idlewright_*.deb')"
headless="$(one 'idlewright-headless_*.deb')"
archive="$(one 'idlewright-headless-[0-9]*.tar.gz')"

step "checksums"
(cd "$packages" && sha256sum --quiet --check SHA256SUMS-*)

step "what the packages hold"
for deb in "$with_window" "$headless"; do
    strange="$(dpkg-deb --fsys-tarfile "$deb" | tar -tf - | grep -v '/$' | grep -vE \
        '^\./usr/(bin/idlewright|share/(man/man1|doc/idlewright|applications|icons/hicolor|bash-completion/completions|zsh/vendor-completions|fish/vendor_completions\.d)/|share/doc/idlewright)' || true)"
    [[ -z "$strange" ]] || fail "$(basename "$deb") puts files where none belong:"$'\n'"$strange"
    printf '%s: %s bytes, %s files\n' "$(basename "$deb")" "$(stat -c %s "$deb")" \
        "$(dpkg-deb --fsys-tarfile "$deb" | tar -tf - | grep -vc '/$')"
    # whoever gives the packages away puts an address of their own there
    lintian --no-cfg --allow-root --fail-on error --suppress-tags bogus-mail-host,bogus-mail-host-in-debian-changelog "$deb" \
        || fail "lintian finds errors"
done

step "a bare Debian"
scratch="$(mktemp -d)"
bare="${TRY_KEEP:-$scratch/bare}"
screen=
server=
clean() {
    [[ -z "$server" ]] || kill "$server" 2>/dev/null || true
    [[ -z "$screen" ]] || kill "$screen" 2>/dev/null || true
    mountpoint -q "$bare/proc" && umount "$bare/proc"
    rm -rf --one-file-system "$scratch"
}
trap clean EXIT
if [[ ! -x "$bare/usr/bin/apt-get" ]]; then
    # the packages ask for the library of the system that they were built on
    release="$(sed -n 's/^VERSION_CODENAME=//p' /etc/os-release)"
    # shellcheck disable=SC2016
    mirror="$(apt-get indextargets --format '$(SITE)' "Created-By: Packages" "Codename: $release" | head -n 1)"
    [[ -n "$mirror" ]] || fail "apt knows no mirror for $release"
    debootstrap --variant=minbase "$release" "$bare" "$mirror" >"$scratch/log" || { tail "$scratch/log"; fail "debootstrap"; }
fi
mountpoint -q "$bare/proc" || mount -t proc proc "$bare/proc"
cp /etc/resolv.conf /etc/hosts "$bare/etc/"
cp /etc/apt/apt.conf.d/* "$bare/etc/apt/apt.conf.d/" 2>/dev/null || true
inside() { chroot "$bare" /usr/bin/env -i HOME=/ PATH=/usr/sbin:/usr/bin:/sbin:/bin DEBIAN_FRONTEND=noninteractive "$@"; }
inside id trainee >/dev/null 2>&1 || inside useradd --create-home trainee
rm -rf "$bare/home/trainee/first" "$bare/home/trainee/class"
# as somebody who is not root, from a home of their own
trainee() { chroot --userspec=trainee:trainee "$bare" /usr/bin/env -i HOME=/home/trainee PATH=/usr/bin:/bin "$@"; }
at_home() { trainee sh -c 'cd && exec "$@"' sh "$@"; }
for tool in cc rustc Xorg; do ! inside sh -c "command -v $tool" >/dev/null || fail "this Debian is not bare: it has $tool"; done

step "installing"
mkdir -p "$bare/packages"
cp "$with_window" "$headless" "$bare/packages/"
inside apt-get update -qq
inside apt-get install -y -qq --no-install-recommends man-db "/packages/$(basename "$with_window")" "/packages/$(basename "$headless")" >"$scratch/log" 2>&1 \
    || { tail "$scratch/log"; fail "the packages cannot be installed"; }
inside dpkg --status idlewright idlewright-headless | grep -E '^(Package|Status|Version|Depends):'
desktop-file-validate "$bare/usr/share/applications/idlewright.desktop"
[[ -z "$(inside dpkg --verify idlewright idlewright-headless)" ]] || fail "files differ from the package"

step "manual pages and completions"
for page in idlewright idlewright-run idlewright-headless idlewright-headless-class; do
    text="$(inside env MANWIDTH=80 MAN_KEEP_FORMATTING=0 man --warnings "$page" 2>"$scratch/warnings" | col -b)"
    [[ "$text" == *SYNOPSIS* ]] || fail "man $page shows nothing"
    [[ ! -s "$scratch/warnings" ]] || { cat "$scratch/warnings"; fail "man $page has mistakes"; }
done
inside bash -c 'source /usr/share/bash-completion/completions/idlewright && complete -p idlewright'

step "a lesson, by somebody who is not root"
for program in idlewright idlewright-headless; do
    at_home "$program" --version
    at_home "$program" run healthy-idle >"$scratch/healthy" || fail "$program: a healthy car does not idle"
    tail -n 3 "$scratch/healthy"
done
at_home idlewright-headless run idles-high --actions idles-high/solution --out first
at_home idlewright-headless replay first/logbook.jsonl | tail -n 2
at_home idlewright-headless check idles-high --solve
[[ -s "$bare/home/trainee/first/debrief.html" ]] || fail "no debrief was written"

step "a class, its pages asked for from outside"
(at_home idlewright-headless class class --listen 127.0.0.1:0 --lesson idles-high >"$scratch/class" 2>&1) &
server=$!
address=
for _ in $(seq 100); do
    address="$(grep -oE 'http://127\.0\.0\.1:[0-9]+' "$scratch/class" | head -n 1 || true)"
    [[ -z "$address" ]] || break
    sleep 0.2
done
[[ -n "$address" ]] || { cat "$scratch/class"; fail "the class does not open"; }
curl -fsS "$address/" | grep -qi '<!doctype html>' || fail "the class has no page"
pkill -INT -P "$server" 2>/dev/null || kill "$server"
wait "$server" || true
server=

step "no display, and a display that nothing can draw on"
said() { # what is said with exit code 3, by the program and by its icon
    local code=0 text
    text="$(trainee env "$@" 2>&1)" || code=$?
    [[ "$code" == 3 ]] || fail "the exit code is $code, not 3: $text"
    for word in "idlewright run" "idlewright class"; do [[ "$text" == *"$word"* ]] || fail "not said: $word; but: $text"; done
    printf '%s\n' "$text"
}
said idlewright
said idlewright-window
mkfifo "$scratch/number"
Xvfb -displayfd 3 -screen 0 1280x800x24 -nolisten tcp 3>"$scratch/number" 2>/dev/null &
screen=$!
read -r -t 60 number <"$scratch/number" || fail "Xvfb does not start"
# a socket without a file is reached from inside too
said "DISPLAY=:$number" idlewright
said "DISPLAY=:$number" idlewright-window

step "the plain archive, in a folder of one's own"
rm -rf "$bare/home/trainee/plain"
mkdir "$bare/home/trainee/plain"
tar -C "$bare/home/trainee/plain" --strip-components=1 -xzf "$archive"
trainee /home/trainee/plain/bin/idlewright-headless run healthy-idle >/dev/null

step "taken away again"
inside apt-get purge -y -qq idlewright idlewright-headless >/dev/null 2>&1
left="$(find "$bare/usr" "$bare/etc" "$bare/var/lib" -xdev -name '*idlewright*' -not -path '*/dpkg/*' -not -path '*/apt/*')"
[[ -z "$left" ]] || fail "left behind:"$'\n'"$left"
printf '\nall was there, and all is gone\n'
