#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Five million triangles through `cavigram inspect`: a clean torus, and one with holes, noise and scraps. Prints time and peak
memory of each; the exit status is 1 if a file is refused, takes more than 4 GiB, or its volume misses the torus's.

Usage: large_files.py PROGRAM FOLDER      the files (250 MB each) are written to FOLDER and removed
"""
import json
import math
import os
import pathlib
import sys
import time

import numpy as np

AROUND, ALONG = 2236, 1118  # quads around the ring and around the tube
RING_MM, TUBE_MM = 50.0, 15.0
MOST_GIB = 4.0


def torus():
    u, v = np.meshgrid(np.arange(AROUND) * 2 * np.pi / AROUND, np.arange(ALONG) * 2 * np.pi / ALONG, indexing="ij")
    normal = np.stack([np.cos(v) * np.cos(u), np.cos(v) * np.sin(u), np.sin(v)], -1)
    ring = np.stack([np.cos(u), np.sin(u), np.zeros_like(u)], -1)
    return RING_MM * ring + TUBE_MM * normal, normal


def triangles(points):
    i, j = np.arange(AROUND)[:, None], np.arange(ALONG)[None, :]
    at = [(i + a) % AROUND * ALONG + (j + b) % ALONG for a, b in ((0, 0), (1, 0), (1, 1), (0, 1))]
    index = np.concatenate([np.stack([at[0], at[1], at[2]], -1).reshape(-1, 3), np.stack([at[0], at[2], at[3]], -1).reshape(-1, 3)])
    return points.reshape(-1, 3).astype("<f4")[index]


def clean():
    return triangles(torus()[0])


def dirty():
    """Noise of 0.02 mm that neighbors share, twelve holes of 1 to 4 mm radius, forty loose tetrahedra."""
    random = np.random.default_rng(1)
    points, normal = torus()
    noise = random.normal(size=points.shape[:2])
    for _ in range(2):
        noise = (noise + np.roll(noise, 1, 0) + np.roll(noise, -1, 0) + np.roll(noise, 1, 1) + np.roll(noise, -1, 1)) / 5
    soup = triangles(points + normal * (0.02 * noise / noise.std())[..., None])
    middle = soup.mean(1)
    kept = np.ones(len(soup), bool)
    for k in range(12):
        kept &= np.linalg.norm(middle - points[k * AROUND // 12, 97 * k % ALONG], axis=1) > 1.0 + 0.3 * k
    tetrahedron = 0.3 * np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])[[[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]]]
    scraps = (random.uniform(-60, 60, (40, 1, 1, 3)) + tetrahedron).reshape(-1, 3, 3)
    return np.concatenate([soup[kept], scraps.astype("<f4")])


def write_stl(path, soup):
    records = np.zeros(len(soup), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    records["corners"] = soup
    path.write_bytes(b"\0" * 80 + np.uint32(len(soup)).tobytes() + records.tobytes())


def main():
    program, folder = os.path.abspath(sys.argv[1]), pathlib.Path(sys.argv[2])
    exact_mm3 = 2 * math.pi ** 2 * RING_MM * TUBE_MM ** 2
    bad = 0
    for name, make in (("clean", clean), ("dirty", dirty)):
        path, answer = folder / f"large_{name}.stl", folder / f"large_{name}.json"
        soup = make()
        write_stl(path, soup)
        count = len(soup)
        del soup
        start = time.perf_counter()
        child = os.posix_spawn(program, [program, "inspect", str(path), "--units", "mm", "--json", str(answer)], os.environ,
                               file_actions=[(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)])
        _, status, used = os.wait4(child, 0)
        wall_s, peak_gib = time.perf_counter() - start, used.ru_maxrss / 1048576
        fine = os.waitstatus_to_exitcode(status) == 0 and peak_gib <= MOST_GIB
        value = json.loads(answer.read_text())["measures"]["volume_mm3"] if fine else math.nan
        # 1e-3: the chords of 1118 sides take 5e-6, the noise 2e-5, patches over the holes a few 1e-5.
        fine = fine and abs(value / exact_mm3 - 1) < 1e-3
        print(f"{name}: {count} triangles, {wall_s:.1f} s ({used.ru_utime:.1f} s of processor time), peak {peak_gib:.2f} GiB, "
              f"volume {value:.1f} mm3 of {exact_mm3:.1f}{'' if fine else '  FAULT'}")
        bad += not fine
        path.unlink()
        answer.unlink(missing_ok=True)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
