# Sourced: `jobs` is how many compilers or tests may run at once, by cores and free memory (about
# 1.5 GB for one compiler).
jobs=$(nproc)
free_kb=$(awk '/^MemAvailable:/ { print $2 }' /proc/meminfo)
by_memory=$((free_kb / 1500000))
[ "$by_memory" -ge 1 ] || by_memory=1
[ "$jobs" -le "$by_memory" ] || jobs=$by_memory
