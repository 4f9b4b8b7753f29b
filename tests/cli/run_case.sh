#!/usr/bin/env bash
# Runs one case: run_case.sh FOLDER. Its `cmd` sees EVENDRIP (the program), OUT (an empty folder of
# its own), SAMPLES, TOP and the functions of lib.sh. Then each line of `expected` must hold:
#
#   status N           exit status of cmd (0 where no line says otherwise)
#   stdout PATTERN     an extended regular expression found in what cmd printed
#   stderr PATTERN     the same for its messages
#   output PATTERN     in either
#   silent stdout      nothing there (or stderr)
#   file PATH          a file below OUT that is there and not empty
#   no file PATH       nothing of that name below OUT
#
# A cmd that exits with 77 is skipped. A sanitizer's report, a crash or an internal fault always
# fails the case.
set -uo pipefail
case_folder=$1
export CASE=$case_folder LIB=${BASH_SOURCE[0]%/*}/lib.sh
rm -rf "$OUT" && mkdir -p "$OUT" || exit 1
printed=$OUT.stdout messages=$OUT.stderr

bash -c 'set -euo pipefail; . "$LIB"; . "$CASE/cmd"' >"$printed" 2>"$messages" </dev/null
status=$?
if [ "$status" -eq 77 ]; then
  cat "$printed" "$messages"
  exit 77
fi

wrong=0
complain() { echo "WRONG: $*"; wrong=1; }
wanted_status=0
[ -f "$case_folder/expected" ] || { echo "no file expected in $case_folder"; exit 1; }
while IFS= read -r line; do
  case $line in
    "" | "#"*) ;;
    "status "*) wanted_status=${line#status } ;;
    "stdout "*) grep -Eq -- "${line#stdout }" "$printed" || complain "$line" ;;
    "stderr "*) grep -Eq -- "${line#stderr }" "$messages" || complain "$line" ;;
    "output "*) cat "$printed" "$messages" | grep -E -- "${line#output }" >/dev/null || complain "$line" ;;
    "silent stdout") [ ! -s "$printed" ] || complain "$line" ;;
    "silent stderr") [ ! -s "$messages" ] || complain "$line" ;;
    "file "*) [ -s "$OUT/${line#file }" ] || complain "$line" ;;
    "no file "*) [ ! -e "$OUT/${line#no file }" ] || complain "$line" ;;
    *) complain "a line of expected that says nothing: $line" ;;
  esac
done <"$case_folder/expected"
[ "$status" -eq "$wanted_status" ] || complain "status $status, expected $wanted_status"
if grep -hE 'AddressSanitizer|runtime error:|terminate called|Segmentation fault|internal fault:' "$printed" "$messages"; then
  complain "a fault of the program"
fi
if [ "$wrong" -ne 0 ]; then
  echo "-- stdout"; head -60 "$printed"
  echo "-- stderr"; head -60 "$messages"
fi
exit "$wrong"
