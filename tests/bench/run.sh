#!/usr/bin/env bash
# Speed and memory of the surfaces against R gstat and gdal_grid, of the hydraulics
# (run_hydraulics.sh), of surfaces that know the lateral (run_surface.sh), of the crop (run_crop.sh),
# and what simulation says of the limits of uniformity (run_limits.sh), of the division of variation
# (run_variation.sh) and of the estimate of a zone's condition (run_condition.sh, two fields of each
# kind, which shows that it works; its whole proof takes hours and is run by itself:
# run_condition.sh BUILD_FOLDER report 200), in one run on this machine.
# usage: tests/bench/run.sh BUILD_FOLDER [quick]
#   BUILD_FOLDER holds the programs (cmake --preset bench; cmake --build --preset bench).
#   quick leaves out the 20,000 x 20,000 output and simulates a tenth as much.
# Needs Rscript with boot, gstat, nlme, sp, spdep and terra, gdal_grid, ogr2ogr and /usr/bin/time. Times are elapsed
# seconds: a machine that does other work as well blurs them.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
build=$(cd "$1" && pwd)
bench=$build/bin/surface_bench
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"

echo "machine: $(sed -n 's/^model name[^:]*: //p' /proc/cpuinfo | head -1), $(nproc) cores, load $(cut -d' ' -f1 /proc/loadavg)"
bash "$here/run_hydraulics.sh" "$build"
echo
bash "$here/run_surface.sh" "$build" "${2:-}"
bash "$here/run_crop.sh" "$build"
echo
bash "$here/run_limits.sh" "$build" "${2:-}"
echo
bash "$here/run_variation.sh" "$build" "${2:-}"
echo
fields=2
[ "${2:-}" = quick ] && fields=1
bash "$here/run_condition.sh" "$build" report "$fields"
echo
Rscript "$here/gstat_times.R" points
echo

echo "== ordinary kriging, 5,000 points, 32 nearest, 300 x 300 cells, 1 thread (reach: 4 times)"
Rscript "$here/gstat_times.R" kriging points_5000.csv 300 32 gstat_local.csv
"$bench" kriging points_5000.csv 300 32 1 ours_local.csv | tee ours_local.txt
Rscript "$here/gstat_times.R" compare points_5000.csv 300 32 gstat_local.csv ours_local.csv ours_local.txt
echo

echo "== ordinary kriging, 1,000 points, all, 100 x 100 cells, 2 threads (reach: 20 times, 10 baseline)"
Rscript "$here/gstat_times.R" kriging points_1000.csv 100 0 gstat_global.csv
"$bench" kriging points_1000.csv 100 0 2 ours_global.csv | tee ours_global.txt
Rscript "$here/gstat_times.R" compare points_1000.csv 100 0 gstat_global.csv ours_global.csv ours_global.txt
echo "-- baseline kernels"
GLIBC_TUNABLES=glibc.cpu.hwcaps=-AVX2 "$bench" kriging points_1000.csv 100 0 2 ours_base.csv | tee ours_base.txt
Rscript "$here/gstat_times.R" compare points_1000.csv 100 0 gstat_global.csv ours_base.csv ours_base.txt
echo

echo "== inverse distance, 5,000 points, 32 nearest within 60 m, 1600 x 1600 cells to GeoTIFF (reach: 10 times)"
ogr2ogr -f GPKG points.gpkg points_5000.csv -oo X_POSSIBLE_NAMES=x -oo Y_POSSIBLE_NAMES=y \
  -oo AUTODETECT_TYPE=YES -nln points -a_srs EPSG:32633
/usr/bin/time -f "%e %U" -o gdal_time.txt \
  gdal_grid -q -l points -zfield z -a invdistnn:power=2:radius=60:max_points=32 -txe 0 400 -tye 400 0 \
  -outsize 1600 1600 -ot Float32 -co COMPRESS=DEFLATE -co TILED=YES --config GDAL_NUM_THREADS 1 \
  points.gpkg gdal.tif
echo "gdal_grid elapsed and processor seconds: $(cat gdal_time.txt)"
"$bench" idw points_5000.csv 1600 32 60 1 ours.tif | tee ours_idw.txt
awk 'NR == FNR {e = $1; u = $2; next} /^seconds/ {s = $2} /^processor/ {p = $2}
  END {printf "ratio %.1f elapsed, %.1f processor time\n", e / s, u / p}' gdal_time.txt ours_idw.txt
Rscript "$here/gstat_times.R" rasters gdal.tif ours.tif 2> /dev/null
[ "${2:-}" = quick ] && exit 0
echo

echo "== inverse distance, 12 nearest, 20,000 x 20,000 cells (reach: under 1 GB)"
( while sleep 1; do du -sk "$work" | cut -f1; done > disk.txt ) & watcher=$!
/usr/bin/time -f "peak memory %M kB, elapsed %e s" "$bench" idw points_5000.csv 20000 12 400 2 large.tif
kill "$watcher"
echo "largest disk use $(sort -n disk.txt | tail -1) kB, output $(du -k large.tif | cut -f1) kB"
