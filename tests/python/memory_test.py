#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plans a small part again and again in one process; memory, threads and open files must not grow.

Usage: memory_test.py FOLDER_OF_THE_PACKAGE PLANS
"""
import os
import pathlib
import sys

sys.path[:0] = [os.path.abspath(sys.argv[1]), str(pathlib.Path(__file__).parent)]
import box  # noqa: E402
import cavigram  # noqa: E402


def used():
    status = pathlib.Path("/proc/self/status").read_text(encoding="ascii")
    kilobytes = int(status.split("VmRSS:")[1].split()[0])
    return kilobytes, int(status.split("Threads:")[1].split()[0]), len(os.listdir("/proc/self/fd"))


def main():
    count = int(sys.argv[2])
    mesh = cavigram.read((box.vertices(), box.TRIANGLES))
    seen = []
    for i in range(count):
        # In turn by a mesh that keeps what it computed, asked anew each time, and by arrays that nothing is kept of.
        cavigram.plan(mesh if i % 2 else (box.vertices(), box.TRIANGLES), units="mm", copies=1 + i % 7)
        seen.append(used())
    first, second = seen[count // 4:count // 2], seen[count // 2:]
    # What is lost for good raises the least of a stretch; its most also holds a thread that is just ending, and pages that go back a little later.
    least = [[min(row[k] for row in part) for k in range(3)] for part in (first, second)]
    print(f"{count} plans: {least[0]} kB, threads, files at least in the second quarter, {least[1]} in the second half")
    # One plan of it is some 10 MB at its height; what came and went may lie otherwise by a part of that.
    grown = least[1][0] - least[0][0]
    return 1 if grown > 5000 or least[1][1] > least[0][1] or least[1][2] > least[0][2] else 0


if __name__ == "__main__":
    sys.exit(main())
