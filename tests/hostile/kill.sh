#!/usr/bin/env bash
# Kills every command that writes, at a random moment, again and again: nothing that was there may be lost, and nothing half-written left
# under a name that somebody would read.
#
#   tests/hostile/kill.sh [PROGRAM] [ROUNDS] [COMMAND...]          target/debug/ampledger, 100 rounds, every command
#
# Prints how many runs were killed before they ended, and stops at the first loss. Needs Python 3.
set -euo pipefail
cd "$(dirname "$0")/../.."
program=$(realpath "${1:-target/debug/ampledger}")
rounds=${2:-100}
exec python3 - "$program" "$rounds" "${@:3}" <<'PY'
import hashlib, os, random, shutil, signal, subprocess, sys, tempfile, time
from pathlib import Path

program, rounds, only = sys.argv[1], int(sys.argv[2]), sys.argv[3:]
dice = random.Random(20261125)
source = Path("tests/sound-book").resolve()
job = "elm-row/2026-11-02-shed"
day = ["--on", "2026-11-25"]


def seen(folder):
    """Every file with its bytes; temporary ones, which begin with a dot and are nobody's record, apart."""
    files = {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    return {name: bytes for name, bytes in files.items() if "/.ampledger-unfinished-" not in f"/{name}"}


def damage(book):
    """Sixty copies of the visit that --fix has something to do with."""
    text = (book / f"sites/{job}.md").read_text()
    for number in range(60):
        copy = book / f"sites/elm-row/2025-{1 + number // 28:02}-{1 + number % 28:02}-copy.md"
        copy.write_text(text.replace("status: issued", "status:\u00a0draft", 1).replace("---\n", "\u2014\n", 1))


def draft(book):
    path = book / f"sites/{job}.md"
    path.write_text(path.read_text().replace("issued", "complete", 1))


COMMANDS = [
    ("check --fix", ["check", "--fix", *day], damage),
    ("check --fix --unsafe", ["check", "--fix", "--unsafe", *day], damage),
    ("check --accept", ["check", "--accept", "--reason", "as bought", *day], damage),
    ("check, kept", ["check", *day], damage),
    ("seal", ["seal", job, "--anyway", "--reason", "tried", *day], None),
    ("new job", ["new", "job", "elm-row", "--kind", "callout", *day], None),
    ("pack", ["pack", "elm-row", "--for", "buyer", "--out", "OUT/pack", *day], None),
    ("paper", ["paper", job, "--out", "OUT/paper.html", "--replace", *day], None),
    ("report", ["report", "--out", "OUT/report", *day], damage),
    ("export", ["export", "--out", "OUT/tables"], damage),
    ("due --ical", ["due", "--ical", "OUT/owed.ics", "--within", "3650d", *day], None),
    ("init", ["init", "OUT/new-book", "--nation", "england", "--site", "oak-lane"], None),
]
total = killed = 0
for name, command, prepare in COMMANDS:
    if only and name not in only:
        continue
    here = 0
    span = None
    for turn in range(rounds + 1):
        with tempfile.TemporaryDirectory() as folder:
            folder = Path(folder)
            book, out = folder / "book", folder / "out"
            shutil.copytree(source, book)
            out.mkdir()
            if prepare:
                prepare(book)
            if name == "paper":
                (out / "paper.html").write_text("an earlier paper\n")
            before = seen(folder)
            words = [word.replace("OUT", str(out)) for word in command]
            run = lambda: subprocess.Popen(
                [program, *words], cwd=book, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env={**os.environ, "AMPLEDGER_CACHE_DIR": str(folder / "kept")}
            )
            begun = time.perf_counter()
            process = run()
            if span is None:
                # The first run of each is let through, for how long it takes and what a whole result is.
                status = process.wait()
                assert status in (0, 1), (name, status)
                span, whole = time.perf_counter() - begun, seen(folder)
                continue
            time.sleep(dice.uniform(0, span * 1.05))
            process.send_signal(signal.SIGKILL)
            status = process.wait()
            here += status == -signal.SIGKILL
            after = seen(folder)
            for path, bytes in after.items():
                # The list of a report's own files is written before them on purpose, so that the next run knows them for its own.
                if path.startswith("kept/") or path == "out/report/.ampledger-report.json":
                    continue
                # Either as it was, or as a whole run makes it; there is nothing between.
                if bytes not in (before.get(path), whole.get(path)):
                    sys.exit(f"{name}, round {turn}: {path} is neither old nor new:\n{bytes[:300]!r}")
            if lost := [path for path in before if path not in after]:
                sys.exit(f"{name}, round {turn}: lost {lost}")
            # What was left does not stand in the way of the next run, which comes to the same end.
            if name not in ("new job", "seal", "pack", "init", "export", "due --ical"):
                assert run().wait() in (0, 1), name
                again = {path: bytes for path, bytes in seen(folder).items() if not path.startswith("kept/")}
                wanted = {path: bytes for path, bytes in whole.items() if not path.startswith("kept/")}
                if again != wanted:
                    sys.exit(f"{name}, round {turn}: the next run ends otherwise: {[p for p in set(again) | set(wanted) if again.get(p) != wanted.get(p)]}")
    total += rounds
    killed += here
    print(f"{name:<24} {rounds} runs, {here} killed before their end", flush=True)
print(f"{killed} of {total} runs were killed; nothing was lost and nothing half-written")
PY
