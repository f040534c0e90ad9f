"""Runs each program of the comparison over one tree and tells what it took; tests/bench/peers.sh prepares what it needs.

A program that should see faults of form is held to the list that the generator wrote: a validator that found another number of files
has not done the same work, and the run stops.
"""

import argparse
import os
import platform
import re
import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path

DAY = "2026-11-25"
# What takes longer than this is run once, seconds.
LONG = 30.0
HERE = Path(__file__).resolve().parent


def run(command, env=None, cwd=None):
    """Seconds, peak memory of the largest process in bytes, exit status, output."""
    with open(os.devnull) as nothing, subprocess.Popen(
        command, stdin=nothing, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, env={**os.environ, **(env or {})}, cwd=cwd
    ) as process:
        begun = time.perf_counter()
        said = process.stdout.read()
        _, status, used = os.wait4(process.pid, 0)
        took = time.perf_counter() - begun
        process.returncode = os.waitstatus_to_exitcode(status)
    return took, used.ru_maxrss * 1024, process.returncode, said.decode(errors="replace")


def split(tree, to):
    """Cuts the front matter of every record into a file of its own, one folder a kind. Counted as part of what needs it."""
    shutil.rmtree(to, ignore_errors=True)
    for kind in ("job", "site"):
        (to / kind).mkdir(parents=True)
    for path in sorted((tree / "sites").glob("*/*.md")):
        front = path.read_text(encoding="utf-8")[4:].split("\n---\n", 1)[0]
        kind = "site" if path.name == "site.md" else "job"
        (to / kind / f"{path.parent.name}-{path.stem}.yaml").write_text(front + "\n", encoding="utf-8")


class Comparison:
    def __init__(self, args):
        self.args = args
        self.tree = args.folder / "book"
        self.faults = len((self.tree / "faults-of-form.txt").read_text().split())
        self.rows = []

    def measure(self, name, command, does, *, bad=None, ends=(0, 1), env=None, cwd=None, before=None):
        """One row. `bad` takes the number of files found bad out of the output; it must be that of the list."""
        times, peaks = [], []
        for turn in range(self.args.runs + 1):
            added = 0.0
            if before:
                begun = time.perf_counter()
                before()
                added = time.perf_counter() - begun
            took, peak, status, said = run(command, env=env, cwd=cwd)
            if status not in ends:
                sys.exit(f"{name} ended with {status}:\n{said[-2000:]}")
            if bad is not None and (found := bad(said)) != self.faults:
                sys.exit(f"{name} found {found} files with faults of form, and there are {self.faults}:\n{said[-2000:]}")
            is_long = took + added > LONG
            # The first run fills the page cache and is not counted, unless it is the only one.
            if turn > 0 or is_long:
                times.append(took + added)
                peaks.append(peak)
            if is_long:
                break
        row = (name, does, statistics.median(times), max(peaks), len(times))
        self.rows.append(row)
        print(f"{name:<44} {row[2]:9.3f} s {row[3] / 2**20:8.0f} MB {row[4]:3} runs", flush=True)
        return row[2]

    def all(self):
        args, tree = self.args, self.tree
        cache = {"AMPLEDGER_CACHE_DIR": str(args.folder / "kept")}
        check = [args.check, "check", tree, "--on", DAY, "--format", "concise"]
        self.cold = self.measure("ampledger check, nothing kept", [*check, "--no-cache"], "all rules")
        self.warm = self.measure("ampledger check, second run", check, "all rules", env=cache)
        self.read = self.measure("walk and read the bytes", [args.decode, tree, "read"], "nothing")
        self.measure("rg -c zs_ohm", ["rg", "--no-config", "-c", "zs_ohm", tree], "one word")
        self.bare = self.measure("serde_yaml into the record types", [args.decode, tree], "decoding alone")
        front = args.folder / "front"
        cut = lambda: split(tree, front)
        python, venv = args.peers / "venv/bin/python", args.peers / "venv/bin"
        last_number = lambda said: int(re.findall(r"(\d+) bad", said)[-1])
        schemas = [args.folder / "job.json", args.folder / "site.json"]
        validate = HERE / "validate.py"
        one_process = []
        for library in ("jsonschema_rs", "jsonschema"):
            name = f"Python, PyYAML (C) and {library}"
            one_process.append(self.measure(name, [python, validate, library, tree, *schemas], "schema", bad=last_number))
        node = {"NODE_PATH": str(args.peers / "npm/node_modules")}
        one_process.append(
            self.measure("Node, js-yaml and ajv, compiled", ["node", HERE / "validate.cjs", tree, *schemas], "schema", bad=last_number, env=node)
        )
        machine = f"jsonschema-{platform.system().lower()}-{platform.machine()}"
        compiled = next(args.peers.glob(f"venv/lib/python3*/site-packages/sourcemeta_jsonschema/{machine}"))
        both = "rc=0; for kind in job site; do {} || rc=1; done; exit $rc"
        line = f'"{compiled}" validate "{args.folder}/$kind.json" "{front}/$kind" --extension .yaml --continue'
        named = lambda said: len(set(re.findall(r"^fail: (\S+)", said, re.M)))
        one_process.append(self.measure("cut, then sourcemeta jsonschema (C++)", ["sh", "-c", both.format(line)], "schema", bad=named, before=cut))
        self.fastest = min(one_process)
        line = f'find "{front}/$kind" -name "*.yaml" -print0 | sort -z | xargs -0 -n 100000 "{venv}/check-jsonschema" --schemafile "{args.folder}/$kind.json"'
        named = lambda said: len(set(re.findall(r"/front/((?:job|site)/[^:]+\.yaml)::", said)))
        usual = self.measure("cut, then check-jsonschema", ["sh", "-c", both.format(line)], "schema", bad=named, before=cut)
        settings = args.folder / "yamllint.yaml"
        settings.write_text("extends: relaxed\nrules: {line-length: disable}\n")
        usual += self.measure("yamllint", [venv / "yamllint", "-c", settings, front], "form of YAML")
        lint = args.folder / ".markdownlint-cli2.jsonc"
        lint.write_text('{"config": {"default": true, "MD013": false, "MD022": false, "MD024": false, "MD025": false, "MD032": false}, "noProgress": true}\n')
        linter = args.peers / "npm/node_modules/.bin/markdownlint-cli2"
        usual += self.measure("markdownlint-cli2", [linter, "--config", lint, "sites/**/*.md"], "form of Markdown", cwd=tree)
        self.usual = usual

    def table(self):
        cpu = next((line.split(":", 1)[1].strip() for line in open("/proc/cpuinfo") if line.startswith("model name")), platform.machine())
        memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
        size = sum(path.stat().st_size for path in self.tree.rglob("*.md"))
        lines = [
            "# What a check costs beside other tools",
            "",
            f"Written by `tests/bench/peers.sh {self.args.records} {self.args.runs}` on {os.cpu_count()} cores of {cpu}, {memory:.0f} GiB, "
            f"{platform.system()} {platform.machine()}: {self.args.records:,} generated records and their sites, {size / 2**20:.0f} MiB, "
            f"{self.faults} files with a fault of form, which every schema validator below has found. Medians; peak memory of the largest process. "
            "The files were in the page cache.",
            "",
            "| program | looks at | seconds | times the cold check | peak MB | runs |",
            "|---|---|---:|---:|---:|---:|",
        ]
        for name, does, took, peak, count in self.rows:
            lines.append(f"| {name} | {does} | {took:.3f} | {took / self.cold:.2f} | {peak / 2**20:.0f} | {count} |")
        marks = [
            ("the cold check, in times of the bare decoding", self.cold / self.bare, "at most 1.25", self.cold / self.bare <= 1.25),
            ("the second run, in times of reading the bytes", self.warm / self.read, "at most 3", self.warm / self.read <= 3),
            ("the fastest that sees only the schema, in times of the cold check", self.fastest / self.cold, "over 1", self.fastest > self.cold),
            ("cut, check-jsonschema, yamllint and markdownlint-cli2, in times of the cold check", self.usual / self.cold, "at least 300", self.usual / self.cold >= 300),
            ("the same, in times of the second run", self.usual / self.warm, "none set", None),
        ]
        lines += ["", "| mark | measured | wanted | met |", "|---|---:|---|---|"]
        lines += [f"| {what} | {figure:.2f} | {wanted} | {'' if met is None else 'yes' if met else 'no'} |" for what, figure, wanted, met in marks]
        return "\n".join(lines) + "\n"


def main():
    parser = argparse.ArgumentParser()
    for name in ("check", "decode", "folder", "peers", "table"):
        parser.add_argument(f"--{name}", type=lambda text: Path(text).resolve(), required=True)
    parser.add_argument("--records", type=int, required=True)
    parser.add_argument("--runs", type=int, required=True)
    comparison = Comparison(parser.parse_args())
    comparison.all()
    table = comparison.table()
    comparison.args.table.write_text(table, encoding="utf-8")
    print("\n" + table)


main()
