#!/usr/bin/env bash
# Speed of the crop room, against peers in the same run on this machine.
# usage: tests/bench/run_crop.sh BUILD_FOLDER
#   BUILD_FOLDER holds bin/crop_bench (cmake --preset bench; cmake --build --preset bench).
# Needs Rscript with spdep and terra. Compare processor times: elapsed ones are blurred by other work.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
bench=$(cd "$1" && pwd)/bin/crop_bench
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"

echo "== local Moran's I, neighbours within 40 m, search included, 10,000 points (reach: 100 times, same values to 1e-9)"
Rscript "$here/spdep_times.R" points 10000 points.csv
Rscript "$here/spdep_times.R" moran points.csv 40 spdep.csv
for threads in 1 2; do
  echo "-- $threads threads"
  "$bench" moran points.csv 40 $threads ours.csv | tee ours.txt
  Rscript "$here/spdep_times.R" compare spdep.csv ours.csv ours.txt
done
echo "-- 100,000 points"
Rscript "$here/spdep_times.R" points 100000 many.csv
for threads in 1 2; do
  "$bench" moran many.csv 40 $threads ours.csv
done

echo "== exact zonal means, 4,000 x 4,000 cells under 500 strips (reach: 100 times, under 0.5 s, same values to 1e-9)"
for threads in 1 2; do
  echo "-- $threads threads"
  "$bench" zonal $threads strips.txt means.csv | tee ours.txt
  Rscript "$here/terra_times.R" strips.txt means.csv ours.txt
done
echo
echo "== 1,000,000 records cleaned and put on a grid of 5 m (reach: 20 s on 2 threads with reading, 1 GB)"
"$bench" grid 1000000 5 2

echo
echo "== screening of 100 zones of 10 ha, laterals 1.5 m apart, cells of 2 m"
"$bench" screen 100 316 1.5 2 2
