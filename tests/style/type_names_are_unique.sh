#!/usr/bin/env bash
# No two types of one namespace have one name: the linker would take the functions of one for the
# other's. Types of unnamed namespaces are apart.
# usage: type_names_are_unique.sh TOP
set -euo pipefail
cd "$1"
find src include -name '*.[ch]pp' -print0 | sort -z | xargs -0 awk '
  FNR == 1 { depth = 0 }
  /^namespace .*\{$/ { space[++depth] = NF > 2 ? $2 : "unnamed" }
  /^\}  \/\/ namespace/ && depth > 0 { --depth }
  /^(struct|class|union|enum|enum class) [A-Za-z_0-9]+.*\{$/ {
    name = $1 == "enum" && $2 == "class" ? $3 : $2
    where = ""
    for (k = 1; k <= depth; ++k) where = where "::" space[k]
    if (where ~ /::unnamed/) next
    ++types
    name = where "::" name
    if (name in first) { print name ": " first[name] " and " FILENAME; ++wrong }
    else first[name] = FILENAME
  }
  END {
    if (types < 100) { print "only " types + 0 " types were seen"; ++wrong }
    exit wrong > 0
  }'
