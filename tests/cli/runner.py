# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the program and checks what every run must keep to."""
import os
import struct
import subprocess


# Sanitizers make the program up to ten times as slow.
SLOWER = float(os.environ.get("CAVIGRAM_TEST_SLOWER", "1"))


def run(program, *arguments, cwd=None, timeout=120, **options):
    return subprocess.run([program, *arguments], capture_output=True, text=True, cwd=cwd, timeout=timeout * SLOWER, **options)


def check_refusal(result, status):
    """One plain sentence on standard error, nothing on standard output. Gives a list of faults."""
    faults = []
    if result.returncode != status:
        faults.append(f"exit status {result.returncode}, expected {status}")
    if result.stdout:
        faults.append(f"standard output: {result.stdout[:200]!r}")
    lines = result.stderr.splitlines()
    if len(lines) != 1 or not lines[0].startswith("cavigram: ") or not lines[0].endswith("."):
        faults.append(f"not one sentence: {result.stderr[:400]!r}")
    for trace in ("terminate called", "std::", "what()", "Assertion", "0x"):
        if trace in result.stderr:
            faults.append(f"a trace of the inside: {trace!r} in {result.stderr[:200]!r}")
    return faults


def binary_stl(triangles, header=b""):
    """Bytes of a binary STL; each triangle is three points."""
    data = header.ljust(80, b"\0") + struct.pack("<I", len(triangles))
    for triangle in triangles:
        data += struct.pack("<12fH", 0, 0, 0, *[c for point in triangle for c in point], 0)
    return data


def box(size=40.0, shift=0.0):
    """Twelve triangles of a cube, looking outward."""
    v = [((i & 1) * size + shift, (i >> 1 & 1) * size + shift, (i >> 2 & 1) * size + shift) for i in range(8)]
    faces = [(0, 2, 3), (0, 3, 1), (4, 5, 7), (4, 7, 6), (0, 1, 5), (0, 5, 4),
             (2, 6, 7), (2, 7, 3), (0, 4, 6), (0, 6, 2), (1, 3, 7), (1, 7, 5)]
    return [tuple(v[i] for i in face) for face in faces]


def tree(folder):
    return sorted(os.path.join(base, name) for base, _, names in os.walk(folder) for name in names)
