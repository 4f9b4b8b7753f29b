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
