#!/usr/bin/env bash
# What a whole check costs beside a bare typed decode of the same files, in time and in memory.
#
#   tests/bench/compare.sh [RUNS]
#
# Makes three books in a temporary folder: 10,000 records of about 4 kB with something wrong in 2 % of them, and 1,000 and 10,000 with
# nothing wrong. Figures are medians of RUNS (default 9) runs, the two programs turn about, each with two threads. Run it on a quiet machine.
# Needs GNU time for the memory (Debian and Ubuntu: apt install time).
set -euo pipefail
cd "$(dirname "$0")/../.."
runs=${1:-9}
time=$(type -P time || true)
[ -n "$time" ] || { echo "GNU time is needed: apt install time" >&2; exit 2; }
export RAYON_NUM_THREADS=2 NO_COLOR=1 LC_ALL=C

cargo build --quiet --release
benches=$(cargo bench --no-run --bench make_book --bench decode 2>&1)
program_of() { sed -n "s|.*tests/bench/$1.rs (\(.*\))|\1|p" <<<"$benches"; }
make_book=$(program_of make_book)
decode=$(program_of decode)
check=${CARGO_TARGET_DIR:-target}/release/ampledger

folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
echo "books:"
for book in "mixed 10000 2" "small 1000 0" "clean 10000 0"; do
    read -r name records percent <<<"$book"
    printf '  %-6s %s\n' "$name" "$("$make_book" "$folder/$name" "$records" "$percent")"
done

# measure NAME COMMAND...: seconds into $folder/NAME.s, peak kB into $folder/NAME.kb; a check that finds something exits 1
measure() {
    local name=$1 from to
    shift
    from=$EPOCHREALTIME
    "$time" -q -f %M -o "$folder/kb" -- "$@" >"$folder/$name.out" || [ $? -eq 1 ]
    to=$EPOCHREALTIME
    tail -1 "$folder/kb" >>"$folder/$name.kb"
    awk -v from="$from" -v to="$to" 'BEGIN { printf "%.4f\n", to - from }' >>"$folder/$name.s"
}
median() { sort -n "$1" | awk '{ v[NR] = $1 } END { print v[int((NR + 1) / 2)] }'; }

# Once for the page cache.
"$decode" "$folder/mixed" >/dev/null
for _ in $(seq "$runs"); do
    measure decode "$decode" "$folder/mixed"
    measure check "$check" check "$folder/mixed" --on 2026-11-25 --format concise
    measure small "$check" check "$folder/small" --on 2026-11-25 --format concise
    measure clean "$check" check "$folder/clean" --on 2026-11-25 --format concise
done

echo
echo "decode said: $(tail -1 "$folder/decode.out")"
echo "check said:  $(tail -1 "$folder/check.out")"
echo "clean said:  $(tail -1 "$folder/clean.out")"
echo
awk -v ds="$(median "$folder/decode.s")" -v dk="$(median "$folder/decode.kb")" \
    -v cs="$(median "$folder/check.s")" -v ck="$(median "$folder/check.kb")" \
    -v sk="$(median "$folder/small.kb")" -v lk="$(median "$folder/clean.kb")" -v runs="$runs" 'BEGIN {
    printf "medians of %d runs, two threads\n", runs
    printf "%-34s %10s %12s\n", "", "seconds", "peak MB"
    printf "%-34s %10.3f %12.1f\n", "typed decode alone, 10,000 records", ds, dk / 1024
    printf "%-34s %10.3f %12.1f\n", "whole check, 10,000 records", cs, ck / 1024
    printf "%-34s %10.2f %12s\n", "ratio (wanted: under 3)", cs / ds, ""
    printf "%-34s %10s %12.2f\n", "growth, kB a clean record (at most 4)", "", (lk - sk) / 9000
}'
