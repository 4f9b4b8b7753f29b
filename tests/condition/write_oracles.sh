#!/usr/bin/env bash
# Before the reference tests: R writes a small zone and what its model makes of it, with every
# covariance dense. Without R nothing is written, and the tests that need the tables skip
# themselves.
# usage: write_oracles.sh FOLDER
set -eu
script=$(dirname "${BASH_SOURCE[0]}")/dense_zone.R
folder=$1
[ ! "$folder/segments.csv" -nt "$script" ] || exit 0
command -v Rscript >/dev/null || { echo "R is missing: no tables"; exit 0; }
rm -rf "$folder" "$folder.new"
mkdir -p "$folder.new"
Rscript "$script" "$folder.new"
mv "$folder.new" "$folder"
