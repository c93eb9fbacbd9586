#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a plan of a scan costs against its triangles, by one thread: processor time, peak memory, bytes written. By hand; docs/scale.md holds what it printed.

Usage: scan_cost.py PROGRAM SAMPLE_MESHES_FOLDER [MOST_TRIANGLES]

The sample cleat, finer and finer: each triangle becomes four, its new corners moved off the flat by a thousandth of its side, so that no plane is left
for the program to gain by. Processor time, since other work on the machine changes it little.
"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile

import numpy as np

RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])


def read_stl(path):
    with open(path, "rb") as file:
        file.seek(84)
        return np.frombuffer(file.read(), RECORD)["corners"].astype(np.float64)


def write_stl(path, corners):
    records = np.zeros(len(corners), RECORD)
    records["corners"] = corners
    with open(path, "wb") as file:
        file.write(b"\0" * 80 + np.uint32(len(corners)).tobytes() + records.tobytes())


def finer(corners):
    """Four for each. A middle is moved by what both triangles beside it agree on: a function of the place."""
    def middle(a, b):
        m = 0.5 * (a + b)
        side = np.linalg.norm(b - a, axis=1, keepdims=True)
        return m + 1e-3 * side * np.sin(m[:, [1, 2, 0]] * 12.9898 + m * 78.233)
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, bc, ca = middle(a, b), middle(b, c), middle(c, a)
    return np.concatenate([np.stack(t, 1) for t in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))]).astype(np.float32).astype(np.float64)




# A process of its own starts the program: what is told as a child's peak memory is no less than its parent's.
STARTER = """import json, os, subprocess, sys
child = subprocess.Popen(sys.argv[1:])
_, status, usage = os.wait4(child.pid, 0)
print(json.dumps([os.waitstatus_to_exitcode(status), usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1000.0]))"""


def cost(program, scan, out):
    """Processor seconds, peak MB, MB written."""
    call = [program, "plan", scan, "--units", "mm", "--threads", "1", "--out", out, "--quiet"]
    status, seconds, peak = json.loads(subprocess.run([sys.executable, "-c", STARTER, *call], stdout=subprocess.PIPE, check=True).stdout)
    if status not in (0, 1):
        raise SystemExit(f"{scan}: exit status {status}")
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
