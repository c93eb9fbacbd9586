#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the benchmarks measured, as one table on the terminal and in docs/performance.md. The answers of each stage are held against the triangles' own sums, other
libraries and the other sizes of the same part; the exit status is 1 where they do not agree.

Usage: performance.py STAGES.json MESHES.json WHOLE.json PEERS.json PERFORMANCE.md OUT.json
"""
import json
import math
import pathlib
import statistics
import sys

import numpy as np

SAME = 1e-6      # sums in double precision, in another order
# The meshes of one part differ by their new corners, a thousandth of a side off the flat; the skin adds the error that it tells, 0.3 % a mesh.
ONE_PART = 0.01
SKIN = 0.003     # the error that the skin tells of itself


def stage_rows(stages):
    """(stage, maker, mesh, threads) -> runs."""
    rows = {}
    for run in stages["benchmarks"]:
        if run.get("run_type") == "aggregate" or run.get("error_occurred"):
            continue
        stage, maker, mesh, threads = run["name"].split("/")[:4]
        rows.setdefault((stage, maker, mesh, int(threads)), []).append(run)
    return rows


def middle(runs, key):
    return statistics.median(run[key] for run in runs)


def growth(points):
    """Exponent of time over triangles, fitted through at least three sizes; the smallest meshes, where the fixed part rules, left out."""
    points = [(n, t) for n, t in points if n > 15_000]
    if len(points) < 3:
        return None
    n, t = np.log(np.array(points)).T
    return float(np.polyfit(n, t, 1)[0])


def answers(rows, truth, voxels):
    """Sentences about answers that are wrong, and how many were compared."""
    wrong, compared = [], 0

    def hold(what, value, true, within):
        nonlocal compared
        compared += 1
        if not math.isfinite(value) or abs(value - true) > within * max(abs(true), 1e-12):
            wrong.append(f"{what}: {value:.8g}, should be {true:.8g}")
    of_part = {}
    for (stage, maker, mesh, threads), runs in rows.items():
        name = f"{stage} by {maker} on {mesh}, {threads} threads"
        figures = {key[len("answer_"):]: value for key, value in runs[0].items() if key.startswith("answer_")}
        for run in runs[1:]:
            for key, value in figures.items():
                hold(f"{name}, {key}, run again", run["answer_" + key], value, 0.0)
        first = rows.get((stage, maker, mesh, 1), runs)[0]
        for key, value in figures.items():
            hold(f"{name}, {key}, against one thread", value, first["answer_" + key], 0.0)
        for key in ("volume_mm3", "area_mm2", "triangles"):
            if key in figures and stage in ("volume and area", "read"):
                hold(f"{name}, {key}", figures[key], truth[mesh][key], SAME)
        if "crosses" in figures:
            hold(f"{name}, crosses", figures["crosses"], rows[(stage, "ours", mesh, 1)][0]["answer_crosses"], 0.0)
        if "cell_mm" in figures:  # a grid knows heights to a cell
            ours = rows[(stage, "ours", mesh, 1)][0]["answer_deepest_mm"]
            hold(f"{name}, deepest_mm", 1.0 + (figures["deepest_mm"] - ours) / figures["cell_mm"], 1.0, 1.0)
        for key in ("skin_mm3", "shell_mm3"):
            if key in figures and threads == 1:
                of_part.setdefault(key, []).append((name, figures[key]))
        if "mass_error" in figures:
            hold(f"{name}, mass", 1.0 + figures["mass_error"], 1.0, 1e-6)
    skin = of_part["skin_mm3"][0][1]  # of the mesh that the others took
    hold("skin against VTK's distances", skin, voxels["sampled_mm3"], SKIN + 4.0 * voxels["sampled_error_mm3"] / voxels["sampled_mm3"])
    middle_mm3, half_mm3 = (0.5 * (voxels["most_mm3"] + sign * voxels["least_mm3"]) for sign in (1.0, -1.0))
    hold("skin between SciPy's least and most", skin, middle_mm3, half_mm3 / middle_mm3)
    for values in of_part.values():
        for name, value in values[:-1]:
            hold(f"{name}, against the finest", value, values[-1][1], ONE_PART)
    return wrong, compared


def seconds(ms):
    return f"{ms:.2g} ms" if ms < 1.0 else f"{ms:.3g} ms" if ms < 1000.0 else f"{ms / 1000.0:.3g} s"


def spread(values):
    """Largest less smallest, as a share of the median."""
    return f"{100.0 * (max(values) - min(values)) / statistics.median(values):.0f} %"


def stage_table(rows):
    sizes = {}
    for (_, _, mesh, _), runs in rows.items():
        sizes[mesh] = int(runs[0]["triangles"])
    meshes = sorted(sizes, key=sizes.get)
    lines = ["| stage | by | " + " | ".join(f"{sizes[m]:,}" for m in meshes) + " | two threads | grows as | memory | spread |", "|---" * (len(meshes) + 6) + "|"]
    for stage, maker in dict.fromkeys((key[0], key[1]) for key in rows):
        at = {mesh: rows.get((stage, maker, mesh, 1)) for mesh in meshes}
        took = [(sizes[m], middle(runs, "real_time")) for m, runs in at.items() if runs]
        there = [m for m in meshes if at[m]]
        if not there:
            continue
        exponent = growth(took)
        largest = there[-1]
        two = rows.get((stage, maker, largest, 2))
        memory = middle(at[largest], "peak_mb") - middle(at[largest], "held_mb")
        lines.append(f"| {stage} | {maker} | " + " | ".join(seconds(middle(at[m], "real_time")) if at[m] else "" for m in meshes) + " | "
                     + (f"{middle(at[largest], 'real_time') / middle(two, 'real_time'):.2f} times as fast" if two else "") + " | "
                     + (f"n^{exponent:.2f}" if exponent is not None else "") + f" | +{max(0.0, memory):.0f} MB | {spread([run['real_time'] for run in at[largest]])} |")
    return lines


def peers(rows, voxels):
    """(stage, library, triangles, how many times as long it takes as ours)."""
    lines = []
    for (stage, maker, mesh, threads), runs in rows.items():
        if maker != "ours":
            ours = middle(rows[(stage, "ours", mesh, 1)], "real_time")
            lines.append((stage, maker, int(runs[0]["triangles"]), middle(runs, "real_time") / ours))
    mesh = max((key[2] for key in rows if key[0] == "skin"), key=lambda m: rows[("skin", "ours", m, 1)][0]["triangles"])
    ours = middle(rows[("skin", "ours", mesh, 1)], "real_time")
    lines.append(("skin", f"SciPy {voxels['version']}, {voxels['voxels'] / 1e6:.1f} million voxels of {voxels['pitch_mm']:g} mm", int(rows[("skin", "ours", mesh, 1)][0]["triangles"]),
                  1000.0 * voxels["clock_s"] / ours))
    return lines


def peer_lines(lines):
    out = ["| stage | library | triangles | takes, against ours on one thread |", "|---|---|---|---|"]
    return out + [f"| {stage} | {maker} | {n:,} | {ratio:.2f} times as long |" for stage, maker, n, ratio in lines]


def aim(value, wanted, unit):
    if wanted is None:
        return ""
    return f"{wanted:g} {unit}, {'met' if value <= wanted else f'missed by {100.0 * (value / wanted - 1.0):.0f} %'}"


def whole_table(whole):
    lines = ["| call | part | clock | spread | processors | peak memory | aim: clock | aim: memory |", "|---|---|---|---|---|---|---|---|"]
    for call in whole["calls"]:
        clock, processor, peak = (statistics.median(run[i] for run in call["runs"]) for i in range(3))
        lines.append(f"| {call['command']} | {call['mesh']} | {clock:.2f} s | {spread([run[0] for run in call['runs']])} | {processor:.2f} s | {peak:.0f} MB | "
                     f"{aim(clock, call['aim_s'], 's')} | {aim(peak, call['aim_mb'], 'MB')} |")
    if whole["vtk"]:
        vtk = statistics.median(run["clock_s"] for run in whole["vtk"])
        inspect = [call for call in whole["calls"] if call["command"] == "inspect"]
        lines += ["", f"VTK {whole['vtk'][0]['version']} reads the same file, merges its points and measures volume and area in {vtk:.2f} s, its start left out. "
                  + "".join(f"`inspect`, start and all, takes {statistics.median(run[0] for run in call['runs']) / vtk:.2f} times as long, and besides looks for crossings, "
                            "holes, shells and scale." for call in inspect)]
    return lines


def main():
    stages, truth, whole, voxels = (json.loads(pathlib.Path(path).read_text()) for path in sys.argv[1:5])
    rows = stage_rows(stages)
    wrong, compared = answers(rows, truth, voxels)
    runs = max(len(r) for r in rows.values())
    beside = peers(rows, voxels)
    text = ["# How fast it is", "",
            f"Made by `tests/benchmark/run.sh`; not edited by hand. {stages['context']['num_cpus']} cores of {stages['context']['mhz_per_cpu'] / 1000.0:.1f} GHz. Medians; spread is the largest less the "
            "smallest, over the median. Times depend on the machine; ratios and exponents less so.", "",
            "## The program", "", *whole_table(whole), "",
            "## Stage by stage", "",
            f"One part at several sizes (an elephant of 5,558 triangles from the package libcgal-demo, each triangle made four again and again), one thread, {runs} runs (two of a million triangles and more). Two threads and memory (beyond "
            "what is held already) on the finest. Growth is fitted through all sizes above 15,000 triangles.", "",
            *stage_table(rows), "",
            "## Beside other libraries", "", "Same mesh, same run, each in its own form of the mesh, made before the clock starts. CGAL's thickness (`sdf_values`) is not the same quantity: "
            "it sends cones of rays from each face, ours fits balls.", "", *peer_lines(beside), "",
            "## Answers", "", f"{compared} answers compared: each run against the first, two threads against one, volume and area against the sums over the triangles and CGAL, crossings "
            f"against CGAL, pockets against GUDHI, skin against VTK's distances from a million points and SciPy's distance transform, skin and the room around the part against the finest mesh, the foam's mass against what was poured. {len(wrong)} differ."]
    pathlib.Path(sys.argv[5]).write_text("\n".join(text + [f"- {sentence}" for sentence in wrong]) + "\n")
    pathlib.Path(sys.argv[6]).write_text(json.dumps({**whole, "peers": beside, "compared": compared, "wrong": len(wrong)}) + "\n")
    print("\n".join(text[4:]))
    for sentence in wrong:
        print(f"WRONG: {sentence}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
