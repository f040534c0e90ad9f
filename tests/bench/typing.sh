#!/usr/bin/env bash
# How long after a keystroke an editor is told what stands, in a book of 10,000 records (wanted: under 50 ms).
#
#   tests/bench/typing.sh [RECORDS]
#
# Run it on a quiet machine.
set -euo pipefail
cd "$(dirname "$0")/../.."
records=${1:-10000}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cargo bench --quiet --bench make_book -- "$folder/book" "$records" 2
cargo bench --quiet --bench typing -- "$folder/book"
