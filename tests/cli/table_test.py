#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`plan A B ... --out DIR --table`: a folder and a row for each scan, what is done is left alone, the same plan as without a table.

Usage: table_test.py PROGRAM
"""
import base64
import csv
import hashlib
import html.parser
import io
import json
import os
import pathlib
import struct
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from runner import binary_stl, box, check_refusal, run, tree  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
SIZE = ["--units", "mm", "--scale-readability", "0.1g"]


def rows_of(out):
    """The table as Python's csv module reads it, by scan; fails if one comes twice."""
    rows = list(csv.DictReader(io.StringIO((out / "table.csv").read_bytes().decode())))
    assert len({row["scan"] for row in rows}) == len(rows), rows
    return {row["scan"]: row for row in rows}


def marks(out):
    """When each file below was made, the tables left out."""
    return {path: os.stat(path).st_mtime_ns for path in tree(out) if not path.startswith(str(out / "table"))}


class Page(html.parser.HTMLParser):
    """Rows, links and the words of a page."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.links, self.words = [], [], ""
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.links += [value for name, value in attributes if name in ("href", "src")]

    def handle_data(self, data):
        self.words += data


def gltf(size, name):
    """A cube whose corners lie in a file beside it."""
    corners = b"".join(struct.pack("<3f", *(size * float(i >> axis & 1) for axis in range(3))) for i in range(8))
    faces = struct.pack("<36H", 0, 2, 3, 0, 3, 1, 4, 5, 7, 4, 7, 6, 0, 1, 5, 0, 5, 4, 2, 6, 7, 2, 7, 3, 0, 4, 6, 0, 6, 2, 1, 3, 7, 1, 7, 5)
    document = {"asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0]}], "nodes": [{"mesh": 0}],
                "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
                "accessors": [{"bufferView": 0, "componentType": 5126, "count": 8, "type": "VEC3", "min": [0] * 3, "max": [size] * 3},
                              {"bufferView": 1, "componentType": 5123, "count": 36, "type": "SCALAR"}],
                "bufferViews": [{"buffer": 0, "byteLength": 96}, {"buffer": 1, "byteLength": 72}],
                "buffers": [{"uri": name, "byteLength": 96},
                            {"uri": "data:application/octet-stream;base64," + base64.b64encode(faces).decode(), "byteLength": 72}]}
    return json.dumps(document), corners


class Table(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.base = pathlib.Path(self.folder.name)
        self.out = self.base / "out"

    def tearDown(self):
        self.folder.cleanup()

    def write(self, name, content):
        path = self.base / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else binary_stl(content))
        return str(path)

    def table(self, *words, status=0):
        result = run(PROGRAM, "plan", *words, "--out", "out", "--table", cwd=self.base)
        self.assertEqual(result.returncode, status, result.stderr + result.stdout)
        return result

    def test_a_row_and_a_folder_for_each_and_none_is_planned_twice(self):
        first, second = self.write("a/part.stl", box(40.0)), self.write("b/part.stl", box(50.0))
        stop, open_ = self.write("small.stl", box(3.0)), self.write("<b>open,\"&.stl", box(40.0)[:5])
        scans = ["a/part.stl", "b/part.stl", "./b/../a/part.stl", "small.stl", "<b>open,\"&.stl"]
        told = self.table(*scans, *SIZE, status=3)
        self.assertIn("4 scans: 2 planned, 1 needs attention first, 1 failed", told.stdout)
        rows = rows_of(self.out)
        self.assertEqual(sorted(rows), sorted([first, second, stop, open_]))
        self.assertEqual([rows[scan]["end"] for scan in (first, second, stop, open_)], ["planned", "planned", "stop", "failed"])
        for scan, row in rows.items():
            # FIPS 180-4, as Python's own library has it.
            self.assertEqual(row["content_sha256"], hashlib.sha256(pathlib.Path(scan).read_bytes()).hexdigest())
            self.assertEqual(json.loads((self.out / row["folder"] / "scan.json").read_text())["scan"], scan)
            self.assertEqual(row["part_a_g"] != "", row["end"] == "planned")
            self.assertEqual(row["sentence"] == "", row["end"] == "planned")
        self.assertNotEqual(rows[first]["folder"], rows[second]["folder"])
        self.assertEqual(os.listdir(self.out / rows[open_]["folder"]), ["scan.json"])
        self.assertEqual(sorted(os.listdir(self.out)), sorted(["table.csv", "table.html", *(row["folder"] for row in rows.values())]))

        # The folder is the one that `plan` makes, byte for byte, and the row says what stands in it.
        self.assertEqual(run(PROGRAM, "plan", "b/part.stl", *SIZE, "--out", "alone", cwd=self.base).returncode, 0)
        for path in tree(self.base / "alone"):
            self.assertEqual((self.out / rows[second]["folder"] / os.path.basename(path)).read_bytes(), pathlib.Path(path).read_bytes(), path)
        plan = json.loads((self.base / "alone" / "plan.json").read_text())
        for key in ("part_a_g", "part_b_g"):
            self.assertAlmostEqual(float(rows[second][key]), plan["batch"][key], 6)  # nine digits
        self.assertEqual(float(rows[second]["volume_mm3"]), 125000.0)  # 50 cubed
        self.assertEqual([float(rows[second][f"size_{axis}_mm"]) for axis in "xyz"], [50.0] * 3)

        text = (self.out / "table.html").read_text()
        page = Page(text)
        self.assertEqual(page.tags.count("tr"), 5)
        self.assertIn('<b>open,"&.stl', page.words)
        self.assertEqual([tag for tag in ("script", "b", "img", "link") if tag in page.tags], [])
        for link in page.links:
            self.assertTrue((self.out / link).is_file(), link)

        # Again: nothing is made anew but the tables.
        before, table = marks(self.out), (self.out / "table.csv").read_bytes()
        self.assertIn("4 done before", self.table(*scans, *SIZE, "--threads", "1", status=3).stdout)
        self.assertEqual(marks(self.out), before)
        self.assertEqual((self.out / "table.csv").read_bytes(), table)
        (self.out / "table.csv").unlink()
        self.assertIn("4 scans: 2 planned", self.table(status=3).stdout)
        self.assertEqual((self.out / "table.csv").read_bytes(), table)
        self.assertEqual(marks(self.out), before)

    def test_what_has_changed_is_planned_again_and_nothing_else(self):
        same, other = self.write("same.stl", box(40.0)[:5]), self.write("other.stl", box(40.0))
        card = self.base / "ours.toml"
        card.write_text(run(PROGRAM, "foams", "show", "generic-firm").stdout)
        words = ("same.stl", "other.stl", "--units", "mm", "--foam", "ours.toml")
        self.table(*words, status=3)
        was = rows_of(self.out)
        before = marks(self.out)
        self.write("other.stl", box(40.0)[:7])  # the scan: its plan goes, as the scan can't be used now
        self.assertIn("1 done before", self.table(*words, status=3).stdout)
        now = rows_of(self.out)
        self.assertEqual(now[same], was[same])
        self.assertEqual([now[other]["end"], now[other]["folder"]], ["failed", was[other]["folder"]])
        self.assertEqual(os.listdir(self.out / now[other]["folder"]), ["scan.json"])
        self.assertEqual({path: at for path, at in before.items() if "same-" in path}, {path: at for path, at in marks(self.out).items() if "same-" in path})
        card.write_text(card.read_text() + "# thinner now\n")  # what an option names
        self.assertNotIn("done before", self.table(*words, status=3).stdout)
        self.assertIn("2 done before", self.table(*words, "--detail", "--progress", "on", status=3).stdout)  # what no plan depends on
        self.assertNotIn("done before", self.table(*words, "--copies", "2", status=3).stdout)  # an option
        rows = rows_of(self.out)
        self.assertEqual(len(rows), 2)
        self.assertIn("--copies=2", rows[same]["options"])
        # A job file is its options: where they stand is nobody's matter.
        (self.base / "job.toml").write_text('units = "mm"\nfoam = "ours.toml"\ncopies = 2\n')
        self.assertIn("2 done before", self.table("same.stl", "other.stl", "--job", "job.toml", status=3).stdout)
        missing = str(self.base / "not_there.stl")
        for _ in range(2):  # may be there next time
            self.assertNotIn("done before", self.table("not_there.stl", status=3).stdout)
        self.assertEqual(rows_of(self.out)[missing]["content_sha256"], "")

    def test_geometry_in_a_second_file_counts(self):
        text, corners = gltf(0.04, "corners%20of%20it.bin")
        self.write("cube.gltf", text.encode())
        beside = self.base / "corners of it.bin"
        beside.write_bytes(corners[:48])  # too short: quickly refused
        self.table("cube.gltf", status=3)
        self.assertIn("1 done before", self.table("cube.gltf", status=3).stdout)
        beside.write_bytes(corners)
        self.assertNotIn("done before", self.table("cube.gltf").stdout)

    def test_wrong_calls(self):
        self.write("part.stl", box(40.0))
        for words, says in {("part.stl", "part.stl"): "--table and --out", ("part.stl", "--table"): "by --out", (): "No part is given",
                            ("part.stl", "--table", "--out", "x", "--json", "y"): "--json", ("part.stl", "--table", "--out", "x", "--foam", "fomfirm"): "fomfirm",
                            ("part.stl", "--table", "--out", "x", "--copies", "0"): "1 to 1000"}.items():
            result = run(PROGRAM, "plan", *words, cwd=self.base)
            self.assertEqual(check_refusal(result, 2), [], words)
            self.assertIn(says, result.stderr, words)
        self.assertEqual(check_refusal(run(PROGRAM, "plan", "part.stl", "--table", "--out", "part.stl", cwd=self.base), 3), [])
        self.assertEqual(os.listdir(self.base), ["part.stl"])

    def test_a_record_that_is_damaged_is_a_row(self):
        scan = self.write("part.stl", box(40.0)[:5])
        self.table("part.stl", status=3)
        record = self.out / rows_of(self.out)[scan]["folder"] / "scan.json"
        record.write_text(record.read_text()[:100])
        self.table(status=3)
        rows = rows_of(self.out)
        self.assertEqual(list(rows), ["out/" + record.parent.name])
        self.assertIn("damaged", rows["out/" + record.parent.name]["sentence"])
        self.table("part.stl", status=3)
        self.assertEqual(list(rows_of(self.out)), [scan])

    def test_records_one_folder_deeper_are_rows_too(self):
        self.write("part.stl", box(40.0)[:5])
        self.write("more.stl", box(40.0)[:7])
        for name in ("part", "more"):
            run(PROGRAM, "plan", name + ".stl", "--out", f"out/task_{name}", "--table", cwd=self.base)
        self.table(status=3)
        self.assertEqual(sorted(row["folder"][:11] for row in rows_of(self.out).values()), ["task_more/m", "task_part/p"])


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v"])
