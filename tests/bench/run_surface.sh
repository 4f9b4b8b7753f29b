#!/usr/bin/env bash
# Speed of surfaces that know the lateral, against peers in the same run on this machine.
# usage: tests/bench/run_surface.sh BUILD_FOLDER [quick]
#   BUILD_FOLDER holds the bench programs (cmake --preset bench; cmake --build --preset bench).
#   quick leaves out the 20,000 x 20,000 output.
# Needs Rscript with gstat, nlme and sp. Times are elapsed and processor seconds: a machine that does other work
# as well blurs the first.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
build=$(cd "$1" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"

echo "== restricted likelihood: linear trend, exponential, nugget, 500 points (reach: 20 times, same likelihood to 1e-6)"
Rscript "$here/gls_times.R" points fit_points.csv
Rscript "$here/gls_times.R" fit fit_points.csv gls.txt
for threads in 1 2; do
  "$build/bin/fit_bench" fit_points.csv $threads | tee fit.txt
  awk 'NR == FNR {peer[NR] = $1; next} /^seconds/ {s = $2} /^processor/ {p = $2} /^likelihood/ {l = $2}
    END {printf "%s threads: ratio %.1f elapsed, %.1f processor time of all threads; likelihood less peer %.2g\n",
      t, peer[1] / s, peer[2] / p, l - peer[3]}' t=$threads gls.txt fit.txt
done
echo

baseline="GLIBC_TUNABLES=glibc.cpu.hwcaps=-AVX2"
map=$build/bin/map_bench
compare() { # POINTS CELLS NEAREST THREADS: the same work with both kernels
  Rscript "$here/gstat_times.R" kriging "$1" "$2" "$3" gstat.csv
  for kernels in best baseline; do
    env $([ $kernels = best ] || echo "$baseline") \
      "$build/bin/surface_bench" kriging "$1" "$2" "$3" "$4" ours.csv | tee ours.txt
    Rscript "$here/gstat_times.R" compare "$1" "$2" "$3" gstat.csv ours.csv ours.txt
  done
}
Rscript "$here/gstat_times.R" points

echo "== ordinary kriging and variance, 1,000 points, all, 300 x 300 cells, 2 threads (reach: 30 times, 12 baseline)"
compare points_1000.csv 300 0 2
echo

echo "== the triangular solves of 1,000 points against a plain product (reach: 50 %)"
for threads in 1 2; do
  "$map" solves 1002 $threads
  env $baseline "$map" solves 1002 $threads
done
echo

echo "== ordinary kriging and variance, 5,000 points, 32 nearest, 1,000 x 1,000 cells, 2 threads (reach: 10 times)"
compare points_5000.csv 1000 32 2
echo "-- common data neighbourhoods (reach: 15 times)"
for threads in 1 2; do
  "$map" common points_5000.csv 1000 32 $threads common.csv | tee ours.txt
  awk 'NR == FNR {peer[NR] = $1; next} /^seconds/ {s = $2} /^processor/ {p = $2}
    END {printf "%s threads: ratio %.1f elapsed, %.1f processor time of all threads\n",
      t, peer[1] / s, peer[2] / p}' t=$threads gstat.csv.seconds ours.txt
done
echo

echo "== 60 digs, lines and four trend terms, 2,000 x 2,000 cells: mean, error, probability (reach: 3 s, 5 s baseline, 300 MB)"
for threads in 1 2; do
  "$map" line 2000 $threads
  env $baseline "$map" line 2000 $threads
done
[ "${2:-}" = quick ] && exit 0
echo

echo "== 5,000 points, local, 20,000 x 20,000 cells to a file, then stopped half way (reach: memory flat, nothing lost)"
mkdir output
"$map" large 20000 2 output/large.tif
