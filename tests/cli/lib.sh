# What the cases share. Sourced before each cmd.

fail() { echo "FAIL: $*" >&2; exit 1; }
skip() { echo "SKIP: $*"; exit 77; }
need() { local tool; for tool in "$@"; do command -v "$tool" >/dev/null || skip "no $tool"; done; }

# ends_with STATUS COMMAND...: the command must end with that status.
ends_with() {
  local wanted=$1 status=0
  shift
  "$@" || status=$?
  [ "$status" -eq "$wanted" ] || fail "status $status instead of $wanted: $*"
}

# small_field: a copy of the small field to spoil, at $OUT/field.
small_field() { cp -r "$TOP/tests/cli/small_field" "$OUT/field"; field=$OUT/field; }

# crop_over_small_field ID VALUE [DATE]: the small field gets one crop layer more, 24 x 80 pixels of
# 0.75 m, two over each lateral spacing. VALUE is an awk expression of `low` (1 on laterals 9 to 11
# beyond 23 m, where the holes caught less), `lateral` (1 to 12), `station` (m) and `noise` (mean 0,
# sd 0.02); -9999 is no value.
crop_over_small_field() {
  mkdir -p "$field/crop"
  awk -v seed="${#1}" 'BEGIN {
    srand(seed); pi = atan2(0, -1)
    print "ncols 24\nnrows 80\nxllcorner 448200\nyllcorner 4050300\ncellsize 0.75\nNODATA_value -9999"
    for (row = 79; row >= 0; row--) for (column = 0; column < 24; column++) {
      lateral = int(column / 2) + 1; station = (row + 0.5) * 0.75
      low = lateral >= 9 && lateral <= 11 && station > 23
      noise = 0.02 * sqrt(-2 * log(1 - rand())) * cos(2 * pi * rand())
      printf "%.4f%s", '"$2"', column < 23 ? " " : "\n"
    } }' >"$field/crop/$1.asc"
  gdalsrsinfo -o wkt_esri --single-line EPSG:32614 >"$field/crop/$1.prj"
  printf '\n[[crop]]\nid = "%s"\nkind = "biomass"\nfile = "crop/%s.asc"\ndate = %s\n' \
    "$1" "$1" "${3:-2026-05-02}" >>"$field/field.toml"
}

# edit_row FILE LINE SED-SCRIPT
edit_row() { sed -i "$2$3" "$1"; }

# refused FOLDER: check and run both refuse it with 3 and nothing is written. Ends the case.
refused() {
  local before
  before=$(cd "$1" && find . | sort)
  ends_with 3 "$EVENDRIP" check "$1"
  ends_with 3 "$EVENDRIP" run "$1" -o "$OUT/result"
  [ ! -e "$OUT/result" ] || fail "a refused run left a result"
  [ "$before" = "$(cd "$1" && find . | sort)" ] || fail "a refused run changed the field folder"
  exit 3
}

# sums FOLDER: one line for each file, by content.
sums() { (cd "$1" && find . -type f -print0 | sort -z | xargs -0 sha256sum); }

# As somebody without rights: root's are dropped.
without_rights() {
  if [ "$(id -u)" -eq 0 ]; then
    need setpriv
    setpriv --reuid 65534 --regid 65534 --clear-groups "$@"
  else
    "$@"
  fi
}

result_files="evendrip-results.json discharge.tif relative_discharge.tif relative_discharge_error.tif
  results.gpkg visits.gpx"

# r SCRIPT ARGUMENT...: runs an R script of the case; skips it where R or one of its packages is
# missing.
r() {
  need Rscript
  local script=$CASE/$1 missing
  shift
  missing=$(Rscript -e '
    wanted <- regmatches(l <- readLines(commandArgs(TRUE)), regexpr("(?<=^library\\()[A-Za-z]+", l, perl = TRUE))
    cat(setdiff(wanted, rownames(installed.packages())))' "$script")
  [ -z "$missing" ] || skip "no R package $missing"
  Rscript --vanilla "$script" "$@"
}
