#!/usr/bin/env bash
# Installs the hook that this repository offers, with the framework pre-commit, in a repository with a book in it, and commits twice: a
# bad record, which it must block, and the same record mended.
# Usage: tests/hooks/pre_commit.sh PYTHON PROGRAM, where PYTHON has the package pre_commit and PROGRAM is the built ampledger.
set -euo pipefail
python=$1 program=$2
cd "$(dirname "$0")/../.."
source=$PWD
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

unset GIT_DIR GIT_WORK_TREE GIT_INDEX_FILE GIT_PREFIX
export GIT_CONFIG_GLOBAL=/dev/null GIT_CONFIG_NOSYSTEM=1 PRE_COMMIT_HOME="$work/cache" PRE_COMMIT_COLOR=never
export GIT_AUTHOR_NAME='A. N. Other' GIT_AUTHOR_EMAIL=a@example.invalid GIT_COMMITTER_NAME='A. N. Other' GIT_COMMITTER_EMAIL=a@example.invalid
PATH="$(dirname "$program"):$PATH"

# What offers the hook: a repository with the file as it is here.
git init --quiet "$work/offer"
cp "$source/.pre-commit-hooks.yaml" "$work/offer"
git -C "$work/offer" add --all
git -C "$work/offer" commit --quiet --message 'the hooks'

# What uses it: the book in a folder, beside other files.
git init --quiet "$work/use"
cd "$work/use"
cp -r "$source/tests/sound-book" jobs
cat >.pre-commit-config.yaml <<END
repos:
  - repo: $work/offer
    rev: $(git -C "$work/offer" rev-parse HEAD)
    hooks:
      - {id: ampledger-check-system, args: [jobs, --on, "2026-11-25"]}
END
git add --all
git commit --quiet --message 'the book'
"$python" -m pre_commit install >/dev/null

job=jobs/sites/elm-row/2026-11-02-shed.md
sed 's/zs_ohm: 0.64/zs_ohm: 64/' "$source/tests/sound-book/sites/elm-row/2026-11-02-shed.md" >"$job"
git add --all
if git commit --quiet --message 'a bad record' >"$work/said" 2>&1; then
    cat "$work/said"
    echo "the bad record was committed" >&2
    exit 1
fi
grep -q 'danger zs-over-limit main/2' "$work/said" || { cat "$work/said"; echo "the hook did not say why" >&2; exit 1; }
[ "$(git rev-list --count HEAD)" -eq 1 ]

sed 's/zs_ohm: 0.64/zs_ohm: 0.65/' "$source/tests/sound-book/sites/elm-row/2026-11-02-shed.md" >"$job"
git add --all
git commit --quiet --message 'the record mended' >"$work/said" 2>&1 || { cat "$work/said"; exit 1; }
[ "$(git rev-list --count HEAD)" -eq 2 ]

# A commit without a record of the book in it is left alone.
echo x >note.txt
git add --all
git commit --message 'a note' >"$work/said" 2>&1
grep -q 'no files to check' "$work/said" || { cat "$work/said"; exit 1; }
echo "blocked the bad record, let the mended one pass"
