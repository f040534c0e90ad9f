#!/usr/bin/env bash
# What each stage of a check costs a record: index, decode, rules, locate, judge, render.
#
#   tests/bench/stages.sh [RECORDS] [ROUNDS]          10,000 records and 5 rounds, unless told otherwise
#
# Run it on a quiet machine.
set -euo pipefail
cd "$(dirname "$0")/../.."
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cargo bench --quiet --bench make_book -- "$folder/book" "${1:-10000}" 2
cargo bench --quiet --bench stages -- "$folder/book" "${2:-5}"
