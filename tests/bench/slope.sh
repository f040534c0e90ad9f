#!/usr/bin/env bash
# How time and memory of a check grow with the book: from 1,000 records to 300,000, nothing kept between runs.
#
#   tests/bench/slope.sh [MOST]          300,000 unless told otherwise; 300,000 records take about 1.5 GB of disk for a while
#
# Prints a row a size and the slope of a straight line through the logarithms: 1 is growth in proportion. Run it on a quiet machine.
set -euo pipefail
cd "$(dirname "$0")/../.."
most=${1:-300000}
export RAYON_NUM_THREADS=2 NO_COLOR=1 LC_ALL=C
cargo build --quiet --release
make_book=$(cargo bench --no-run --bench make_book 2>&1 | sed -n "s|.*tests/bench/make_book.rs (\(.*\))|\1|p")
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
python3 - "$make_book" "${CARGO_TARGET_DIR:-target}/release/ampledger" "$folder" "$most" <<'PY'
import math, os, shutil, statistics, subprocess, sys, time

make_book, check, folder, most = sys.argv[1:]
rows = []
print(f"{'records':>9} {'seconds':>9} {'us a record':>12} {'peak MB':>9} {'kB a record':>12}")
for records in (1_000, 3_000, 10_000, 30_000, 100_000, 300_000):
    if records > int(most):
        break
    book = os.path.join(folder, "book")
    subprocess.run([make_book, book, str(records), "2"], check=True, stdout=subprocess.DEVNULL)
    times, peaks = [], []
    for turn in range(4 if records <= 30_000 else 2):
        process = subprocess.Popen([check, "check", book, "--on", "2026-11-25", "--no-cache", "--format", "concise"], stdout=subprocess.DEVNULL)
        begun = time.perf_counter()
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        assert process.returncode in (0, 1), process.returncode
        if turn:
            times.append(time.perf_counter() - begun)
            peaks.append(used.ru_maxrss * 1024)
    took, peak = statistics.median(times), max(peaks)
    rows.append((records, took, peak))
    print(f"{records:>9,} {took:>9.3f} {took / records * 1e6:>12.1f} {peak / 1e6:>9.1f} {peak / records / 1e3:>12.2f}", flush=True)
    shutil.rmtree(book)


def slope(values):
    xs, ys = [math.log(row[0]) for row in rows], [math.log(value) for value in values]
    mx, my = statistics.mean(xs), statistics.mean(ys)
    return sum((x - mx) * (y - my) for x, y in zip(xs, ys)) / sum((x - mx) ** 2 for x in xs)


print(f"slope of time {slope([row[1] for row in rows]):.3f}, of memory {slope([row[2] for row in rows]):.3f}")
if rows[-1][0] == 300_000:
    print(f"300,000 records in {rows[-1][2] / 2**30:.2f} GiB (wanted: at most 2)")
PY
