#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Plans many scans on a Slurm cluster: a job array whose tasks run `cavigram plan --table` on a piece of the list each.
#   plan_scans.sh LIST OUT [-n SCANS_PER_TASK] [-s SBATCH_OPTION]... [-- OPTIONS OF cavigram plan]
# LIST: a file with the path of one scan a line, as all nodes see it. OUT: a folder that all nodes see.
# Prints the number of the job array, or of several for more tasks than one takes. The same call again does what is missing and no more. Then: gather_table.py LIST OUT.
# CAVIGRAM names the program, if it is not on the nodes' path.
set -euo pipefail

# ---- one task of the array ----
if [ "${1:-}" = --task ]; then
  list=$2 out=$3 piece=$4 task=$(($5 + SLURM_ARRAY_TASK_ID))
  shift 5
  mapfile -t scans < <(tail -n "+$((task * piece + 1))" "$list" | head -n "$piece")
  # A folder of its own, so that no folder holds a million and no table is written by all.
  folder=$out/$(printf 'task_%05d' "$task")
  status=0
  "${CAVIGRAM:-cavigram}" plan "$@" --table --out "$folder" --threads "${SLURM_CPUS_PER_TASK:-1}" --progress off -- "${scans[@]}" || status=$?
  # Killed, for memory or by a node that goes down: it goes on where it was, three times at most.
  if [ "$status" -ge 128 ] && [ "${SLURM_RESTART_COUNT:-0}" -lt 3 ]; then
    scontrol requeue "$SLURM_JOB_ID"
    sleep 60 # until Slurm ends this task
  fi
  # A scan that failed is a row of the table, not a failure of the task; a table that could not be written is one.
  if [ "$status" -le 1 ] || { [ "$status" -eq 3 ] && [ -s "$folder/table.csv" ]; }; then
    exit 0
  fi
  exit "$status"
fi

# ---- the call ----
usage() { sed -n '3,7s/^# \{0,1\}//p' "$0" >&2; exit 2; }
[ $# -ge 2 ] || usage
list=$(realpath "$1") out=$(realpath -m "$2")
shift 2
piece=20 more=()
while getopts n:s: option; do
  case $option in
    n) piece=$OPTARG ;;
    s) more+=("$OPTARG") ;;
    *) usage ;;
  esac
done
shift $((OPTIND - 1))

[ -s "$list" ] || { echo "plan_scans.sh: $list holds no scans." >&2; exit 2; }
count=$(grep -c '' "$list")
# A list that holds a scan twice would plan it in two folders.
twice=$(sort "$list" | uniq -d | head -n 1)
[ -z "$twice" ] || { echo "plan_scans.sh: $twice stands in $list more than once; leave each only once." >&2; exit 2; }
# Tasks find their scans by their place: a list that changed is another list.
mkdir -p "$out"
if [ -e "$out/list.txt" ]; then
  [ "$(head -n "$(grep -c '' "$out/list.txt")" "$list" | sha256sum)" = "$(sha256sum <"$out/list.txt")" ] ||
    { echo "plan_scans.sh: $out was begun with another list; add scans at the end of the list only, or choose another folder." >&2; exit 2; }
  [ "$piece" = "$(cat "$out/scans_per_task")" ] || { echo "plan_scans.sh: $out was begun with -n $(cat "$out/scans_per_task"); give the same." >&2; exit 2; }
fi
cp "$list" "$out/list.txt.new" && mv "$out/list.txt.new" "$out/list.txt"
echo "$piece" >"$out/scans_per_task"
mkdir -p "$out/logs"

tasks=$(((count + piece - 1) / piece))
most=$(scontrol show config | awk '$1 == "MaxArraySize" { print $3 }')
for ((first = 0; first < tasks; first += most)); do
  last=$((tasks - first < most ? tasks - first - 1 : most - 1))
  sbatch --parsable --job-name=cavigram --requeue --open-mode=append --cpus-per-task=1 --output="$out/logs/%A_%a.txt" --array="0-$last" \
    "${more[@]}" "$(realpath "$0")" --task "$out/list.txt" "$out" "$piece" "$first" "$@"
done
