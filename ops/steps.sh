# Runs the steps of ops/test one after another, says how long each took, and counts them.
# To be sourced. A step that fails does not keep the others from running, unless they
# could not run without it.

passed=0
failed_steps=()
declare -A waiting_for=() running_as=()
chosen=("$@") # names of steps given on the command line; none means all

is_chosen() {
  local name
  [ ${#chosen[@]} -eq 0 ] && return 0
  for name in "${chosen[@]}"; do [ "$name" = "$1" ] && return 0; done
  return 1
}

# step NAME HEADING COMMAND...: runs the command as a process of its own, without input.
step() {
  local name=$1 heading=$2 began=$SECONDS
  shift 2
  is_chosen "$name" || return 0
  printf '\n== %s: %s\n' "$name" "$heading"
  if "$@" </dev/null; then
    passed=$((passed + 1))
    printf -- '-- %s: passed, %d s (%d s since the start)\n' "$name" $((SECONDS - began)) "$SECONDS"
  else
    failed_steps+=("$name")
    printf -- '-- %s: FAILED, %d s (%d s since the start)\n' "$name" $((SECONDS - began)) "$SECONDS"
    return 0
  fi
}

# beside NAME HEADING COMMAND...: the same while the steps after it run, for what mostly waits.
# What it printed is shown, and counted, by `join NAME`.
beside() {
  local name=$1
  is_chosen "$name" || return 0
  waiting_for[$name]=$(mktemp /tmp/wetside-step.XXXXXX)
  (failed_steps=(); step "$@"; [ ${#failed_steps[@]} -eq 0 ]) >"${waiting_for[$name]}" 2>&1 &
  running_as[$name]=$!
}

join() {
  local name=$1
  [ -n "${waiting_for[$name]:-}" ] || return 0
  if wait "${running_as[$name]}"; then passed=$((passed + 1)); else failed_steps+=("$name"); fi
  cat "${waiting_for[$name]}"
  rm -f "${waiting_for[$name]}"
}

# The same for what later steps cannot do without: stops everything when it fails, and
# is never left out.
must() {
  local before=${#failed_steps[@]} chosen=()
  step "$@"
  if [ ${#failed_steps[@]} -gt "$before" ]; then closing; fi
}

# Says what failed and ends the script. The last line is the sum.
closing() {
  if [ "$passed" -eq 0 ] && [ ${#failed_steps[@]} -eq 0 ]; then
    echo "No step has the name ${chosen[*]}." >&2
    failed_steps+=(none)
  fi
  printf '\n'
  if [ ${#failed_steps[@]} -gt 0 ]; then printf 'Failed: %s\n' "${failed_steps[*]}"; fi
  printf 'Steps in %d s:\n%d passed, %d failed\n' "$SECONDS" "$passed" "${#failed_steps[@]}"
  [ ${#failed_steps[@]} -eq 0 ]
  exit
}
