#!/bin/sh
# All tests, with what they need. The second command of the README; .ci/run calls it as well.
set -eu
cd "$(dirname "$0")/.."
sh scripts/install-debian.sh
sh scripts/install-readers.sh
# The journeys drive the real program, which cargo does not build for tests of another package.
cargo build --locked
cargo test --workspace --locked
