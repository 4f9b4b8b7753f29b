#!/usr/bin/env bash
# Before the reference tests: R boot writes the tables that limits of confidence are compared with,
# once. Without R or boot nothing is written, and the tests that need the tables skip themselves.
# usage: write_boot_oracles.sh FOLDER
set -eu
script=$(dirname "${BASH_SOURCE[0]}")/limits_boot.R
folder=$1
[ ! "$folder/skewed_studentised.csv" -nt "$script" ] || exit 0
Rscript -e 'library(boot)' >/dev/null 2>&1 || { echo "R or boot is missing: no tables"; exit 0; }
rm -rf "$folder" "$folder.new"
mkdir -p "$folder.new"
Rscript "$script" "$folder.new"
mv "$folder.new" "$folder"
