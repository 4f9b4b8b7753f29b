#!/usr/bin/env bash
# Speed and memory of the condition of a zone: fit and prediction.
# usage: tests/bench/run_condition_speed.sh BUILD_FOLDER
#   BUILD_FOLDER holds bin/condition_bench (cmake --preset bench; cmake --build --preset bench).
set -eu
bench=$(cd "$1" && pwd)/bin/condition_bench
echo "== 80 laterals x 360 emitters, 24 holes, 1 m raster (reach: 6 s on 2 threads, 500 MB)"
for threads in 1 2; do "$bench" zone 80 144 24 $threads; done
echo "== ten zones that make up 10 ha (reach: 90 s on 2 threads)"
"$bench" zones 10 40 166 24 2
echo "== one zone of 10 ha"
"$bench" zone 200 333 24 2
