#!/usr/bin/env bash
# clang-format 14 would change nothing. Skipped (77) where that version is not there.
cd "$1" || exit 1
format=$(command -v clang-format-14 || command -v clang-format) || { echo "no clang-format"; exit 77; }
"$format" --version | grep -q 'version 14\.' || { echo "clang-format is not version 14"; exit 77; }
find src include tests -name '*.cpp' -o -name '*.hpp' | sort | xargs "$format" --dry-run --Werror
