#!/bin/sh
# The program to hand on: built with no path of the machine that built it inside, with the licences of
# its packages beside it. Cargo cuts the paths by itself once `trim-paths` is stable; until then the
# compiler is told here what to write for them. Only the release build is touched.
set -eu
cd "$(dirname "$0")/.."

own=$(pwd -P)
registry="${CARGO_HOME:-$HOME/.cargo}/registry/src"
separator=$(printf '\037')
CARGO_ENCODED_RUSTFLAGS="--remap-path-prefix=$own=holdtrace"
for folder in "$registry"/*; do
    CARGO_ENCODED_RUSTFLAGS="$CARGO_ENCODED_RUSTFLAGS$separator--remap-path-prefix=$folder=registry"
done
export CARGO_ENCODED_RUSTFLAGS
cargo fetch --locked
cargo build --release --locked

target="${CARGO_TARGET_DIR:-target}/release"
python3 scripts/third-party-licences.py "$target/THIRD-PARTY-LICENCES.txt"
# The home folder itself may be a word that the program has anyway, such as /root.
for path in "$own" "${CARGO_HOME:-$HOME/.cargo}" "${RUSTUP_HOME:-$HOME/.rustup}"; do
    if grep -q -a -F "$path/" "$target/holdtrace"; then
        echo "$target/holdtrace holds the path $path" >&2
        exit 1
    fi
done
echo "$target/holdtrace"
