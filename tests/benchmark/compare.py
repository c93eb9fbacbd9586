#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Two builds of the program on the same calls, in turn; prints medians and the median of the pairs' ratios with its middle half.

Usage: compare.py WORK_FOLDER ROUNDS FIRST SECOND [MESH ...]      see tools/dev/compare_speed.sh
"""
import pathlib
import statistics
import sys

import child
import meshes


def calls(work, given):
    if given:
        files = [pathlib.Path(path) for path in given]
    else:
        samples = pathlib.Path(__file__).parent.parent.parent / "sample_meshes"
        files = [samples / name for name in ("mooring_cleat.stl", "ships_bell.ply", "figurehead_scan.obj")]
        files.append(work / "ring_52k.stl")
        meshes.write_stl(files[-1], meshes.ring(228))
    return [(command, file) for file in files for command in ("inspect", "weigh", "orient", "plan")]


def main():
    work, rounds, programs = pathlib.Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3:5]
    print("| call | part | first | second | second / first, processors | by the clock | peak memory |\n|---|---|---|---|---|---|---|")
    for command, file in calls(work, sys.argv[5:]):
        runs = ([], [])
        for number in range(rounds):
            # Whoever goes second finds the file in memory and the processor warm: they take turns.
            for which in ((0, 1), (1, 0))[number % 2]:
                out = ["--out", work / f"out_{which}"] if command == "plan" else []
                runs[which].append(child.cost([programs[which], command, file, "--units", "mm", "--quiet", *out]))
        ratios = [sorted(b[i] / a[i] for a, b in zip(*runs)) for i in range(3)]
        half = len(ratios[1]) // 4
        print(f"| {command} | {file.name} | {statistics.median(a[1] for a in runs[0]):.3f} s | {statistics.median(b[1] for b in runs[1]):.3f} s | "
              f"{statistics.median(ratios[1]):.3f} ({ratios[1][half]:.3f} to {ratios[1][-1 - half]:.3f}) | {statistics.median(ratios[0]):.3f} | {statistics.median(ratios[2]):.3f} |", flush=True)


if __name__ == "__main__":
    main()
