#!/usr/bin/env bash
# Installs, builds and tests: the whole of what is asked before a change lands.
#
#   bash tests/run.sh          ci preset, all tests but the slow ones; then the fast ones with the
#                              program under the address and undefined-behaviour sanitizers, the
#                              latter without its checks of every pointer; the tests' own code is
#                              not compiled again for it
#   bash tests/run.sh --full   with those checks and with the tests' own code under them, and
#                              besides: slow tests, clang-tidy, thread sanitizer on the rooms that
#                              use threads, coverage, benchmarks
#
# The last line is "N passed, N failed, N skipped", counted from ctest's JUnit files. A stage that
# does not build counts as one failure. Exit 1 if anything failed or nothing ran; 4 if packages are
# missing and cannot be installed.
set -uo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.." || exit 4

full=no
case "${1:-}" in
  "") ;;
  --full) full=yes ;;
  *) echo "usage: tests/run.sh [--full]" >&2; exit 2 ;;
esac

sections=(build test)
[ "$full" = no ] || sections+=(full)
bash .ci/install.sh "${sections[@]}" || exit 4
. .ci/jobs.sh

results=$PWD/build/test-results
rm -rf "$results" && mkdir -p "$results"
passed=0 failed=0 skipped=0
failures=()
timings=()
export ASAN_OPTIONS="detect_leaks=1:strict_string_checks=1:detect_stack_use_after_return=1:malloc_context_size=10"
export LSAN_OPTIONS="suppressions=$PWD/tests/asan.supp:print_suppressions=0"
export UBSAN_OPTIONS="print_stacktrace=1"
export TSAN_OPTIONS="suppressions=$PWD/tests/tsan.supp"

stage() {  # name command...: runs it, keeps its minutes; a failure of the command counts as one
  local name=$1 begin=$SECONDS status=0
  shift
  echo "== $name"
  "$@" || status=$?
  timings+=("$(awk -v s=$((SECONDS - begin)) -v n="$name" 'BEGIN { printf "%-28s %5.1f min", n, s / 60 }')")
  echo "== ${timings[-1]}"
  if [ "$status" -ne 0 ]; then
    failed=$((failed + 1))
    failures+=("$name")
  fi
  return "$status"
}

# One line for each test of a JUnit file: passed, failed or skipped, a tab, the name. A test that
# could not start stands among ctest's skipped ones; only one that skipped itself counts as such.
outcomes() {  # file
  awk '
    /<testcase / { name = $0; sub(/.*<testcase name="/, "", name); sub(/".*/, "", name); state = "passed" }
    /<testcase / && /status="fail"/ { state = "failed" }
    /<testcase / && /status="disabled"/ { state = "skipped" }
    /<skipped message="/ { state = /message="SKIP_/ ? "skipped" : "failed" }
    /<\/testcase>/ { print state "\t" name }' "$1"
}

run_tests() {  # preset name ctest-arguments...
  local preset=$1 file=$results/$2.xml status=0
  shift 2
  ctest --test-dir "build/$preset" --output-on-failure --timeout 900 -j "$jobs" \
    --output-junit "$file" "$@" >"$file.log" 2>&1 || status=$?
  grep -E '\*\*\*|tests passed|Total Test time' "$file.log"
  [ -f "$file" ] || { tail -20 "$file.log"; return 1; }
  local lines before=$failed state name
  lines=$(outcomes "$file")
  while IFS=$'\t' read -r state name; do
    case $state in
      passed) passed=$((passed + 1)) ;;
      skipped) skipped=$((skipped + 1)) ;;
      failed) failed=$((failed + 1)); failures+=("$preset: $name") ;;
    esac
  done <<<"$lines"
  if [ "$failed" -gt "$before" ]; then
    echo "-- output of the tests that failed"
    awk '/^ *[0-9]+\/[0-9]+ Test +#/ { on = /\*\*\*/ && !/Skipped/ } / Start +[0-9]+: / { on = 0 } on' "$file.log" | head -400
  elif [ "$status" -ne 0 ]; then
    tail -20 "$file.log"
    return 1
  fi
}

configure() { cmake --preset "$1" "${@:2}" >"$results/$1-configure.log" 2>&1 || { cat "$results/$1-configure.log"; return 1; }; }
build() { cmake --build --preset "$1" -j "$jobs" "${@:2}" -- -k 0 >"$results/$1-build.log" 2>&1 || { grep -vE '^\[[0-9]+/[0-9]+\]' "$results/$1-build.log" | head -300; return 1; }; }
# Rooms whose code takes a Work are those that use threads.
threaded_rooms() { grep -rl 'base/work\.hpp' src include/evendrip | sed -E 's,^(src|include/evendrip)/,,; s,/.*,,' | sort -u; }
fast_programs() { ninja -C "build/$1" -t targets all | sed -n 's/^\([a-z_]*_fast_tests\): phony$/\1/p'; }
fast_only=(-L '^fast$' -LE '^(style|cli)$')

sanitized() {  # preset room...: builds the fast tests alone, of the rooms named or of all, and runs them
  stage "configure $1" configure "$1" ${test_objects:+"-DEVENDRIP_TEST_OBJECTS=$test_objects"} || return
  local programs
  mapfile -t programs < <(fast_programs "$1")
  [ $# -eq 1 ] || mapfile -t programs < <(printf '%s_fast_tests\n' "${@:2}" | grep -Fxf <(printf '%s\n' "${programs[@]}"))
  local built
  built=$(IFS='|'; echo "^(${programs[*]})(_[0-9]+_of_[0-9]+)?\$")
  stage "build $1" build "$1" --target "${programs[@]}" &&
    stage "test $1" run_tests "$1" "$1" "${fast_only[@]}" -R "$built"
}

check_tidy() {  # every source of the program; the compilers of other stages have compiled it
  configure tidy && find src -name '*.cpp' -print0 | sort -z |
    xargs -0 -n 1 -P "$jobs" clang-tidy-16 -p build/tidy --quiet --warnings-as-errors='*' 2>"$results/tidy.log"
}
coverage_report() {
  gcovr --root . --filter src/ --gcov-ignore-parse-errors --txt "$results/coverage.txt" build/coverage &&
    tail -4 "$results/coverage.txt"
}
run_benchmarks() { bash tests/bench/run.sh build/bench; }

echo "jobs: $jobs"
stage "configure ci" configure ci && stage "build ci" build ci &&
  stage "test ci" run_tests ci ci -LE '^slow$'
if [ "$full" = yes ]; then sanitized asan; else test_objects=$PWD/build/ci sanitized asan-light; fi

if [ "$full" = yes ]; then
  stage "slow tests" run_tests ci slow -L '^slow$'
  stage "clang-tidy" check_tidy && passed=$((passed + 1))
  mapfile -t threaded < <(threaded_rooms)
  sanitized tsan "${threaded[@]}"
  stage "configure coverage" configure coverage && stage "build coverage" build coverage &&
    stage "test coverage" run_tests coverage coverage -LE '^(slow|style|cli)$' &&
    stage "coverage report" coverage_report && passed=$((passed + 1))
  stage "configure bench" configure bench && stage "build bench" build bench &&
    stage "benchmarks" run_benchmarks && passed=$((passed + 1))
fi

echo
echo "minutes of each stage"
printf '  %s\n' "${timings[@]}"
printf '  %-28s %5.1f min\n' "all" "$(awk -v s=$SECONDS 'BEGIN { print s / 60 }')"
if [ ${#failures[@]} -gt 0 ]; then
  echo "failed"
  printf '  %s\n' "${failures[@]}"
fi
echo "$passed passed, $failed failed, $skipped skipped"
[ "$failed" -eq 0 ] && [ $((passed)) -gt 0 ]
