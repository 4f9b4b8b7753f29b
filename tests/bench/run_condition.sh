#!/usr/bin/env bash
# What one estimate from holes, hydraulics and crop gains on simulated fields of known truth
# (condition_scenarios.hpp says which, and what is scored).
# usage: tests/bench/run_condition.sh BUILD_FOLDER [tuning|report] [FIELDS] [THREADS] [KINDS] [FILE]
#   BUILD_FOLDER holds bin/condition_proof (cmake --preset bench; cmake --build --preset bench).
#   FIELDS of each kind of trouble, 1 to 200; KINDS by number, 0,2,5 or all.
set -eu
build=$(cd "$1" && pwd)
"$build/bin/condition_proof" field "${2:-report}" "${3:-24}" "${4:-2}" "${5:-all}" ${6:+"$6"}
