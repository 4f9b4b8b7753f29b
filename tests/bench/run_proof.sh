#!/usr/bin/env bash
# What surfaces that know the lateral gain on simulated fields of known truth.
# usage: tests/bench/run_proof.sh BUILD_FOLDER [tuning|report] [THREADS] [quick]
#   BUILD_FOLDER holds bin/surface_proof (cmake --preset bench; cmake --build --preset bench).
#   quick takes every fifth severity and few fields drawn from the model.
# Reach: over the kinds of fault a median ratio of at most 0.95, at most 1.03 in any kind; 90 %
# limits that hold 88 to 92 % on fields drawn from the model.
set -eu
build=$(cd "$1" && pwd)
set_of_seeds=${2:-report}
threads=${3:-2}
every=1
fields=200
if [ "${4:-}" = quick ]; then
  every=5
  fields=40
fi
"$build/bin/surface_proof" errors "$set_of_seeds" "$every" "$threads"
echo
"$build/bin/surface_proof" coverage "$set_of_seeds" "$fields" "$threads"
