#!/usr/bin/env bash
# Before the reference tests: R nlme writes the tables that variance components are compared with,
# once. Without R or nlme nothing is written, and the tests that need the tables skip themselves.
# usage: write_oracles.sh FOLDER
set -eu
script=$(dirname "${BASH_SOURCE[0]}")/components_nlme.R
folder=$1
[ ! "$folder/scattered_fit.csv" -nt "$script" ] || exit 0
Rscript -e 'library(nlme)' >/dev/null 2>&1 || { echo "R or nlme is missing: no tables"; exit 0; }
rm -rf "$folder" "$folder.new"
mkdir -p "$folder.new"
Rscript "$script" "$folder.new"
mv "$folder.new" "$folder"
