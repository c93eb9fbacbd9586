#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`orient` and `vent` as a person uses them: which way up, where air stays, where holes go and what they cost.

Usage: air_commands_test.py PROGRAM PROJECT_FOLDER
"""
import json
import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from command_case import PROGRAM, SAMPLES, CommandCase  # noqa: E402
from runner import binary_stl, box, run  # noqa: E402


class AirCommands(CommandCase):
    def test_orient(self):
        """A box is filled from any side; the lowest way up comes first, and the one asked for is there once."""
        found = self.run_json("orient", "box.stl", "--units", "mm", "--up", "+x", "--out", "up")
        rows = found["orientations"]
        self.assertEqual([row["rank"] for row in rows], list(range(1, len(rows) + 1)))
        self.assertEqual(sum(row["asked"] for row in rows), 1)
        self.assertTrue(all(row["reasons"] for row in rows))
        self.assertTrue(rows[0]["pareto"])
        asked = next(row for row in rows if row["asked"])
        self.assertEqual(asked["up"], [1.0, 0.0, 0.0])
        self.assertTrue((self.base / "up" / "orient_map.svg").read_text().startswith("<svg"))
        self.assertEqual(run(PROGRAM, "orient", "box.stl", "--show", "0,0,0", cwd=self.base).returncode, 2)

    def test_a_box_has_no_air_up_and_some_when_tilted(self):
        """A4: a box top of 100 x 60 mm tilted by 10 degrees about a 60 mm edge keeps (a/2)^2 tan/2 * b with one vent in its middle."""
        slab = [tuple((p[0] * 2.5, p[1] * 1.5, p[2]) for p in t) for t in box(40.0)]
        (self.base / "slab.stl").write_bytes(binary_stl(slab))
        flat = self.run_json("vent", "slab.stl", "--units", "mm", "--pour-hole", "50,30,40")
        self.assertEqual(flat["air"]["trapped_unvented_mm3"], 0.0)
        tilted = self.run_json("vent", "slab.stl", "--units", "mm", "--pour-hole", "50,30,40", "--most-vents", "0",
                               "--up", "0.17364817766693033,0,0.984807753012208")
        self.assertAlmostEqual(tilted["air"]["trapped_unvented_mm3"], 13224.524, delta=0.05)

    def test_bubbles_are_squeezed_by_boyle(self):
        """A1: V p0/(p0 + p) at 101.325 kPa; packed to 1.15 at 8 lb/ft3 the foam presses with 17.549964 kPa (FM8)."""
        air = self.run_json("vent", str(SAMPLES / "mooring_cleat.stl"), "--units", "mm")["air"]
        self.assertAlmostEqual(air["pressure"]["high_kpa"], 17.549964, places=5)
        self.assertAlmostEqual(air["rests_on"]["packing_factor"], 1.15, places=9)
        self.assertEqual([row["vents"] for row in air["left_after"]], list(range(len(air["left_after"]))))
        self.assertGreater(air["left_after"][0]["trapped_mm3"], 1000.0)
        for row in air["left_after"]:
            self.assertAlmostEqual(row["squeezed_mm3"], row["trapped_mm3"] * 101.325 / (101.325 + 17.549964), places=4)
        left = [row["trapped_mm3"] for row in air["left_after"]]
        self.assertEqual(left, sorted(left, reverse=True))

    def test_holes_keep_off_the_show_side_and_the_cost_is_told(self):
        """A slab of 100 x 60 x 40 with its top seen: a pour hole of 15 mm sits 7.5 mm down, and 100 x 60 x 7.5 stay."""
        slab = [tuple((p[0] * 2.5, p[1] * 1.5, p[2]) for p in t) for t in box(40.0)]
        (self.base / "slab.stl").write_bytes(binary_stl(slab))
        air = self.run_json("vent", "slab.stl", "--units", "mm", "--show", "+z", "--most-vents", "0")["air"]
        depth = 40.0 - air["openings"][0]["at_mm"][2]
        self.assertAlmostEqual(depth, 7.5, delta=0.02)
        self.assertAlmostEqual(air["trapped_unvented_mm3"], 6000.0 * depth, delta=0.1)
        self.assertAlmostEqual(air["show"]["cost_mm3"], 6000.0 * depth, delta=0.1)
        self.assertEqual(air["show"]["holes_on_it"], 0)
        given = self.run_json("vent", "slab.stl", "--units", "mm", "--show", "+z", "--pour-hole", "50,30,40")
        self.assertEqual(given["air"]["show"]["holes_on_it"], 1)
        self.assertIn("hole_on_show_side", [f["code"] for f in given["findings"]])

    def test_openings_are_snapped_and_said(self):
        near = self.run_json("vent", "box.stl", "--units", "mm", "--pour-hole", "20,20,41")
        self.assertIn("opening_moved", [f["code"] for f in near["findings"]])
        on = self.run_json("vent", "box.stl", "--units", "mm", "--pour-hole", "20,20,40")
        self.assertNotIn("opening_moved", [f["code"] for f in on["findings"]])

    def test_pour_hole_afterwards(self):
        """A box of 64 cm3 keeps no air below an open pour hole, and all of it without a vent below a plugged one, or none."""
        states = {}
        for after in ("vented", "plugged", "none"):
            states[after] = self.run_json("vent", "box.stl", "--units", "mm", "--pour-hole-after", after)["air"]
            self.assertEqual(states[after]["pour_hole_after"], after)
        vented, plugged, none = states["vented"], states["plugged"], states["none"]
        self.assertEqual(self.run_json("vent", "box.stl", "--units", "mm")["air"], vented)
        self.assertEqual(vented["trapped_unvented_mm3"], 0.0)
        self.assertEqual(vented["vents"], [])
        self.assertEqual([o["kind"] for o in vented["openings"]], ["pour_hole"])
        self.assertGreaterEqual(vented["openings"][0]["diameter_mm"], 2.0)
        self.assertTrue(vented["openings"][0]["lets_air_out"])
        for air in (plugged, none):
            self.assertAlmostEqual(air["trapped_unvented_mm3"], 64000.0, places=6)
            self.assertEqual(len(air["vents"]), 1)
            self.assertAlmostEqual(air["vents"][0]["frees_mm3"], 64000.0, places=6)
            self.assertEqual(air["trapped_vented_mm3"], 0.0)
        self.assertEqual([(o["kind"], o["diameter_mm"], o["lets_air_out"]) for o in plugged["openings"]], [("pour_hole", 0.0, False)])
        self.assertIn("lands_mm", plugged["liquid"])
        self.assertEqual(none["openings"], [])
        self.assertNotIn("lands_mm", none["liquid"])
        shown = run(PROGRAM, "vent", "box.stl", "--units", "mm", "--pour-hole-after", "none", cwd=self.base).stdout
        self.assertIn("no opening yet", shown)
        self.assertIn("Pour hole    none", shown)
        shut = run(PROGRAM, "vent", "box.stl", "--units", "mm", "--pour-hole-after", "plugged", "--most-vents", "0", cwd=self.base)
        self.assertEqual(shut.returncode, 1)
        self.assertIn("Stop", shut.stdout)
        for wrong in (("vent", "--pour-hole-after", "open"), ("vent", "--pour-hole-after", "none", "--pour-hole", "20,20,40"),
                      ("plan", "--pour-hole-after", "none", "--method", "through_hole"),
                      ("orient", "--pour-hole-after", "none", "--weights", "path=1")):
            refused = run(PROGRAM, wrong[0], "box.stl", "--units", "mm", *wrong[1:], cwd=self.base)
            self.assertEqual(refused.returncode, 2, wrong)
            self.assertEqual(len(refused.stderr.strip().splitlines()), 1, refused.stderr)

    def test_pour_hole_afterwards_in_a_plan(self):
        """One that is poured into the open half has no pour hole, in no picture; the grams are another matter."""
        plans = {}
        for name, options in {"open": ("--method", "open_half_and_turn"), "none": ("--pour-hole-after", "none"),
                              "hole": ("--method", "open_half_and_turn", "--pour-hole", "20,20,40"), "plain": ()}.items():
            result = run(PROGRAM, "plan", "box.stl", "--units", "mm", "--out", name, *options, cwd=self.base)
            self.assertIn(result.returncode, (0, 1), result.stderr)
            plans[name] = json.loads((self.base / name / "plan.json").read_text())
        for name, after in {"open": "none", "none": "none", "hole": "vented", "plain": "vented"}.items():
            self.assertEqual(plans[name]["air"]["pour_hole_after"], after)
            self.assertEqual(plans[name]["bench"]["pour_hole_after"], after)
            drawn = (self.base / name / "template_top.svg").read_text()
            self.assertEqual(">P," in drawn, after == "vented", name)
            self.assertEqual(b"pour hole" in (self.base / name / "annotated.glb").read_bytes(), after == "vented", name)
            # A hole that is given a place is not on top in other ways up: these need vents.
            rows = [row for row in plans[name]["orientations"] if name != "hole" or row["up"][2] > 0.999]
            self.assertTrue(all((row["vents_needed"] > 0) == (after == "none") for row in rows), name)
            self.assertTrue(all(("path_mm" in row) == (after == "vented") for row in plans[name]["orientations"]))
        self.assertNotEqual(plans["none"]["bench"]["method"], "through_hole")

    def test_vents_follow_the_foam_and_the_temperature(self):
        """10 K colder by the rule of thumb takes twice as long (the rule of E18), so half the air leaves in a second; each density is told."""
        base = ("vent", "box.stl", "--units", "mm")
        warm = self.run_json(*base)["air"]
        cold = self.run_json(*base, "--temperature", f"{warm['rests_on']['temperature_c'] - 10}C")["air"]
        self.assertAlmostEqual(cold["air_rate_mm3_s"], 0.5 * warm["air_rate_mm3_s"], places=6)
        soft = self.run_json(*base, "--mix", "30:100")["air"]
        self.assertNotEqual(soft["air_rate_mm3_s"], warm["air_rate_mm3_s"])
        other = self.run_json(*base, "--foam", "generic-soft")["air"]
        self.assertEqual(other["rests_on"]["card"], "generic-soft")
        dense = self.run_json(*base, "--density", "10lb/ft3", "--mix", "50:100")["air"]
        self.assertGreater(dense["pressure"]["high_kpa"], warm["pressure"]["high_kpa"])
        self.assertGreater(dense["liquid"]["stands_mm"], warm["liquid"]["stands_mm"])
        shown = " ".join(run(PROGRAM, *base, "--temperature", "18C", "--detail", cwd=self.base).stdout.split())
        self.assertIn("Rests on generic-firm at 18.0 C, packed to 1.15 times its free rise: up to", shown)
        self.assertEqual(run(PROGRAM, *base, "--density", "5lb/ft3", "--mix", "50:100", cwd=self.base).returncode, 2)
        self.assertIn("as wide as such a foam needs", " ".join(run(PROGRAM, "orient", "box.stl", "--units", "mm", "--detail", cwd=self.base).stdout.split()))

    def test_a_vent_is_never_named_beside_no_air(self):
        shown = run(PROGRAM, "vent", "box.stl", "--units", "mm", "--vent", "10,20,40", cwd=self.base).stdout
        self.assertIn("none would stay without the vents given", shown)
        self.assertNotIn("none stays", shown)
        self.assertIn("none stays", run(PROGRAM, "vent", "box.stl", "--units", "mm", cwd=self.base).stdout)

    def test_weights_change_the_choice(self):
        low = self.run_json("orient", str(SAMPLES / "mooring_cleat.stl"), "--units", "mm", "--weights", "height=1")["orientations"]
        self.assertEqual(low[0]["height_mm"], min(row["height_mm"] for row in low))
        self.assertAlmostEqual(low[0]["height_mm"], 48.0, delta=0.5)
        self.assertIn("your weights", low[0]["reasons"][0])


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v"])
