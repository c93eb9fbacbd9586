#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Gathers one table from all tasks of plan_scans.sh, and holds it against the list: nothing lost, nothing twice.

Usage: gather_table.py LIST OUT

Writes OUT/table.csv and OUT/table.html by `cavigram plan --table` (CAVIGRAM names the program, if it is not on the path), and
OUT/missing.txt, the scans without a row. Exit status: 0, all scans have one row; 1, some have none yet: call plan_scans.sh again
with the same list; 3, a scan has two rows, or there are rows of scans that are not in the list.
"""
import collections
import csv
import os
import pathlib
import subprocess
import sys


def listed(path):
    """The scans as their rows name them: absolute, without `.` and `..`."""
    return [os.path.abspath(line) for line in os.fsdecode(pathlib.Path(path).read_bytes()).splitlines() if line]


def gather(out):
    """How many rows each scan has, and how many rows ended how."""
    program = os.environ.get("CAVIGRAM", "cavigram")
    made = subprocess.run([program, "plan", "--table", "--out", str(out), "--quiet", "--progress", "off"], capture_output=True, text=True)
    if made.returncode not in (0, 1, 3) or made.stderr:
        sys.exit(made.stderr.strip() or f"{program} ended with status {made.returncode}")
    scans, ends = collections.Counter(), collections.Counter()
    with open(out / "table.csv", newline="", encoding="utf-8") as table:
        for row in csv.DictReader(table):
            scans[row["scan"]] += 1
            ends[row["end"]] += 1
    return scans, ends


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    out = pathlib.Path(sys.argv[2])
    wanted = listed(sys.argv[1])
    scans, ends = gather(out)
    # Rows hold text: what is no UTF-8 in a name was replaced there.
    shown = {name.encode("utf-8", "surrogateescape").decode("utf-8", "replace"): name for name in wanted}
    missing = [name for text, name in shown.items() if scans[text] == 0]
    twice = [name for name, count in scans.items() if count > 1]
    strange = [name for name in scans if name not in shown and scans[name] > 0]
    new = out / "missing.txt.new"
    new.write_bytes(b"".join(os.fsencode(name) + b"\n" for name in missing))
    new.replace(out / "missing.txt")
    print(f"{len(wanted)} scans, {sum(ends.values())} rows: {ends['planned']} planned, {ends['stop']} need attention first, {ends['failed']} failed; "
          f"{len(missing)} missing, {len(twice)} twice, {len(strange)} not in the list")
    for name in (twice + strange)[:20]:
        print(f"twice, or not in the list: {name}")
    return 3 if twice or strange else 1 if missing else 0


if __name__ == "__main__":
    sys.exit(main())
