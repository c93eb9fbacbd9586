#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Full disks, kills, too little memory, closed output, signals, a wrong clock, two programs on one folder: tried on the program.

Usage: faults.py PROGRAM [--quick] [--only NAME]... [--docs FILE]
    --quick   a small fixed part (the CTest faults.quick)
    --docs    writes docs/reliability.md of what was found
Exit status 1 if anything did not hold.
"""
import argparse
import json
import os
import pathlib
import re
import signal
import subprocess
import sys

sys.dont_write_bytecode = True
sys.path.insert(0, str(pathlib.Path(__file__).parent))
import disks  # noqa: E402
import ends  # noqa: E402
import others  # noqa: E402
from ground import Ground  # noqa: E402

QUICK = [disks.full_disk_plan, disks.full_disk_others, ends.killed_plan, ends.killed_tally, ends.signals_others, ends.pipe_that_ends, others.two_programs]
TRIALS = [disks.full_disk_plan, disks.full_disk_others, disks.unwritable, ends.killed_plan, ends.killed_tally, ends.killed_serve, ends.table, ends.signals_plan,
          ends.signals_others, ends.pipe_that_ends, ends.closed_output, ends.memory, others.clock, others.two_programs]

HEAD = """# Reliability

What was done to the program, what a person sees of it, and what is left on the disk. This page is written by the run that tried it: `tests/faults/run.sh`.
A small part of it is the test `faults.quick`. Moments and sizes are drawn by a fixed seed; a part is a cube of 40 mm.

| fault | done | times | what the person sees, exit status | what is left | verdict |
|---|---|---|---|---|---|
"""

TAIL = """
## What is not held

- A plan takes its folder's place as a whole. Where other files lie in that folder, or the folder above can't be written to, its files are put in place one by one once all are written, within milliseconds. A kill or a loss of power in that moment can leave files of two plans; the next call mends it.
- With less memory than the system needs to load the program, its loader's own words are all there is (status 127).
- Whether a disk keeps what it says it has written (`fsync`) is the disk's own.
- Locks (`flock`) are those of one machine; on a network disk that does not pass them on, two machines that plan into one folder at the same moment are not kept apart. SQLite says the same of its log.
"""


def own_namespace():
    """Starts this script anew where it may mount small disks that nobody else sees; goes on here if the system does not let it."""
    if os.environ.get("CAVIGRAM_FAULTS_INSIDE"):
        return
    os.environ["CAVIGRAM_FAULTS_INSIDE"] = "1"
    for words in (["unshare", "-m", "--propagation", "private"], ["unshare", "-rm", "--propagation", "private"]):
        try:
            if subprocess.run([*words, "true"], capture_output=True, check=False).returncode == 0:
                os.execvp(words[0], [*words, sys.executable, *sys.argv])
        except OSError:
            return


def write_docs(path, rows, keep):
    """The page; `keep`: rows that stand there and were not tried now stay."""
    lines = {(row.fault, row.done): f"| {row.fault} | {row.done} | {row.times} | {row.sees} | {row.left} | {row.verdict()} |\n" for row in rows}
    table = []
    if keep and path.exists():
        for line in path.read_text().splitlines(keepends=True):
            cells = re.split(r" (?<!\\\\)\| ", line.removeprefix("| "))
            if line.startswith("| ") and len(cells) > 4 and cells[0] != "fault":
                table.append(lines.pop((cells[0], cells[1]), line))
    path.write_text(HEAD + "".join(table) + "".join(lines.values()) + TAIL)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--only", action="append", default=[])
    parser.add_argument("--docs")
    parser.add_argument("--json")
    asked = parser.parse_args()
    own_namespace()
    # A run in the background (`&`, nohup) ignores some, and so would every program that it starts.
    for number in (signal.SIGHUP, signal.SIGINT, signal.SIGQUIT):
        signal.signal(number, signal.SIG_DFL)
    ground = Ground(asked.program, asked.quick)
    rows = []
    try:
        for trial in QUICK if asked.quick and not asked.only else TRIALS:
            if asked.only and trial.__name__ not in asked.only:
                continue
            print(trial.__name__, flush=True)
            for row in trial(ground):
                print(f"  {row.fault}: {row.done}, {row.times} times: {row.verdict()}\n    {row.sees}", flush=True)
                rows.append(row)
    finally:
        ground.close()
    if asked.docs:
        write_docs(pathlib.Path(asked.docs), rows, keep=bool(asked.only))
    failed = [row for row in rows if row.faults]
    skipped = sum(bool(row.skipped) for row in rows)
    if asked.json:
        told = {"rows": len(rows), "hold": len(rows) - len(failed) - skipped, "skipped": skipped, "times": sum(row.times for row in rows)}
        pathlib.Path(asked.json).write_text(json.dumps(told) + "\n")
    print(f"{len(rows)} rows: {len(rows) - len(failed) - skipped} hold, {len(failed)} fail, {skipped} not tried.")
    return 1 if failed or not rows else 0


if __name__ == "__main__":
    sys.exit(main())
