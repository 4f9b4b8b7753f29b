#!/usr/bin/env bash
# Speed of surfaces that know the lateral, against peers in the same run on this machine.
# usage: tests/bench/run_surface.sh BUILD_FOLDER
#   BUILD_FOLDER holds the bench programs (cmake --preset bench; cmake --build --preset bench).
# Needs Rscript with nlme. Times are elapsed and processor seconds: a machine that does other work
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
