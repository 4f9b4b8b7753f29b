#!/usr/bin/env bash
# What one estimate from holes, hydraulics and crop gains on simulated fields of known truth
# (condition_scenarios.hpp says which, and what is scored; condition_proof.cpp what is told).
# usage: tests/bench/run_condition.sh BUILD_FOLDER [tuning|report] [FIELDS] [THREADS] [KINDS] [FILE]
#        tests/bench/run_condition.sh BUILD_FOLDER control LOG [THREADS [LAYOUTS [WIDTH_M]]]
#   BUILD_FOLDER holds bin/condition_proof and bin/condition_control (cmake --preset bench; cmake
#   --build --preset bench).
#   FIELDS of each kind of trouble, 1 to 200; KINDS by number, 0,2,5 or all.
#   FILE gets a line for each field: a long proof can be made in parts, of some kinds each, and
#   BUILD_FOLDER/bin/condition_proof told SET FILE... tells them together. 200 fields of every kind
#   take about an hour and a half of two processors.
#   control: laterals that are not there, on the harvest LOG that condition_control.cpp names.
#   With CONTROL_LOG set to that file, the control follows the fields.
set -eu
build=$(cd "$1" && pwd)
if [ "${2:-}" = control ]; then
  "$build/bin/condition_control" "$3" "${4:-2}" ${5:+"$5"} ${6:+"$6"}
  exit
fi
"$build/bin/condition_proof" field "${2:-report}" "${3:-24}" "${4:-2}" "${5:-all}" ${6:+"$6"}
if [ -n "${CONTROL_LOG:-}" ]; then "$build/bin/condition_control" "$CONTROL_LOG" "${4:-2}"; fi
