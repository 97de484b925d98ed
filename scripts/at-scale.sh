#!/bin/sh
# Runs the example of docs/at-scale.md on 200 made-up files: the cluster, one worker of which is killed, must give the
# rows that one machine gives. Called by .ci/run, after the build.
set -eu
cd "$(dirname "$0")/.."
sh scripts/install-readers.sh
built=${CARGO_TARGET_DIR:-target}/debug
exec target/readers/bin/python scripts/at-scale/prove.py "$built/holdtrace" "$built/bench" "$built/at-scale"
