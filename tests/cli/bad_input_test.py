#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every wrong file and every wrong option: one plain sentence, its exit status, nothing half-written.

Usage: bad_input_test.py PROGRAM
"""
import math
import os
import pathlib
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from runner import binary_stl, box, check_refusal, run, tree  # noqa: E402


def with_corner(value):
    triangles = [list(map(list, t)) for t in box()]
    for triangle in triangles:
        triangle[0][0] = value
    return triangles


# name -> bytes of the file (None: no file), exit status
FILES = {
    "missing.stl": (None, 3),
    "empty.stl": (b"", 3),
    "letter.stl": (b"Dear harbor master,\nthe bell is cracked.\n", 3),
    "letter.obj": (b"Dear harbor master,\nthe bell is cracked.\n", 3),
    "noise.ply": (bytes(range(256)) * 20, 3),
    "zero_triangles.stl": (binary_stl([]), 3),
    "zero_ascii.stl": (b"solid nothing\nendsolid nothing\n", 3),
    "one_triangle.stl": (binary_stl(box()[:1]), 3),
    "nan.stl": (binary_stl(with_corner(math.nan)), 3),
    "infinite.stl": (binary_stl(with_corner(math.inf)), 3),
    "huge.stl": (binary_stl(with_corner(1e30)), 3),
    "degenerate.stl": (binary_stl([((1, 1, 1),) * 3] * 12), 3),
    "in_line.stl": (binary_stl([((0, 0, 0), (1, 0, 0), (2, 0, 0))] * 12), 3),
    "sheet.stl": (binary_stl(box()[:2]), 3),
    "folded.stl": (binary_stl([box()[0], (box()[0][0], box()[0][2], box()[0][1])]), 3),
    "off_by_name.stl": (b"OFF\n3 1 0\n0 0 0\n", 3),
    "ply_bad_index.ply": (b"ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n"
                          b"element face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n1 0 0\n0 1 0\n3 0 1 99\n", 3),
    "truncated.glb": (b"glTF\x02\x00\x00\x00\xff\xff\xff\x7fJSON", 3),
    "empty.3mf": (b"PK\x05\x06" + b"\0" * 18, 3),
    "unknown.xyz": (b"1 2 3\n", 3),
    "points.xyz": (b"1 2 3\n" * 50, 3),
    "exact.stp": (b"ISO-10303-21;\nHEADER;\n", 3),
    "page.stl": (b"<!DOCTYPE html><html></html>", 3),
    "cut.stl": (binary_stl(box())[:-30], 3),
    "speck.stl": (binary_stl(box(0.5)), 3),
    "house.stl": (binary_stl(box(20000.0)), 3),
    # 600 bytes that say they are gigabytes; they took two minutes once.
    "huge_count.ply": (b"ply\nformat binary_little_endian 1.0\nelement vertex 4294967295\nproperty float x\nproperty float y\nproperty float z\n"
                       b"element face 4294967295\nproperty list uchar int vertex_indices\nend_header\n" + b"\0" * 400, 3),
    "huge_list.ply": (b"ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n"
                      b"element face 1\nproperty list uint int vertex_indices\nend_header\n0 0 0\n1 0 0\n0 1 0\n4294967295 0 1 2\n", 3),
    "away.gltf": (b'{"asset":{"version":"2.0"},"nodes":[{"mesh":0}],"meshes":[{"primitives":[{"attributes":{"POSITION":0}}]}],'
                  b'"accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"}],"bufferViews":[{"buffer":0,"byteLength":36}],'
                  b'"buffers":[{"uri":"http://localhost/a.bin","byteLength":36}]}', 3),
}

GOOD = "good.stl"

# options with a good file -> exit status
OPTIONS = [
    (["weigh", GOOD, "--density", "0lb/ft3"], 2),
    (["weigh", GOOD, "--density", "-8lb/ft3"], 2),
    (["weigh", GOOD, "--density", "8 psi"], 2),
    (["weigh", GOOD, "--density", "8"], 2),
    (["weigh", GOOD, "--density", "heavy"], 2),
    (["weigh", GOOD, "--density", "1e9 kg/m3"], 2),
    (["weigh", GOOD, "--density", "150kg/m3", "--mix", "50:100", "--skin-density", "600kg/m3", "--skin-thickness", "2mm"], 2),
    (["weigh", GOOD, "--density", "60lb/ft3"], 2),
    (["weigh", GOOD, "--altitude", "20km"], 2),
    (["weigh", GOOD, "--altitude", "20000m"], 2),
    (["weigh", GOOD, "--altitude", "500m", "--air-pressure", "90kPa"], 2),
    (["weigh", GOOD, "--air-pressure", "1kPa"], 2),
    (["weigh", GOOD, "--mix", "70:100"], 2),
    (["weigh", GOOD, "--weighing", "roughly"], 2),
    (["weigh", GOOD, "--waste", "50g@40g"], 2),
    (["weigh", GOOD, "--waste", "3g@"], 2),
    (["weigh", GOOD, "--cup-residue", "3mm"], 2),
    (["weigh", GOOD, "--mold-holds", "0kPa"], 2),
    (["vent", GOOD, "--density", "40kg/m3", "--mix", "50:100"], 2),
    (["weigh", GOOD, "--skin-thickness", "2oz"], 2),
    (["weigh", GOOD, "--basis", "free"], 2),
    (["weigh", GOOD, "--basis", "molded"], 2),
    (["weigh", GOOD, "--overpack", "0.5"], 2),
    (["weigh", GOOD, "--overpack", "1.2", "--skin-thickness", "1mm"], 2),
    (["weigh", GOOD, "--overpack", "1.2", "--density", "8lb/ft3", "--basis", "molded", "--mix", "50:100"], 2),
    (["weigh", GOOD, "--waste", "100%"], 2),
    (["weigh", GOOD, "--waste", "-1"], 2),
    (["weigh", GOOD, "--copies", "0"], 2),
    (["weigh", GOOD, "--copies", "many"], 2),
    (["weigh", GOOD, "--scale-readability", "0g"], 2),
    (["weigh", GOOD, "--mix", "50/100"], 2),
    (["weigh", GOOD, "--mix", "80:100"], 2),
    (["weigh", GOOD, "--foam", "generic-frim"], 2),
    (["weigh", GOOD, "--foam", "./nowhere.toml"], 3),
    (["weigh", GOOD, "--cell", "0.0001mm"], 2),
    (["weigh", GOOD, "--units", "furlongs"], 2),
    (["weigh", GOOD, "--longest", "0mm"], 2),
    (["weigh", GOOD, "--longest", "300"], 2),
    (["weigh", GOOD, "--longest", "300mm", "--scale", "2"], 2),
    (["weigh", GOOD, "--scale", "0"], 2),
    (["weigh", GOOD, "--scale", "nan"], 2),
    (["weigh", GOOD, "--threads", "-1"], 2),
    (["weigh", GOOD, "--progress", "maybe"], 2),
    (["weigh", GOOD, "--denisty", "8lb/ft3"], 2),
    (["vent", GOOD, "--up", "0,0,0"], 2),
    (["vent", GOOD, "--up", "up"], 2),
    (["vent", GOOD, "--up", "0,0"], 2),
    (["vent", GOOD, "--up", "nan,0,1"], 2),
    (["vent", GOOD, "--pour-hole", "500,500,500"], 2),
    (["vent", GOOD, "--most-vents", "-2"], 2),
    (["vent", GOOD, "--vent", "0,0,500"], 2),
    (["vent", GOOD, "--show", "0,0,0"], 2),
    (["vent", GOOD, "--show", "1,0,0,0,1,1"], 2),
    (["vent", GOOD, "--show", "0,0,0,1,1"], 2),
    (["vent", GOOD, "--neck", "-1mm"], 2),
    (["vent", GOOD, "--neck", "3s"], 2),
    (["orient", GOOD, "--weights", "airs=1"], 2),
    (["orient", GOOD, "--weights", "air=-1"], 2),
    (["orient", GOOD, "--weights", "air=0"], 2),
    (["thin", GOOD, "--limit", "0mm"], 2),
    (["thin", GOOD, "--copies", "0"], 2),
    (["weigh", GOOD, "--db", "missing.db"], 2),
    (["weigh", GOOD, "--density", "9lb/ft3", "--density", "8lb/ft3"], 2),
    (["thin", GOOD, "--limit", "3kg"], 2),
    (["inspect"], 2),
    (["inspect", GOOD, "second.stl"], 2),
    (["inspect", "."], 3),
    (["inspect", GOOD, "--job", "missing.toml"], 3),
    (["inspect", GOOD, "--job", "broken.toml"], 2),
    (["inspect", GOOD, "--job", "typo.toml"], 2),
    (["inspect", GOOD, "--json", "no/such/folder/x.json"], 3),
    (["inspct", GOOD], 2),
    ([], 2),
    (["plan", GOOD, "--out", GOOD], 3),
    (["plan", GOOD, "--out", GOOD + "/below"], 3),
    (["foams"], 2),
    (["tally"], 2),
    (["tally", "frob"], 2),
    (["tally", "fit", "--db", "missing.db"], 2),
    (["tally", "list", "--db", GOOD], 3),
    (["tally", "fit", "--db", "."], 3),
    (["tally", "add", GOOD, "--db", GOOD, "--part-mass", "5g"], 3),
    (["tally", "add", GOOD, "--db", "new.db"], 2),
    (["tally", "add", GOOD, "--db", "new.db", "--part-mass", "5mm"], 2),
    (["tally", "add", GOOD, "--db", "new.db", "--part-mass", "5g", "--verdict", "splendid"], 2),
    (["tally", "add", GOOD, "--units", "mm", "--db", "new.db", "--part-mass", "5kg"], 2),
    (["tally", "add", GOOD, "--units", "mm", "--db", "new.db", "--part-mass", "5g", "--cup", "5g", "--stayed", "2g"], 2),
    (["tally", "add", GOOD, "--units", "mm", "--db", "new.db", "--free-rise-mass", "8g"], 2),
    (["tally", "add", GOOD, "--units", "mm", "--db", "new.db", "--free-rise-mass", "8g", "--free-rise-volume", "7ml"], 2),
    (["tally", "add", GOOD, "--db", "new.db", "--part-mass", "5g", "--density", "8lb/ft3"], 2),
    (["tally", "add", GOOD, "--db", "new.db", "--part-mass", "5g", "--json", "out.json"], 2),
    (["weigh", GOOD, "--from-tally", "--db", "missing.db"], 3),
    (["bench", GOOD, "--units", "mm", "--temperature", "60C"], 2),
    (["bench", GOOD, "--units", "mm", "--temperature", "20"], 2),
    (["bench", GOOD, "--units", "mm", "--method", "bucket"], 2),
    (["bench", GOOD, "--units", "mm", "--stir", "-1s"], 2),
    (["bench", GOOD, "--units", "mm", "--mold-temperature", "12"], 2),
    (["bench", GOOD, "--units", "mm", "--turn-grace", "-1s"], 2),
    (["foams", "cook"], 2),
    (["foams", "show"], 2),
    (["foams", "check", "broken.toml"], 2),
]


def main():
    program = os.path.abspath(sys.argv[1])
    faults = 0
    with tempfile.TemporaryDirectory() as folder:
        base = pathlib.Path(folder)
        (base / GOOD).write_bytes(binary_stl(box()))
        (base / "second.stl").write_bytes(binary_stl(box()))
        (base / "broken.toml").write_text("density = \n")
        (base / "typo.toml").write_text('unit = "mm"\n')
        for name, (data, _) in FILES.items():
            if data is not None:
                (base / name).write_bytes(data)
        before = tree(folder)
        cases = [(["plan", name, "--out", "out"], status) for name, (_, status) in FILES.items()] + OPTIONS
        for arguments, status in cases:
            found = check_refusal(run(program, *arguments, cwd=folder), status)
            if tree(folder) != before or (base / "out").exists():
                found.append("something was written")
            for fault in found:
                print(f"{' '.join(arguments)}: {fault}")
            faults += len(found)
        # Two identical copies of one part are one part.
        (base / "twice.stl").write_bytes(binary_stl(box() + box()))
        twice = run(program, "inspect", "twice.stl", "--units", "mm", cwd=folder)
        if twice.returncode != 0 or "64.00 cm3" not in twice.stdout:
            print(f"twice.stl: {twice.returncode} {twice.stdout} {twice.stderr}")
            faults += 1
    print(f"{len(cases) + 1} cases, {faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
