#!/usr/bin/env bash
# Speed and memory of the condition of a zone: fit and prediction. Seconds count only on a machine
# that does nothing else; those of processors, told beside, do on any.
# usage: tests/bench/run_condition_speed.sh BUILD_FOLDER [one|ten]
#   BUILD_FOLDER holds bin/condition_bench (cmake --preset bench; cmake --build --preset bench).
#   one: a zone of 80 laterals; ten: ten zones of 10 ha each; both if not given.
set -eu
bench=$(cd "$1" && pwd)/bin/condition_bench
what=${2:-both}
if [ "$what" != ten ]; then
  echo "== 80 laterals x 360 emitters, 24 holes, 1 m raster (reach: 6 s on 2 threads, 500 MB)"
  for threads in 1 2; do "$bench" zone 80 144 24 $threads; done
fi
if [ "$what" != one ]; then
  echo "== ten zones of 10 ha each, 24 holes, 1 m raster (reach: 90 s on 2 threads, memory flat)"
  "$bench" zones 10 200 333.4 24 2
fi
