#!/bin/sh
# Runs the fuzz targets (tests/fuzz), each for SECONDS and two at a time; all of them, or those that are
# named: `sh scripts/fuzz.sh SECONDS [TARGET...]`. Ends with status 1 when one of them finds something. What
# is found and learned lies in target/fuzz. Built with the compiler of the project: what guides the fuzzer
# is switched on by hand, and a target with a fault put in on purpose shows first that it does.
set -eu
cd "$(dirname "$0")/.."
seconds=${1:?how many seconds for each target}
shift

place=$(pwd -P)/${CARGO_TARGET_DIR:-target}/fuzz
case ${CARGO_TARGET_DIR:-} in /*) place=$CARGO_TARGET_DIR/fuzz ;; esac
host=$(rustc -vV | sed -n 's/^host: //p')
mkdir -p "$place/found"
# The packages of the program in the versions of the program.
cp Cargo.lock tests/fuzz/Cargo.lock
RUSTFLAGS="-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
-Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
-Cllvm-args=-sanitizer-coverage-trace-compares" \
    cargo build --quiet --release --manifest-path tests/fuzz/Cargo.toml --target "$host" --target-dir "$place"
programs=$place/$host/release

# run TARGET SECONDS: with what it learned before and the corpus of the repository.
run() {
    mkdir -p "$place/learned/$1"
    "$programs/$1" -max_total_time="$2" -timeout=30 -rss_limit_mb=4096 -print_final_stats=1 \
        -artifact_prefix="$place/found/$1-" "$place/learned/$1" "tests/fuzz/corpus/$1" \
        >"$place/$1.log" 2>&1
}

# Of coverage alone, without what is compared: where nothing guides the fuzzer it finds this never.
rm -rf "$place/learned/planted"
mkdir -p "$place/learned/planted"
if "$programs/planted" -max_total_time=60 -use_cmp=0 -seed=1 -artifact_prefix="$place/planted-" \
    "$place/learned/planted" >"$place/planted.log" 2>&1; then
    echo "the fault that was put in on purpose was not found: nothing guides the fuzzer" >&2
    exit 1
fi
grep -q "put in on purpose" "$place/planted.log" || { tail -n 20 "$place/planted.log" >&2; exit 1; }

[ $# -gt 0 ] || set -- $(ls tests/fuzz/targets | sed -n 's/\.rs$//p' | grep -v '^planted$')
status=0
while [ $# -gt 0 ]; do
    one=$1
    two=${2:-}
    shift
    [ -z "$two" ] || shift
    run "$one" "$seconds" &
    first=$!
    second=""
    [ -z "$two" ] || { run "$two" "$seconds" & second=$!; }
    for target in "$one:$first" ${two:+"$two:$second"}; do
        name=${target%:*}
        if wait "${target##*:}"; then
            runs=$(sed -n 's/^stat::number_of_executed_units: *//p' "$place/$name.log")
            echo "$name: $runs runs in $seconds s, nothing found"
        else
            status=1
            echo "$name: something was found" >&2
            grep -E "panicked|^thread|SUMMARY|Test unit written" -A 2 "$place/$name.log" >&2 || tail -n 20 "$place/$name.log" >&2
        fi
    done
done
exit $status
