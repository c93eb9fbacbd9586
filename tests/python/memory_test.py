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
    quarters = [seen[k * count // 4:(k + 1) * count // 4] for k in (1, 2, 3)]
    # What is lost for good raises the least of each stretch; its most also holds a thread that is just ending, and pages that go back a little later.
    least = [[min(row[k] for row in part) for k in range(3)] for part in quarters]
    print(f"{count} plans: kB, threads, files at least in the second, third and last quarter: {least}")
    # What leaks grows in each quarter; what the allocator still takes does so once, in whichever.
    grown = min(after[0] - before[0] for before, after in zip(least, least[1:]))
    return 1 if grown > 2500 or any(least[2][k] > least[0][k] for k in (1, 2)) else 0


if __name__ == "__main__":
    sys.exit(main())
