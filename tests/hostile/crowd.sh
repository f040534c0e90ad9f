#!/usr/bin/env bash
# A hundred thousand files where a book has a dozen: what each command takes for them, in seconds and memory, beside a tenth of them.
#
#   tests/hostile/crowd.sh [MOST]          100,000 unless told otherwise
#
# Four crowds: visits of one site, photographs of one site, strangers in one folder, and sites. Prints a row a command; a factor far over 10 is
# time that grows faster than the crowd. A command that does not end with 0, 1 or 2, or takes over ten minutes, stops the script. Needs Python 3.
set -euo pipefail
cd "$(dirname "$0")/../.."
cargo build --quiet --release
exec python3 - "$(realpath "${CARGO_TARGET_DIR:-target}/release/ampledger")" "${1:-100000}" <<'PY'
import datetime, os, shutil, subprocess, sys, tempfile, time
from pathlib import Path

program, most = sys.argv[1], int(sys.argv[2])
source = Path("tests/sound-book").resolve()
visit = (source / "sites/elm-row/2026-11-02-shed.md").read_text()
day = ["--on", "2026-11-25"]
note = "---\nrecord: job\nkind: survey\nstatus: planned\ntitle: Look at the board\n---\n"


def names(count):
    """Names of visits, eight a day, going back from the day of the sound one."""
    for number in range(count):
        yield f"{datetime.date(2026, 11, 1) - datetime.timedelta(days=number // 8)}-look-{number}"


def visits(book, count):
    for name in names(count):
        (book / f"sites/elm-row/{name}.md").write_text(note)


def photographs(book, count):
    folder = book / "sites/elm-row/photos"
    folder.mkdir()
    for name in names(count):
        (folder / f"{name}.jpg").write_bytes(b"\xff\xd8\xff\xd9")


def strangers(book, count):
    for name in names(count):
        (book / f"sites/elm-row/{name}.txt").write_bytes(b"")


def sites(book, count):
    text = (book / "sites/elm-row/site.md").read_text()
    for number in range(count):
        folder = book / f"sites/place-{number}"
        folder.mkdir()
        (folder / "site.md").write_text(text)


COMMANDS = [
    ["check", "--no-cache", "--format", "concise", *day],
    ["check", "sites/elm-row", "--format", "json", "--no-cache", *day],
    ["due", *day],
    ["find", "shed"],
    ["lines"],
    ["units"],
    ["history", "elm-row", *day],
    ["export", "--out", "OUT/tables"],
    ["report", "--out", "OUT/report", *day],
    ["pack", "elm-row", "--for", "buyer", "--out", "OUT/pack", *day],
    ["new", "job", "elm-row", "--kind", "callout", *day],
]


def run(book, words, out):
    words = [word.replace("OUT", str(out)) for word in words]
    begun = time.perf_counter()
    process = subprocess.Popen(
        [program, *words], cwd=book, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env={**os.environ, "AMPLEDGER_CACHE_DIR": ""}
    )
    while True:
        pid, status, used = os.wait4(process.pid, os.WNOHANG)
        if pid:
            break
        if time.perf_counter() - begun > 600:
            process.kill()
            process.wait()
            sys.exit(f"{' '.join(words)}: not done in ten minutes")
        time.sleep(0.001)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode in (0, 1, 2), (words, process.returncode)
    return time.perf_counter() - begun, used.ru_maxrss / 1e3, process.returncode


print(f"{'crowd':<12} {'command':<28} {'status':>6} {most // 10:>9,} {most:>9,} {'factor':>7} {'MB':>7}")
for crowd in (visits, photographs, strangers, sites):
    took = {}
    for count in (most // 10, most):
        with tempfile.TemporaryDirectory() as folder:
            book = Path(folder) / "book"
            shutil.copytree(source, book)
            crowd(book, count)
            for number, words in enumerate(COMMANDS):
                out = Path(folder) / f"out-{number}"
                out.mkdir()
                took[number, count] = run(book, words, out)
                shutil.rmtree(out)
    for number, words in enumerate(COMMANDS):
        (few, _, _), (many, peak, status) = took[number, most // 10], took[number, most]
        short = " ".join(word for word in words[:3] if not word.startswith("-") and not word.startswith("OUT") and not word[0].isdigit())
        print(f"{crowd.__name__:<12} {short:<28} {status:>6} {few:>8.2f}s {many:>8.2f}s {many / few:>7.1f} {peak:>7.0f}", flush=True)
PY
