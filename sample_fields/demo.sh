#!/usr/bin/env bash
# From a fresh clone to maps: installs what is missing, builds, evaluates a sample field.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

bash .ci/install.sh build
. .ci/jobs.sh
echo "== build (release preset, $jobs at once)"
cmake --preset release
cmake --build --preset release -j "$jobs"

echo "== evendrip run sample_fields/heron_flat -o build/demo"
build/release/bin/evendrip run sample_fields/heron_flat -o build/demo

echo
echo "The field is invented; what was made of it:"
echo "  map sheets to look at    build/demo/sheets/*.png and *.pdf"
echo "  maps for a GIS           build/demo/*.tif with their styles, build/demo/results.gpkg"
echo "  places to walk to        build/demo/visits.gpx"
ls build/demo/sheets/*.png
