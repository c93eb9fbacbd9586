#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The program as a whole, call by call: clock, processors, peak memory; beside what they should be and beside a VTK process. Answers are checked against sums
over the triangles.

Usage: whole.py PROGRAM PROJECT_FOLDER WORK_FOLDER OUT.json [ROUNDS [MOST_TRIANGLES]]
MOST_TRIANGLES 0: the sample cleat alone.

All calls of a round run before the next round begins, so that what else the machine does falls on all alike.
"""
import json
import os
import pathlib
import subprocess
import sys

import child
from meshes import read_off, ring, volume_and_area, write_stl

VTK = pathlib.Path(__file__).parent / "vtk_bench.py"
NEAR = 1e-5  # single precision of STL, sums in another order


class Call:
    """One call of the program on one mesh, what it should take (None: no aim), and its runs."""

    def __init__(self, command, mesh, aim_s=None, aim_mb=None):
        self.command, self.mesh, self.aim_s, self.aim_mb, self.runs = command, mesh, aim_s, aim_mb, []


def meshes_in(project, work, most):
    """Name -> (file, triangles), those that are missing made."""
    found = {"mooring cleat": (project / "sample_meshes/mooring_cleat.stl", None)}
    makers = {}
    if most > 0:
        found["hand lantern"] = (project / "sample_meshes/hand_lantern.glb", None)
        makers["armadillo"] = lambda: read_off(project / "build/reference_data/libcgal-demo/data/meshes/armadillo.off")
    makers |= {f"ring {size}": lambda n=n: ring(n) for size, n in (("52k", 228), ("832k", 912), ("3.3M", 1824)) if n * n <= most}
    for name, make in makers.items():
        file = work / f"{name.replace(' ', '_')}.stl"
        corners = make()
        write_stl(file, corners)
        found[name] = (file, volume_and_area(corners))
    return found


def calls_on(names):
    wanted = [Call("inspect", "ring 832k"), Call("weigh", "ring 52k", 0.5), Call("weigh", "ring 832k"), Call("split", "ring 832k", 12.0, 1000.0), Call("mold", "ring 832k"),
              Call("plan", "mooring cleat", 1.6), Call("plan", "hand lantern"), Call("plan", "ring 52k", 2.5), Call("plan", "armadillo", 2.5),
              Call("plan", "ring 832k", 9.0, 700.0), Call("plan", "ring 3.3M", 32.0, 2000.0)]
    return [call for call in wanted if call.mesh in names]


def units(file):
    return [] if file.suffix == ".glb" else ["--units", "mm"]


def check(call, answer, truth):
    """The volume that the program tells is the one of the triangles."""
    if truth is None or not answer.exists():
        return
    mass = json.loads(answer.read_text()).get("measures", {})
    for key, true in (("volume_mm3", truth[0]), ("area_mm2", truth[1])):
        if abs(mass[key] / true - 1.0) > NEAR:
            raise SystemExit(f"{call.command} of {call.mesh}: {key} {mass[key]}, by its triangles {true}")


def main():
    program, project, work, out = os.path.abspath(sys.argv[1]), pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3]), pathlib.Path(sys.argv[4])
    rounds = int(sys.argv[5]) if len(sys.argv) > 5 else 5
    meshes = meshes_in(project, work, int(sys.argv[6]) if len(sys.argv) > 6 else 10**9)
    calls, peer = calls_on(meshes), []
    answer, folder = work / "answer.json", work / "plan"
    for number in range(rounds):
        for call in calls:
            file, truth = meshes[call.mesh]
            answer.unlink(missing_ok=True)
            call.runs.append(child.cost([program, call.command, file, *units(file), "--quiet", *(["--out", folder] if call.command == "plan" else ["--json", answer])]))
            check(call, folder / "plan.json" if call.command == "plan" else answer, truth)
            print(f"round {number + 1}: {call.command} of {call.mesh}: {call.runs[-1][0]:.2f} s", file=sys.stderr, flush=True)
        if "ring 832k" in meshes:
            file, truth = meshes["ring 832k"]
            peer.append(json.loads(subprocess.run([sys.executable, VTK, file], stdout=subprocess.PIPE, check=True).stdout))
            if abs(peer[-1]["volume_mm3"] / truth[0] - 1.0) > 1e-3:
                raise SystemExit("VTK's volume is another: the two do not measure the same.")
    out.write_text(json.dumps({"vtk": peer, "calls": [vars(call) for call in calls]}, indent=1))


if __name__ == "__main__":
    main()
