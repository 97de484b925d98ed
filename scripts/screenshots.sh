#!/bin/sh
# The pictures of README and docs/user-guide.md, from the running program on a virtual display.
# Needs Xvfb, xdotool and ImageMagick's import (Debian: xvfb xdotool imagemagick). Builds first.
set -eu
cd "$(dirname "$0")/.."
cargo build --locked
program="${CARGO_TARGET_DIR:-target}/debug/holdtrace"
day=sample-runs/2026-03-04-stuck-valve.csv
gaps=sample-runs/2026-03-17-dropouts-and-gaps.csv
work=$(mktemp -d)
server=""
window=""
finish() {
    [ -z "$window" ] || kill "$window" 2>/dev/null || true
    [ -z "$server" ] || kill "$server" 2>/dev/null || true
    rm -rf "$work"
}
trap finish EXIT
mkdir -p docs/images

mkfifo "$work/number"
Xvfb -displayfd 3 -screen 0 1440x900x24 -nolisten tcp -noreset 3>"$work/number" 2>/dev/null &
server=$!
read -r number <"$work/number"
DISPLAY=":$number"
export DISPLAY
unset WAYLAND_DISPLAY

# picture NAME BRIGHTNESS FILE KEYS...: opens FILE, presses the keys, keeps the picture.
picture() {
    name=$1
    brightness=$2
    file=$3
    shift 3
    mkdir -p "$work/holdtrace"
    printf 'version = 1\nbrightness = "%s"\n[window]\nwidth = 1440.0\nheight = 900.0\n' \
        "$brightness" >"$work/holdtrace/settings.toml"
    XDG_CONFIG_HOME="$work" "$program" "$file" 2>/dev/null &
    window=$!
    id=$(timeout 60 xdotool search --sync --onlyvisible --name '^Holdtrace$' | head -n 1)
    sleep 4
    # There is no window manager: the window stands at the corner, and gets the keys when told. It
    # needs a moment to notice.
    xdotool windowmove "$id" 0 0 windowfocus "$id"
    sleep 1
    xdotool mousemove 1439 899
    sleep 1
    import -window "$id" -depth 8 "$work/before.png"
    for key in "$@"; do
        xdotool key "$key"
        sleep 1
    done
    import -window "$id" -depth 8 "docs/images/$name.png"
    if [ $# -gt 0 ] && [ "$(identify -format '%#' "$work/before.png")" = \
        "$(identify -format '%#' "docs/images/$name.png")" ]; then
        echo "the keys $* changed nothing in $name.png" >&2
        exit 1
    fi
    kill "$window"
    wait "$window" 2>/dev/null || true
    window=""
    bytes=$(wc -c <"docs/images/$name.png")
    echo "docs/images/$name.png: $bytes bytes"
    [ "$bytes" -le 307200 ] || { echo "$name.png is larger than 300 KB" >&2; exit 1; }
}

picture day-light light "$day" n
picture day-dark dark "$day" n
picture whole-day light "$day"
picture observations light "$gaps" o
