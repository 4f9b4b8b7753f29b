# bash completion for evendrip
_evendrip() {
  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} command=""
  local i
  COMPREPLY=()
  for ((i = 1; i < COMP_CWORD; ++i)); do
    case ${COMP_WORDS[i]} in
      check | run | evaluate | screen | crop | simulate) command=${COMP_WORDS[i]} && break ;;
    esac
  done
  case $before in
    -o | --output)
      local kind=-d
      [ "$command" = evaluate ] && kind=-f
      mapfile -t COMPREPLY < <(compgen $kind -- "$word")
      compopt -o filenames
      return
      ;;
    --plan) mapfile -t COMPREPLY < <(compgen -f -- "$word"); compopt -o filenames; return ;;
    --threads) mapfile -t COMPREPLY < <(compgen -W "$(seq 1 "$(nproc)")" -- "$word"); return ;;
    --survey)
      local folder
      for folder in "${COMP_WORDS[@]:2}"; do
        [ -f "$folder/field.toml" ] || continue
        mapfile -t COMPREPLY < <(compgen -W "$(awk '/^\[\[survey\]\]/ { on = 1; next } /^\[/ { on = 0 }
          on && /^id *=/ { gsub(/^id *= *"|".*/, ""); print }' "$folder/field.toml")" -- "$word")
      done
      return
      ;;
    --quarter) mapfile -t COMPREPLY < <(compgen -W "part down up" -- "$word"); return ;;
    --seed | --confidence | --uniformity-within | --mean-within | --draws | --zones | --laterals | --stations)
      return
      ;;
  esac
  local options="--help --version --quiet"
  case $command in
    "") options="check run evaluate screen crop simulate --help --version --quiet" ;;
    check) options+=" --json" ;;
    run) options+=" --survey --output --json --threads --seed" ;;
    evaluate)
      options+=" --survey --output --json --seed --quarter --confidence --uniformity-within"
      options+=" --mean-within --draws --zones --laterals --stations"
      ;;
    screen) options+=" --survey --commission --json" ;;
    crop) options+=" --survey --output --json --threads --seed" ;;
    simulate) options+=" --plan --seed" ;;
  esac
  if [[ $word == -* || -z $command ]]; then
    mapfile -t COMPREPLY < <(compgen -W "$options" -- "$word")
  else
    mapfile -t COMPREPLY < <(compgen -d -- "$word")
    compopt -o filenames
  fi
}
complete -F _evendrip evendrip
