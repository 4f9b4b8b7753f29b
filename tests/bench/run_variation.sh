#!/usr/bin/env bash
# Size of the test of excess variation, and coverage of the limits of the division of variation, of
# the share between laterals and of the trend, on simulated zones.
# usage: tests/bench/run_variation.sh BUILD_FOLDER [quick]
#   BUILD_FOLDER holds bin/variation_bench (cmake --preset bench; cmake --build --preset bench).
#   quick tries 200 zones of each kind and not 2,000.
set -eu
bench=$(cd "$1" && pwd)/bin/variation_bench
zones=2000
[ "${2:-}" != quick ] || zones=200

echo "== new emitters blamed by the test of excess variation (reach: 5 %), $zones surveys of each kind"
"$bench" size "$zones"
echo
echo "== coverage of nominal 95 % limits, $zones zones of each kind"
"$bench" cover "$zones"
