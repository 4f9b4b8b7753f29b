#!/usr/bin/env bash
# Coverage of the limits of uniformity on simulated zones, the sizes of surveys planned from them,
# and their speed against R boot in one run.
# usage: tests/bench/run_limits.sh BUILD_FOLDER [quick]
#   BUILD_FOLDER holds bin/limits_bench and bin/survey_size_bench (cmake --preset bench; cmake --build --preset bench).
#   quick tries 100 zones of each kind and not 1,000, and a tenth of the further trials.
#   THREADS in the environment: how many run at once (every processor).
# Needs Rscript with boot. Compare processor times: elapsed ones are blurred by other work.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
bin=$(cd "$1" && pwd)/bin
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
zones=1000
further=200
[ "${2:-}" != quick ] || { zones=100; further=20; }
threads=${THREADS:-$(nproc)}

echo "== 4,000 draws, 100 emitters in 8 zones, all measures (reach: 0.5 s on one core; 50 times R boot)"
"$bin/limits_bench" sample "$work/emitters.csv"
"$bin/limits_bench" speed | tee "$work/ours.txt"
Rscript "$here/boot_times.R" "$work/emitters.csv" | tee "$work/r.txt"
awk 'match($0, /[0-9.]+ s processor/) {p = substr($0, RSTART) + 0; if (NR == FNR && !ours) ours = p; if (NR != FNR) printf "ratio of processor times, default limits: %.0f\n", p / ours}' \
  "$work/ours.txt" "$work/r.txt"
echo
echo "== coverage of nominal 95 % limits, $zones zones of each kind (reach: 93 % both, 95 % lower)"
"$bin/limits_bench" cover "$zones" "$zones" "$threads"
echo
echo "== surveys of the planned size, $further zones of each kind (reach: 90 % reach the promised half-width)"
"$bin/survey_size_bench" "$further" "$threads"
echo
echo "== fields of several zones and unequal sampling, $further of each kind (reach: 93 % both, 95 % lower)"
"$bin/limits_bench" field "$further" "$threads"
echo
echo "== zones part dug, $further of each kind (reach: 93 % both, 95 % lower)"
"$bin/limits_bench" known "$further" "$threads"
