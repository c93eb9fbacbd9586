#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The air of meshes that no one here made, against GUDHI 3.7.1 (python3-gudhi): 0-dimensional persistence of the height.

A peak of the air tree is born at its height and ends where its air meets that of a higher peak: these pairs are the 0-dimensional persistence
of the superlevel sets of the height (Edelsbrunner, Letscher & Zomorodian 2002). GUDHI sweeps upward, so heights are negated. Held equal are

- the column tree and GUDHI's simplicial complex of the column's own intervals, one vertex each, one edge where two in neighboring columns
  overlap: every pair, to the last bit;
- the column tree, the surface tree and GUDHI's cubical complex, all three of the part as a heap of cubes: every pair, exactly. The complex of
  3.7.1 joins cubes that only touch at a corner, so its grid is doubled: a cell for each cube, one for each face between two;
- the surface tree and the column tree of the part itself: bottleneck distance at most the columns' spacing.

The last holds where the part has no wall, neck or gap finer than the spacing; so the first list is of meshes without such at 64 columns, and
the second of some that have a few at 64 and none at 256. Where there are finer ones at any spacing (legs that all but touch: camel, man) the
two differ, and cavigram vent says so.

Usage: gudhi_test.py AIR_DUMP DATA_FOLDER
"""
import pathlib
import subprocess
import sys

import gudhi
import numpy as np

COARSE = "elephant bear knot1 knot2 femur head hand cactus fandisk anchor couplingdown armadillo spool".split()
FINE = "homer rotor triceratops".split()
UPS = ["0,0,1", "1,0,0", "0.3,-0.5,0.8", "-0.6,0.7,-0.2", "0.1,-0.9,-0.4"]
ABSENT = 1e300  # the filtration of a cell outside the part


class Case:
    """One direction: spacing, intervals by column, pairs of both trees."""

    def __init__(self, words):
        self.spacing = float(words[4])
        self.intervals = {}
        self.pairs = {"c": [], "e": []}

    def add(self, words):
        if words[0] == "i":
            self.intervals.setdefault((int(words[1]), int(words[2])), []).append((float(words[3]), float(words[4])))
        else:
            peak, saddle = float(words[1]), float(words[2])
            if peak > saddle:
                self.pairs[words[0]].append((-peak, -saddle))


def cases_of(program, path, columns, cubes):
    command = [program] + (["--cubes"] if cubes else []) + [str(path), str(columns)] + UPS
    text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    cases = []
    for line in text.splitlines():
        words = line.split()
        if words[0] == "up":
            cases.append(Case(words))
        elif words[0] != "part":
            cases[-1].add(words)
    return cases


def by_intervals(case):
    """GUDHI's pairs on the graph of overlapping intervals."""
    tree = gudhi.SimplexTree()
    number = {}
    for column, stack in case.intervals.items():
        for k, (top, _) in enumerate(stack):
            number[column, k] = len(number)
            tree.insert([number[column, k]], filtration=-top)
    for (x, y), stack in case.intervals.items():
        for other in ((x + 1, y), (x, y + 1)):
            for k, (top, bottom) in enumerate(stack):
                for j, (top_2, bottom_2) in enumerate(case.intervals.get(other, [])):
                    if bottom < top_2 and bottom_2 < top:
                        tree.insert([number[(x, y), k], number[other, j]], filtration=-min(top, top_2))
    tree.compute_persistence(homology_coeff_field=2, min_persistence=0, persistence_dim_max=True)
    return [tuple(p) for p in tree.persistence_intervals_in_dimension(0) if p[1] > p[0]]


def by_cubes(case):
    """GUDHI's pairs on the doubled grid of the cubes; a cube's height is that of its top."""
    ends = [(column, round(top), round(bottom)) for column, stack in case.intervals.items() for top, bottom in stack]
    size = [max(c[0][0] for c in ends) + 1, max(c[0][1] for c in ends) + 1, max(c[1] for c in ends)]
    filled = np.zeros(size, dtype=bool)
    for (x, y), top, bottom in ends:
        filled[x, y, bottom:top] = True
    value = np.where(filled, -(np.arange(size[2]) + 1.0), ABSENT)
    doubled = np.full([2 * n - 1 for n in size], ABSENT)
    doubled[::2, ::2, ::2] = value
    doubled[1::2, ::2, ::2] = np.maximum(value[:-1], value[1:])
    doubled[::2, 1::2, ::2] = np.maximum(value[:, :-1], value[:, 1:])
    doubled[::2, ::2, 1::2] = np.maximum(value[:, :, :-1], value[:, :, 1:])
    complex_ = gudhi.CubicalComplex(top_dimensional_cells=doubled)
    complex_.compute_persistence()
    pairs = [(p[0], p[1] if p[1] < ABSENT else np.inf) for p in complex_.persistence_intervals_in_dimension(0)]
    return [p for p in pairs if p[0] < ABSENT and p[1] > p[0]]


def finite(pairs):
    return np.array([p for p in pairs if np.isfinite(p[1])]).reshape(-1, 2)


def whole_cubes(pairs):
    return sorted((round(a), round(b) if np.isfinite(b) else b) for a, b in pairs)


def main():
    program, data = sys.argv[1], pathlib.Path(sys.argv[2]) / "libcgal-demo" / "data" / "meshes"
    faults = []
    done = 0
    farthest = 0.0
    for names, columns in ((COARSE, 64), (FINE, 256)):
        for name in names:
            path = data / f"{name}.off"
            for up, case in zip(UPS, cases_of(program, path, columns, False)):
                where = f"{name}, up {up}, {columns} columns"
                if sorted(by_intervals(case)) != sorted(case.pairs["c"]):
                    faults.append(f"{where}: the column tree's pairs are not GUDHI's")
                away = gudhi.bottleneck_distance(finite(case.pairs["c"]), finite(case.pairs["e"]), 0.0) / case.spacing
                farthest = max(farthest, away)
                if away > 1.0:
                    faults.append(f"{where}: the surface tree's pairs are {away:.2f} cells off")
                done += 1
    heaps = 0
    for name in COARSE:
        for up, case in zip(UPS, cases_of(program, data / f"{name}.off", 32, True)):
            expected = whole_cubes(by_cubes(case))
            for mark, tree in (("c", "column"), ("e", "surface")):
                if whole_cubes(case.pairs[mark]) != expected:
                    faults.append(f"{name} as cubes, up {up}: the {tree} tree's pairs are not GUDHI's")
            heaps += 1
    for fault in faults:
        print(fault)
    print(f"{done} cases on columns, the surface tree within {farthest:.2f} cells; {heaps} heaps of cubes; {len(faults)} faults")
    return 1 if faults or done < 50 or heaps < 50 else 0


if __name__ == "__main__":
    sys.exit(main())
