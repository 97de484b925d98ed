#!/bin/sh
# The pictures of README and docs/user-guide.md, from the running program on a virtual display.
# Needs Xvfb, xdotool and ImageMagick's import (Debian: xvfb xdotool imagemagick). Builds first. PACE is
# how many seconds the window has for a key; a machine that is busy needs more.
set -eu
cd "$(dirname "$0")/.."
cargo build --locked
program="${CARGO_TARGET_DIR:-target}/debug/holdtrace"
day=sample-runs/2026-03-04-stuck-valve.csv
gaps=sample-runs/2026-03-17-dropouts-and-gaps.csv
pace=${PACE:-0.6}
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

# find_window: the window that has just been opened, at the corner and with the keyboard. There is no
# window manager to put it there, and it needs a moment to notice.
find_window() {
    id=$(timeout 60 xdotool search --sync --onlyvisible --name '^Holdtrace$' | head -n 1)
    sleep 4
    xdotool windowmove "$id" 0 0 windowfocus "$id"
    sleep 1
    xdotool mousemove 1439 899
    still
}

# take FILE: the window as a picture with 256 colours, a third of its size and no other to the eye.
take() {
    import -window "$id" -depth 8 +dither -colors 256 "$1"
}

# shown: the digest of what the window shows.
shown() {
    take "$work/shown.png"
    identify -format '%#' "$work/shown.png"
}

# still: waits until the window has stopped changing; a cursor that blinks never does.
still() {
    seen=""
    for _ in 1 2 3 4 5 6 7 8; do
        sleep 1
        now=$(shown)
        [ "$now" != "$seen" ] || return 0
        seen=$now
    done
}

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
    find_window
    unpressed=$(shown)
    keys "$@"
    sleep "$pace"
    still
    take "docs/images/$name.png"
    if [ $# -gt 0 ] && [ "$(identify -format '%#' "docs/images/$name.png")" = "$unpressed" ]; then
        echo "the keys $* changed nothing in $name.png" >&2
        exit 1
    fi
    kill "$window"
    wait "$window" 2>/dev/null || true
    window=""
    weigh "$name"
}

# weigh NAME: refuses a picture that is too large.
weigh() {
    bytes=$(wc -c <"docs/images/$1.png")
    echo "docs/images/$1.png: $bytes bytes"
    [ "$bytes" -le 307200 ] || { echo "$1.png is larger than 300 KB" >&2; exit 1; }
}

# begin PERSON FILE: opens FILE with PERSON at work, and leaves the window open.
begin() {
    mkdir -p "$work/holdtrace"
    printf 'version = 1\nbrightness = "light"\nperson = "%s"\n[window]\nwidth = 1280.0\nheight = 800.0\n' \
        "$1" >"$work/holdtrace/settings.toml"
    # From inside the folder, so that no path of this machine is in the pictures.
    (cd "$work" && XDG_CONFIG_HOME="$work" exec "$absolute" "$(basename "$2")" 2>/dev/null) &
    window=$!
    find_window
}

# keys KEYS...: presses keys one after the other. words TEXT: types.
keys() {
    for key in "$@"; do
        xdotool key "$key"
        sleep "$pace"
    done
}
words() {
    xdotool type --delay 40 "$1"
    sleep "$pace"
}

# keep NAME: keeps a picture of the open window, which must differ from the one before.
keep() {
    still
    take "docs/images/$1.png"
    now=$(identify -format '%#' "docs/images/$1.png")
    [ "$now" != "${before:-}" ] || { echo "$1.png shows nothing new" >&2; exit 1; }
    before=$now
    weigh "$1"
}

# end: closes the window.
end() {
    kill "$window"
    wait "$window" 2>/dev/null || true
    window=""
}

# signer COMMAND...: the program's own command for signers, with the passphrase of the demo.
signer() {
    printf '%s\n' "$passphrase" |
        XDG_CONFIG_HOME="$work" "$program" signer "$@" --passphrase-fd 0
}

picture day-light light "$day" n
picture day-dark dark "$day" n
picture whole-day light "$day"
picture observations light "$gaps" o

# A file whose columns have the tags of a control system, with no plant file beside it.
mkdir "$work/new"
tags="Stamp;XV204;TT204A;TT204B;PT201;PT202;FT201;TT201;TT202;TT301;TT401"
sed "1s/.*/$tags;Product;Lot;Mode/" "$day" >"$work/new/day.csv"
picture setup light "$work/new/day.csv"
picture plant light "$day" ctrl+comma

# The round of a review, with the keyboard alone, on a copy of a sample day. Where a step asks for
# many fields in a row the command line stands in for the dialog.
passphrase="an invented passphrase of the demo"
cp "$day" sample-runs/plant.toml "$work/"
copy=$work/$(basename "$day")
register="--register $work/signers.jsonl"
absolute=$(realpath "$program")
begin "" "$copy"
keys ctrl+u
words ben
keys Tab
words "Ben Example (invented)"
keys Tab
words "$passphrase"
keep review-people
end
# shellcheck disable=SC2086 # two words
signer set-up $register --signer ben --name "Ben Example (invented)"
# shellcheck disable=SC2086
signer approve $register --by ben --plant "$work/plant.toml"
signer key --signer anna >"$work/anna.pem"
# shellcheck disable=SC2086
signer enrol $register --signer anna --name "Anna Example (invented)" --role technician \
    --public-key "$work/anna.pem" --by ben
begin anna "$copy"
keys t Down Return Tab
keep review-settle
words "valve freed, steam trap replaced"
keys Tab
words held
keys ctrl+Return Down Return Tab
words "valve freed, steam trap replaced"
keys Tab
words held
# The last resolution leads to the observations to close, each with its reason.
keys ctrl+Return
for reason in "cut-out set point checked and sealed" "response tested after repair: 0.8 s"; do
    words "$reason"
    keys ctrl+Return
done
keys ctrl+shift+Return ctrl+shift+Return
keep review-acknowledge
for _ in 1 2 3 4; do keys ctrl+shift+Return; done
keys i
words none
keys Return
words none
keep review-enter
keys Return
for _ in 1 2 3 4 5 6; do
    words none
    keys Return
done
keys ctrl+s
words anna
keys Tab
words "$passphrase"
keep review-sign
keys Return
still
end
begin ben "$copy"
keys ctrl+s
words ben
keys Tab
words "$passphrase"
keys Return
keep review-signed
end
XDG_CONFIG_HOME="$work" "$program" verify "$copy"

# The register of a folder in which that day is signed.
mkdir "$work/march"
cargo run -q --locked -p simulate --example sample_runs -- "$work/march"
rm -r "$work/march/truth" "$work/march/README.md"
cp "$copy" "${copy%.csv}.review.jsonl" "$work/plant.toml" "$work/signers.jsonl" \
    "$work/ledger.jsonl" "$work/march/"
begin ben "$work/march"
keep register
keys ctrl+3
words 0304-A
keep register-lot
end
