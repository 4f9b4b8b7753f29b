#!/usr/bin/env bash
# Before the reference tests: R spdep and nlme write the tables that statistics of the crop are
# compared with, once. Without R or one of its packages nothing is written, and the tests that need
# the tables skip themselves.
# usage: write_oracles.sh FOLDER
set -eu
script=$(dirname "${BASH_SOURCE[0]}")/statistics_spdep.R
folder=$1
[ ! "$folder/spatial_regression.csv" -nt "$script" ] || exit 0
Rscript -e 'library(spdep);library(spData);library(sf);library(sp);library(nlme)' >/dev/null 2>&1 ||
  { echo "R or one of spdep, spData, sf, sp, nlme is missing: no tables"; exit 0; }
rm -rf "$folder" "$folder.new"
mkdir -p "$folder.new"
Rscript "$script" "$folder.new"
mv "$folder.new" "$folder"
