#!/bin/sh
# Makes target/readers: a Python with the libraries that read summaries in the tests (pandas, pyarrow,
# DuckDB), and with the one that runs a cluster (distributed). Run by scripts/test.sh and at-scale.sh.
set -eu
cd "$(dirname "$0")/.."

wanted="pandas==3.1.1 pyarrow==26.0.1 duckdb==2.0.1 distributed==2026.8.0"
readers=target/readers
[ "$(cat "$readers/installed" 2>/dev/null || true)" != "$wanted" ] || exit 0

echo "installing: $wanted"
rm -rf "$readers"
mkdir -p target
python3 -m venv "$readers"
# shellcheck disable=SC2086 # the list is words on purpose
"$readers/bin/pip" install --quiet --disable-pip-version-check $wanted
echo "$wanted" >"$readers/installed"
