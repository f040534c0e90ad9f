#!/usr/bin/env bash
# Feeds ampledger anything at all, and prints what came of it. Needs a nightly compiler, cargo-fuzz and Python 3.
#
#   tests/fuzz/run.sh [SECONDS] [TARGET...]        60 seconds each and every target, unless told otherwise
#
# A target ends after SECONDS or 10,000,000 executions (FUZZ_RUNS says otherwise), whichever comes first. What it has learnt stays in the folder
# FUZZ_DIR (default: a temporary one), where a later run goes on; what broke a promise is left there in TARGET-found and told.
# SANITIZER=address looks at memory as well: this crate has no unsafe code, the YAML scanner under it has. Exit status 1 when something was found.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
seconds=${1:-60}
shift || true
targets=("$@")
[ "${#targets[@]}" -gt 0 ] || targets=(record body query lsp exif fix)
work=${FUZZ_DIR:-$(mktemp -d)}
mkdir -p "$work"
work=$(cd "$work" && pwd)
cd "$here"
# Following every comparison of the code takes nearly half of the time, and most of it goes into the YAML scanner.
how=(--fuzz-dir . -s "${SANITIZER:-none}" --no-trace-compares)

cargo +nightly fuzz build "${how[@]}"
python3 seeds.py "$work/seeds"
printf '%-8s %12s %8s %8s  %s\n' target executions seconds corpus found
status=0
for target in "${targets[@]}"; do
    mkdir -p "$work/$target" "$work/$target-found"
    cargo +nightly fuzz run "${how[@]}" "$target" "$work/$target" "$work/seeds/$target" -- \
        -runs="${FUZZ_RUNS:-10000000}" -max_total_time="$seconds" -timeout=20 -rss_limit_mb=2048 -max_len=4096 -print_final_stats=1 \
        -artifact_prefix="$work/$target-found/" >"$work/$target.log" 2>&1 || status=1
    executions=$(sed -n 's/^stat::number_of_executed_units: *//p' "$work/$target.log" | tail -1)
    took=$(sed -n 's/^Done [0-9]* runs in \([0-9]*\) second.*/\1/p' "$work/$target.log" | tail -1)
    printf '%-8s %12s %8s %8s  %s\n' "$target" "${executions:-none}" "${took:-stopped}" \
        "$(find "$work/$target" -type f | wc -l)" "$(find "$work/$target-found" -type f | wc -l)"
done
[ "$status" -eq 0 ] || echo "what was found and the logs are in $work" >&2
exit "$status"
