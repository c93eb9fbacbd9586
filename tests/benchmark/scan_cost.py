#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a plan of a scan costs against its triangles, by one thread: processor time, peak memory, bytes written. By hand; docs/scale.md holds what it printed.

Usage: scan_cost.py PROGRAM SAMPLE_MESHES_FOLDER [MOST_TRIANGLES]

The sample cleat, finer and finer: each triangle becomes four, its new corners moved off the flat by a thousandth of its side, so that no plane is left
for the program to gain by. Processor time, since other work on the machine changes it little.
"""
import os
import pathlib
import sys
import tempfile

import child
import numpy as np
from meshes import finer, read_stl, write_stl

def cost(program, scan, out):
    """Processor seconds, peak MB, MB written."""
    _, seconds, peak = child.cost([program, "plan", scan, "--units", "mm", "--threads", "1", "--out", out, "--quiet"])
    return seconds, peak, sum(path.stat().st_size for path in pathlib.Path(out).iterdir()) / 1e6


def main():
    program, samples = os.path.abspath(sys.argv[1]), pathlib.Path(sys.argv[2])
    most = int(float(sys.argv[3])) if len(sys.argv) > 3 else 3_000_000
    cleat = read_stl(samples / "mooring_cleat.stl")
    meshes = [cleat]
    while 4 * len(meshes[-1]) <= most:
        meshes.append(finer(meshes[-1]))
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for corners in meshes:
            scan = os.path.join(folder, "scan.stl")
            write_stl(scan, corners)
            rows.append((len(corners), *cost(program, scan, os.path.join(folder, f"out{len(corners)}"))))
            print("| {:,} | {:.1f} | {:.0f} | {:.1f} |".format(*rows[-1]), flush=True)
    n, seconds = np.array([row[0] for row in rows], float), np.array([row[1] for row in rows])
    slope, base = np.polyfit(n, seconds, 1, w=1.0 / seconds)
    print(f"fit: {base:.1f} s + {1e6 * slope:.1f} s for each million triangles; growth n^{np.polyfit(np.log(n), np.log(seconds), 1)[0]:.2f}")


if __name__ == "__main__":
    main()
