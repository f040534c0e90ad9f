#!/usr/bin/env bash
# What the program costs before it has done anything: CPU time, user and system, of three short commands (wanted: under 10 ms each).
#
#   tests/bench/startup.sh [RUNS]          medians of 50 runs, unless told otherwise
set -euo pipefail
cd "$(dirname "$0")/../.."
runs=${1:-50}
export NO_COLOR=1 LC_ALL=C AMPLEDGER_CACHE_DIR=
cargo build --quiet --release
python3 - "${CARGO_TARGET_DIR:-target}/release/ampledger" "$runs" <<'PY'
import os, statistics, subprocess, sys

program, runs = sys.argv[1], int(sys.argv[2])
for command in (["--version"], ["explain", "zs-over-limit"], ["check", "tests/sound-book/sites/elm-row/2026-11-02-shed.md", "--on", "2026-11-25"]):
    times = []
    for _ in range(runs):
        process = subprocess.Popen([program, *command], stdout=subprocess.DEVNULL)
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        assert process.returncode == 0, (command, process.returncode)
        times.append(used.ru_utime + used.ru_stime)
    print(f"{' '.join(command):<75} {statistics.median(times) * 1e3:6.1f} ms, longest {max(times) * 1e3:.1f} ms")
PY
