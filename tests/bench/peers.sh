#!/usr/bin/env bash
# What a check costs beside reading, searching and decoding the same files, and beside what somebody would put together from general tools:
# front matter cut out, a JSON Schema validator, a YAML linter and a Markdown linter. The same tree for all, one after the other.
#
#   tests/bench/peers.sh [RECORDS] [RUNS]          10,000 records and 5 runs, unless told otherwise
#
# Prints medians, ratios and peak memory, and writes the table into tests/bench/RESULTS.md. What takes more than half a minute is run once.
# Tools that are not Rust are fetched with pip and npm into the folder PEERS_DIR (default: a temporary one). Needs Python 3 with venv,
# Node with npm, and ripgrep. Run it on a quiet machine.
set -euo pipefail
cd "$(dirname "$0")/../.."
records=${1:-10000}
runs=${2:-5}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
peers=${PEERS_DIR:-$folder/peers}
export RAYON_NUM_THREADS=2 NO_COLOR=1 LC_ALL=C

for tool in python3 npm rg; do command -v "$tool" >/dev/null || { echo "$tool is needed" >&2; exit 2; }; done
cargo build --quiet --release
benches=$(cargo bench --no-run --bench make_book --bench decode 2>&1)
program_of() { sed -n "s|.*tests/bench/$1.rs (\(.*\))|\1|p" <<<"$benches"; }

mkdir -p "$peers"
[ -x "$peers/venv/bin/python" ] || python3 -m venv "$peers/venv"
"$peers/venv/bin/pip" install --quiet --disable-pip-version-check \
    check-jsonschema==0.39.0 jsonschema==4.26.0 jsonschema-rs==0.60.3 sourcemeta-jsonschema==17.3.0 pyyaml==6.0.4 yamllint==1.38.0
npm install --silent --no-audit --no-fund --prefix "$peers/npm" ajv@8 ajv-formats@3 js-yaml@4 markdownlint-cli2@0.23 >/dev/null

"$(program_of make_book)" "$folder/book" "$records" 2
for kind in job site; do target/release/ampledger schema "$kind" >"$folder/$kind.json"; done
"$peers/venv/bin/python" tests/bench/peers.py \
    --check "${CARGO_TARGET_DIR:-target}/release/ampledger" --decode "$(program_of decode)" \
    --folder "$folder" --peers "$peers" --records "$records" --runs "$runs" --table tests/bench/RESULTS.md
