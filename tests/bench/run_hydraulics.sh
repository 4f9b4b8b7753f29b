#!/usr/bin/env bash
# Speed and memory of the hydraulics, by themselves and against an EPANET engine (npm epanet-js).
# usage: tests/bench/run_hydraulics.sh BUILD_FOLDER
#   BUILD_FOLDER holds bin/hydraulics_bench (cmake --preset bench; cmake --build --preset bench).
# The engine is put into BUILD_FOLDER/peer, where npm and its registry are within reach; without
# them that part is left out and said to be.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
build=$(cd "$1" && pwd)
bench=$build/bin/hydraulics_bench
peer=$build/peer
mkdir -p "$peer"

echo "== one zone between a supply and a flush manifold (reach: 200,000 emitters in 1.5 s, 600 MB; linear)"
for law in darcy_weisbach hazen_williams; do
  for laterals in 50 100 200; do
    echo "$law $laterals x 1000: $("$bench" "$laterals" 1000 "$law" 3)"
  done
done
echo

echo "== a lateral of 200 outlets, zones of 50 x 100 and 100 x 100, against an EPANET engine (reach: 5 times at 50 x 100)"
if ! command -v npm >/dev/null || ! command -v node >/dev/null; then
  echo "left out: npm is not installed"
  exit 0
fi
if [ ! -d "$peer/node_modules/epanet-js" ] &&
  ! npm install --silent --no-audit --no-fund --prefix "$peer" epanet-js@0.9.0 >"$peer/install.log" 2>&1; then
  echo "left out: npm could not install epanet-js 0.9.0"
  exit 0
fi
cp "$here/network_peer.mjs" "$peer/"
status=0
for size in "1 200" "50 100" "100 100"; do
  read -r laterals emitters <<<"$size"
  name=$peer/zone_${laterals}_$emitters
  "$bench" "$laterals" "$emitters" hazen_williams 20 "$name" >"$name.json"
  echo "-- $laterals x $emitters: $(cat "$name.json")"
  (cd "$peer" && node network_peer.mjs "$name.json" "$name") || status=1
done
exit "$status"
