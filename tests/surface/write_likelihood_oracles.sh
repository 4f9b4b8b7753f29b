#!/usr/bin/env bash
# Before the reference tests: R nlme writes the fits that ours are compared with, once. Without R or
# one of its packages nothing is written, and the tests that need them skip themselves.
# usage: write_likelihood_oracles.sh FOLDER
set -eu
here=$(dirname "${BASH_SOURCE[0]}")
folder=$1
table=$here/../reference/surface_fits.txt
last=$folder/lines_shared_along.csv
[ ! "$last" -nt "$here/likelihood_nlme.R" ] || [ ! "$last" -nt "$table" ] || exit 0
Rscript -e 'library(nlme);library(sp)' >/dev/null 2>&1 ||
  { echo "R or one of nlme, sp is missing: no tables"; exit 0; }
rm -rf "$folder" "$folder.new"
mkdir -p "$folder.new"
Rscript "$here/likelihood_nlme.R" "$table" "$folder.new"
mv "$folder.new" "$folder"
