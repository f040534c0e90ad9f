#!/usr/bin/env bash
# Drives Neovim under tmux with the settings that README.md gives, on a copy of the example book: opens a record and sees its finding,
# hovers, completes a circuit's id, answers a doubt by a code action, saves, and looks at the screen and at the files.
#
#   tests/lsp/editor.sh [PROGRAM]      (default: target/debug/ampledger)
#
# Needs Neovim 0.7 or newer and tmux (Debian: apt-get install neovim tmux).
set -euo pipefail
cd "$(dirname "$0")/../.."
program=$(realpath "${1:-target/debug/ampledger}")
[ -x "$program" ] || { echo "$program is not there: cargo build" >&2; exit 2; }
for tool in nvim tmux; do
    command -v "$tool" >/dev/null || { echo "$tool is not installed: apt-get install neovim tmux" >&2; exit 2; }
done
folder=$(mktemp -d)
socket=ampledger-$$
trap 'tmux -L "$socket" kill-server 2>/dev/null || true; rm -rf "$folder"' EXIT
cp -r example-sites "$folder/book"
mkdir "$folder/bin" "$folder/home"
# The findings of the example book are those of one day.
printf '#!/bin/sh\nexec "%s" "$@" --on 2026-11-25\n' "$program" >"$folder/bin/ampledger"
chmod +x "$folder/bin/ampledger"
sed -n '/^```lua$/,/^```$/p' README.md | sed '1d;$d' >"$folder/init.lua"
[ -s "$folder/init.lua" ] || { echo "README.md gives no settings for Neovim" >&2; exit 1; }

in_tmux() { tmux -L "$socket" "$@"; }
keys() { in_tmux send-keys -t editor "$@"; sleep 0.3; }
screen() { in_tmux capture-pane -p -t editor; }
# see WHAT TEXT: waits until the screen shows the text
see() {
    for _ in $(seq 100); do
        if screen | grep -qF -- "$2"; then
            printf 'seen: %-34s %s\n' "$1" "$(screen | grep -F -m1 -- "$2" | sed 's/  */ /g' | cut -c1-90)"
            return
        fi
        sleep 0.2
    done
    printf 'not seen: %s (%s). The screen:\n' "$1" "$2" >&2
    screen >&2
    exit 1
}

job=sites/dovetail-workshop/2024-10-22-compressor.md
server=sites/bramble-office/2024-12-03-server.md
in_tmux -f /dev/null new-session -d -s editor -x 180 -y 45 -c "$folder/book" \
    "env PATH='$folder/bin:$PATH' HOME='$folder/home' XDG_CONFIG_HOME='$folder/home' XDG_DATA_HOME='$folder/home' nvim -n -u '$folder/init.lua' '$job'"

see "the finding beside the reading" "danger: main/8: Zs 0.92 ohm is over the 0.68 ohm"
keys '/zs_ohm' Enter
keys 'K'
see "what the reading is held against" "limit 0.68 ohm"
keys Escape
keys 'gg' '/^circuits:' Enter 'O' 'faults: [{id: f9, circuit: mai' C-x C-o
see "the circuits of the site" "main/8"
for _ in $(seq 12); do
    screen | grep -qF 'f9, circuit: main/8' && break
    keys C-n
done
keys C-y '}]' Escape
keys ':w' Enter
see "saved" "written"
grep -qF 'faults: [{id: f9, circuit: main/8}]' "$folder/book/$job" || { grep -n faults "$folder/book/$job" >&2; echo "the completed id is not in the file" >&2; exit 1; }
keys ":e $server" Enter
see "a doubt in another record" "2.6 m of 4/1.5 should read about 0.043 ohm"
keys '/r1_r2_ohm: 0.43' Enter
keys 'ga'
see "what can be done" "Answer r1-r2-does-not-fit with a reason to write"
keys '1' Enter
see "the answer to be written" "rule: r1-r2-does-not-fit, at: main/8, why: , on: 2026-11-25"
see "that it wants its reason" "this answer to r1-r2-does-not-fit gives no reason"
keys ':w' Enter
sleep 0.5
grep -qF '{rule: r1-r2-does-not-fit, at: main/8, why: , on: 2026-11-25}' "$folder/book/$server" || { echo "the answer is not in the file" >&2; exit 1; }
keys ':qa!' Enter
echo "all seen"
