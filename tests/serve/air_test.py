#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What `cavigram serve` says of the air while a person turns a part is what is planned for that way up, and what it draws of a pocket
encloses the pocket's volume.

Usage: air_test.py PROGRAM PROJECT_FOLDER
"""
import base64
import json
import os
import pathlib
import sys
import tempfile
import time
import unittest
import urllib.parse

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from server import Server  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
PROJECT = pathlib.Path(sys.argv[2]).resolve()
CLEAT = PROJECT / "sample_meshes/mooring_cleat.stl"
COIL = PROJECT / "sample_meshes/rope_coil_inches.stl"


def surface(model):
    """Vertices and triangles of what is shown."""
    shown = model["display"]
    steps = np.frombuffer(base64.b64decode(shown["positions"]), "<u2").reshape(-1, 3)
    vertices = np.array(shown["origin_mm"]) + steps / 65535.0 * np.array(shown["size_mm"])
    return vertices, np.frombuffer(base64.b64decode(shown["indices"]), "<u4").reshape(-1, 3)


def above(corners, level):
    """The triangle's part above a level (third coordinate), cut off as a fan of triangles. Sutherland & Hodgman, CACM 17 (1974) 32."""
    kept = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0)):
        if a[2] >= level:
            kept.append(a)
        if (a[2] >= level) != (b[2] >= level):
            kept.append(a + (level - a[2]) / (b[2] - a[2]) * (b - a))
    return [(kept[0], kept[i], kept[i + 1]) for i in range(1, len(kept) - 1)]


def enclosed(triangles, up, level):
    """Volume between a surface and a level below it: each piece's area seen from above times its mean height (divergence theorem)."""
    x = np.cross(up, [0.0, 0.0, 1.0] if abs(up[2]) < 0.9 else [1.0, 0.0, 0.0])
    x /= np.linalg.norm(x)
    frame = np.array([x, np.cross(up, x), up])
    total = 0.0
    for corners in triangles @ frame.T:
        for a, b, c in above(corners, level):
            area = 0.5 * ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
            total += area * ((a[2] + b[2] + c[2]) / 3.0 - level)
    return total


class Air(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.temp = pathlib.Path(folder.name) / "temp"
        cls.temp.mkdir()
        cls.server = Server(PROGRAM, cls.temp)
        cls.addClassCleanup(cls.end)
        cls.server.enter()
        cls.part = cls.server.post("cleat.stl", CLEAT.read_bytes())["id"]
        cls.while_working = cls.air(up="0,0,1")[0]
        cls.server.set(cls.part, units=["mm"])
        assert cls.server.settled(cls.part)["mode"] == "done"
        cls.model = cls.server.json("GET", f"/api/parts/{cls.part}/model.json")

    @classmethod
    def end(cls):
        assert cls.server.end() == 0

    @classmethod
    def air(cls, **asked):
        query = urllib.parse.urlencode({name.replace("_", "-"): value for name, value in asked.items()})
        status, _, body = cls.server.ask("GET", f"/api/parts/{cls.part}/air?{query}")
        return status, body.decode()

    def told(self, **asked):
        status, body = self.air(**{"vent": "", "show": "", **asked})
        self.assertEqual(status, 200, body)
        return json.loads(body)

    def planned(self, **options):
        """The page's plan for these options, which serve_test.py holds to the command line's."""
        self.server.set(self.part, **{name: [options[name]] if name in options else None for name in ("up", "vent", "show", "copies")})
        self.assertEqual(self.server.settled(self.part)["mode"], "done")
        return self.server.json("GET", f"/api/parts/{self.part}/plan.json")

    def same(self, turned, plan):
        air = plan["air"]
        for key in ("up", "pour_hole_after", "openings", "vents", "trapped_unvented_mm3", "trapped_vented_mm3"):
            self.assertEqual(turned[key], air[key], key)
        for shape, pocket in zip(turned["unvented"], air["pockets"], strict=True):
            self.assertEqual({key: shape[key] for key in pocket}, pocket)
        # docs/checks.md E6: what Boyle's law leaves, and the foam that is missing there.
        pressure = air["pressure"]["high_kpa"]
        self.assertAlmostEqual(turned["squeezed_mm3"], turned["trapped_vented_mm3"] * 101.325 / (101.325 + pressure), delta=1e-6 * (1.0 + turned["squeezed_mm3"]))
        self.assertAlmostEqual(turned["squeezed_g"], 1e-6 * plan["foam"]["molded_density_kg_m3"] * turned["squeezed_mm3"], delta=1e-9)

    def test_as_planned_for_that_way_up(self):
        up = "0.3,-0.5,0.8"
        turned = self.told(up=up)
        self.same(turned, self.planned(up=up))

    def test_holes_can_be_tried(self):
        free = self.told(up="0,1,0")
        place = ",".join(f"{x:.3f}" for x in free["vents"][0]["at_mm"]) if free["vents"] else "107,30,20"
        tried = self.told(up="0,1,0", vent=place)
        self.same(tried, self.planned(up="0,1,0", vent=place))
        self.assertTrue(tried["vents"][0]["given"])
        seen = self.told(up="0,1,0", show="+y")
        self.same(seen, self.planned(up="0,1,0", show="+y"))

    def test_what_is_drawn_encloses_the_pocket(self):
        vertices, triangles = surface(self.model)
        self.assertEqual(self.model["display"]["deviation_mm"], 0.0)
        drawn = 0
        for up in ("0,0,-1", "0.3,-0.5,0.8", "1,0.1,-0.4", "-0.6,0.7,0.1", "1,0,0", "0,1,0.2"):
            turned = self.told(up=up)
            for shape in turned["unvented"] + turned["left"]:
                own = np.frombuffer(base64.b64decode(shape["triangles"]), "<i4")
                if shape["inside_pocket"] >= 0:
                    self.assertEqual(len(own), 0)
                    continue
                drawn += 1
                # Quantized to 16 bits: half a step of the longest side all over the piece's surface, seen from above.
                corners = vertices[triangles[own]]
                area = 0.5 * np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1).sum()
                step = max(self.model["display"]["size_mm"]) / 65535.0
                volume = enclosed(corners, np.array(turned["up"]), shape["level_mm"])
                self.assertAlmostEqual(volume, shape["volume_mm3"], delta=step * area + 1e-6 * shape["volume_mm3"], msg=f"{up} {shape['peak_mm']}")
        self.assertGreater(drawn, 4)

    def test_the_map_shows_the_search(self):
        numbers = np.frombuffer(base64.b64decode(self.model["map"]), "<f4").reshape(-1, 4)
        self.assertGreater(len(numbers), 1900)
        np.testing.assert_allclose(np.linalg.norm(numbers[:, :3], axis=1), 1.0, atol=1e-6)
        plan = self.planned()
        self.assertEqual(self.model["up"], plan["air"]["up"])
        self.assertEqual([way["rank"] for way in self.model["ways"]], list(range(1, len(self.model["ways"]) + 1)))
        self.assertEqual(sum(way["planned"] for way in self.model["ways"]), 1)
        # Nowhere does more air stay than there is.
        self.assertTrue((numbers[:, 3] >= 0.0).all() and (numbers[:, 3] <= plan["measures"]["volume_mm3"] * 1.02).all())

    def test_refusals_are_sentences(self):
        for asked, words in (
            (dict(), "which"),
            (dict(up=""), "which"),
            (dict(up="up"), '--up is "up"'),
            (dict(up="0,0,0"), "no length"),
            (dict(up="1,nan,0"), "--up"),
            (dict(up="0,0,1", vent="1,2"), "--vent"),
            (dict(up="0,0,1", vent="900,0,0"), "900"),
            (dict(up="0,0,1", density="9lb/ft3"), "density"),
        ):
            status, body = self.air(**asked)
            self.assertEqual(status, 422, (asked, body))
            self.assertIn(words, body)
            self.assertRegex(body, r"\.\s*$")
            self.assertNotIn(str(self.temp), body)
        self.assertEqual(self.server.ask("GET", "/api/parts/0000/air?up=0,0,1")[0], 404)
        self.assertEqual(self.server.ask("POST", f"/api/parts/{self.part}/air?up=0,0,1", "")[0], 405)

    def test_busy_while_the_part_is_worked_on(self):
        self.assertEqual(self.while_working, 409)
        other = self.server.post("coil.stl", COIL.read_bytes())["id"]
        refused = 0
        until = time.monotonic() + 60
        while time.monotonic() < until:
            status, _, body = self.server.ask("GET", f"/api/parts/{other}/air?up=0,0,1")
            self.assertIn(status, (200, 409), body)
            if status == 200 or self.server.json("GET", f"/api/parts/{other}")["mode"] != "working":
                break
            self.assertIn(b"computed", body)
            refused += 1
        self.assertGreater(refused, 0)
        self.server.ask("DELETE", f"/api/parts/{other}")

    def test_it_leaves_the_plan_as_it_is(self):
        before = self.planned(up="0,1,0")
        self.told(up="0.1,0.2,-0.9", show="+x")
        self.planned(up="0,1,0", copies="2")
        self.assertEqual(self.planned(up="0,1,0"), before)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
