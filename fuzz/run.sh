#!/usr/bin/env bash
# Fuzzes every target, or those that are named, for so many seconds each: fuzz/run.sh [SECONDS] [TARGET …]
# Needs a nightly compiler and cargo-fuzz (`cargo install cargo-fuzz --locked`). Inputs begin with what ships.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
seconds="${1:-60}"
shift || true
targets=("$@")
((${#targets[@]})) || mapfile -t targets < <(sed -n 's/^name = "\([a-z]*\)"$/\1/p' fuzz/Cargo.toml)

# Seeds, made anew from what ships; what fuzzing found earlier stays beside them.
seed() { mkdir -p "fuzz/corpus/$1"; cp -- "$3" "fuzz/corpus/$1/seed-$2"; }
for file in scenarios/*/*/scenario.toml docs/example-lesson/scenario.toml; do
    seed scenario "$(basename "$(dirname "$file")")" "$file"
    { cat "$file"; printf '\0setup.part.injector.cylinder2.error_pct'; } \
        >"fuzz/corpus/scenario/seed-over-$(basename "$(dirname "$file")")"
done
for file in scenarios/*/*/{solution,trap-*}.toml; do
    seed actions "$(basename "$(dirname "$file")")-$(basename "$file")" "$file"
done
seed rubric shipped docs/rubric-example.toml
seed rubric own assets/rubric.toml
for file in assets/cars/*.toml; do seed car "$(basename "$file")" "$file"; done
mkdir -p fuzz/corpus/{logbook,ticket,snapshot,frame}
# a ticket for the text "a scenario", and an unsealed key
hash="$(printf 'a scenario' | sha256sum | cut -d' ' -f1)"
printf '{"idlewright_ticket":1,"scenario":"idles-high","hash":"%s","class_seed":7,"trainee":"bench 1","seal":"%s"}\n' \
    "$hash" "$hash" >fuzz/corpus/ticket/seed
# requests to the module: session, codes, values, parameters, a routine; in pieces of 16 bytes
frame() { printf '\x02\xfd\x80\x01\x00\x00\x00%b\x0e\x00\x10\x00%b' "$1" "$2"; }
{ printf '\x10'; frame '\x06' '\x10\x03'; frame '\x07' '\x19\x02\xff'; frame '\x07' '\x22\xf4\x0c'; } >fuzz/corpus/frame/seed-read
{ printf '\x10'; frame '\x06' '\x27\x01'; frame '\x08' '\x31\x01\x03\x01'; frame '\x05' '\x03'; frame '\x06' '\x09\x02'; } \
    >fuzz/corpus/frame/seed-do
{ printf '\x01'; frame '\x06' '\x01\x0c'; frame '\x08' '\x14\xff\xff\xff'; } >fuzz/corpus/frame/seed-bytes
printf '\x02\x00\x00\x10\x01' >fuzz/corpus/snapshot/seed-one
printf '\x02\x00\x00\x80\x01\x00\x10\x00\x02' >fuzz/corpus/snapshot/seed-two
printf '\x10\x00\x00\x80\x01' >fuzz/corpus/snapshot/seed-file
# logbooks that this build writes; IDLEWRIGHT names a program that is built already
if [[ " ${targets[*]} " == *" logbook "* ]]; then
    made="$(mktemp -d)"
    trap 'rm -rf -- "$made"' EXIT
    if [[ -n "${IDLEWRIGHT:-}" ]]; then
        idlewright=("$IDLEWRIGHT")
    else
        idlewright=(cargo run --quiet --no-default-features --bin idlewright-headless --)
    fi
    # exit code 1: an expectation was not met, as a trap's are not
    book() { "${idlewright[@]}" run "${@:2}" --no-cache --out "$made/$1" >/dev/null 2>&1 || (($? == 1)); }
    book open healthy-idle --lid open
    book closed learn-will-not-start --actions learn-will-not-start/trap-1
    for run in open closed; do cp -- "$made/$run/logbook.jsonl" "fuzz/corpus/logbook/seed-$run"; done
fi

status=0
for target in "${targets[@]}"; do
    printf '\n== %s\n' "$target"
    cargo +nightly fuzz run "$target" -- -max_total_time="$seconds" -timeout=20 -rss_limit_mb=2048 -max_len=65536 \
        -print_final_stats=1 || status=1
done
exit "$status"
