#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`split`, `mold` and `handle` as a person uses them: the line, what to buy and to build, the casting in the hand.

Usage: mold_commands_test.py PROGRAM PROJECT_FOLDER
"""
import math
import os
import pathlib
import re
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from command_case import PROGRAM, SAMPLES, CommandCase  # noqa: E402
from runner import binary_stl, box, run, tree  # noqa: E402


class MoldCommands(CommandCase):
    def test_a_split_box(self):
        """A box of 40 is parted around four of its edges, 160 mm; the halves make 40 mm together; R2 needs nothing to stretch."""
        split = self.run_json("split", "box.stl", "--units", "mm")["split"]
        self.assertTrue(split["valid"])
        self.assertEqual(split["caught"], [])
        self.assertEqual(split["release_stretch_percent"], 0)
        self.assertAlmostEqual(split["line_length_mm"], 160, places=6)
        self.assertAlmostEqual(split["upper_height_mm"] + split["lower_height_mm"], 40, places=6)
        self.assertEqual(len(split["parting_line_mm"]), 1)
        loop = split["parting_line_mm"][0]
        length = sum(math.dist(p, q) for p, q in zip(loop, loop[1:] + loop[:1]))
        self.assertAlmostEqual(length, 160, places=4)
        asked = self.run_json("split", "box.stl", "--units", "mm", "--pull", "0,3,0")["split"]
        self.assertEqual(asked["pull"], [0, 1, 0])
        self.assertNotIn("pulls", asked)
        zero = run(PROGRAM, "split", "box.stl", "--units", "mm", "--pull", "0,0,0", cwd=self.base)
        self.assertEqual(zero.returncode, 2)
        self.assertIn("has no length", zero.stderr)

    def test_split_writes_its_line_on_paper(self):
        told = run(PROGRAM, "split", "box.stl", "--units", "mm", "--pull", "0,0,1", "--out", "line", cwd=self.base)
        self.assertEqual(told.returncode, 0, told.stderr)
        names = [os.path.basename(p) for p in tree(self.base / "line")]
        self.assertIn("parting_front.svg", names)
        for name in names:
            self.assertIn(name, told.stdout)
        # The box parts along edges of its top or bottom: each height printed is one of the two that the split tells.
        split = self.run_json("split", "box.stl", "--units", "mm", "--pull", "0,0,1")["split"]
        told_heights = {f"{split[key]:.1f}" for key in ("line_low_mm", "line_high_mm")}
        heights = set(re.findall(r'class="height">([^<]+)<', (self.base / "line" / "parting_front.svg").read_text()))
        self.assertEqual(heights, told_heights)

    def test_split_is_short_and_the_same_on_any_threads(self):
        part = str(SAMPLES / "mooring_cleat.stl")
        told = run(PROGRAM, "split", part, "--units", "mm", cwd=self.base)
        self.assertEqual(told.returncode, 0, told.stderr)
        self.assertLessEqual(len(told.stdout.splitlines()), 25)
        for word in ("Pull", "Line", "Halves", "Caught"):
            self.assertIn(word, told.stdout)
        three = run(PROGRAM, "split", part, "--units", "mm", "--threads", "3", cwd=self.base)
        self.assertEqual(told.stdout, three.stdout)

    def test_mold_by_hand(self):
        """A cube of 40 mm in a block with 10 mm around: 60 mm cubed less 64 mL; boards of 12 mm around that, 10 mm higher."""
        mold = self.run_json("mold", "box.stl", "--units", "mm", "--up", "+z", "--straps", "2", "--strap-holds", "5kg", "--master-weight", "30g")["mold"]
        holes = sum(math.pi / 4 * hole["width_mm"]**2 * hole["length_mm"] for hole in mold["holes"])
        for hole in mold["holes"]:  # along z, from the cube's top or from a place below it
            self.assertAlmostEqual(hole["length_mm"], 50.0 - hole["at_mm"][2], places=9)
        self.assertAlmostEqual(mold["rubber_mm3"], 216000 - 64000 - holes, places=4)
        self.assertAlmostEqual(mold["rubber_in_mold_g"], 1.1e-3 * mold["rubber_mm3"], places=9)
        self.assertAlmostEqual(mold["rubber_a_g"] + mold["rubber_b_g"], mold["rubber_in_mold_g"] + mold["rubber_waste_g"], places=9)
        self.assertEqual([(b["length_mm"], b["width_mm"], b["count"]) for b in mold["boards"]], [(84, 70, 2), (70, 60, 2), (84, 84, 1), (60, 60, 2)])
        self.assertEqual(sum(b["count"] for b in mold["boards"]), len(mold["cuts"]))
        self.assertAlmostEqual(mold["master_lift_n"], 9.80665e-3 * (64 * 1.1 - 30), places=9)
        # docs/checks.md E7: pressure on 16 cm2, two loops of two legs, a third of 5 kg counted on.
        self.assertAlmostEqual(mold["opening_force_n"], mold["pressure_kpa"] * 1.6, delta=0.01)
        self.assertAlmostEqual(mold["holds_kpa"], 4 * 5 * 9.80665 / 3 / 1.6, delta=0.1)
        self.assertTrue(mold["holds_by_straps"])
        window = self.run_json("mold", "box.stl", "--units", "mm", "--mold-holds", "12kPa")
        self.assertEqual((window["window"]["mold_holds_kpa"], window["mold"]["holds_by_straps"]), (12, False))

    def test_mold_brushed(self):
        """docs/checks.md G-3's cube by Steiner: V + A t + M t^2 + 4/3 pi t^3 with 40 mm, t = 10 and 25 mm, to 0.5 %."""
        steiner = lambda t: 64000 + 9600 * t + 3 * math.pi * 40 * t**2 + 4 / 3 * math.pi * t**3
        mold = self.run_json("mold", "box.stl", "--units", "mm", "--up", "+z", "--kind", "brushed", "--jacket", "15mm", "--plaster-water", "0.7")["mold"]
        holes = sum(math.pi / 4 * hole["width_mm"]**2 * 10 for hole in mold["holes"])
        self.assertAlmostEqual(mold["rubber_mm3"] / (steiner(10) - 64000 - holes), 1, delta=0.005)
        self.assertAlmostEqual(mold["jacket_mm3"] / (steiner(25) - steiner(10)), 1, delta=0.005)
        self.assertAlmostEqual(mold["jacket_g"], 1.57374e-3 * mold["jacket_mm3"], delta=0.01)
        self.assertAlmostEqual(mold["water_g"], 0.7 * mold["plaster_g"], places=9)
        self.assertEqual(mold["coats"], 7)
        self.assertNotIn("boards", mold)

    def test_mold_bad_input(self):
        for words, status, sentence in ((("--straps", "0"), 1, "Nothing holds the mold closed"), (("--rubber", "3mm"), 0, "hardly runs"),
                                        (("--stock", "50mm,60mm"), 0, "larger than the stock"), (("--stock", "600mm"), 2, "a sheet's two sides"),
                                        (("--kind", "glove"), 2, "box, brushed"), (("--rubber-card", "generic-silicone-sof"), 2, "did you mean"),
                                        (("--parting", "41mm"), 2, "can't be parted"), (("--plaster-water", "7", "--kind", "brushed"), 2, "--plaster-water"),
                                        (("--strap-holds", "20N"), 2, "--strap-holds")):
            result = run(PROGRAM, "mold", "box.stl", "--units", "mm", *words, cwd=self.base)
            self.assertEqual(result.returncode, status, (words, result.stderr))
            self.assertIn(sentence, " ".join((result.stdout + result.stderr).split()), words)
        shown = run(PROGRAM, "foams", "show", "generic-silicone-soft")
        self.assertIn("elongation_percent", shown.stdout)
        (self.base / "own.toml").write_text(shown.stdout.replace("1.10 g/cm3", "1.30 g/cm3"))
        own = self.run_json("mold", "box.stl", "--units", "mm", "--rubber-card", "own.toml")["mold"]
        self.assertAlmostEqual(own["rubber_in_mold_g"], 1.3e-3 * own["rubber_mm3"], places=9)

    def test_handle(self):
        """A bar of 300 x 30 x 30 mm, 0.4 MPa: with a core and a skin it droops less than by B3's law for the core alone, and the rod
        takes its volume off the grams of every command."""
        bar = [tuple((x * 7.5, y * 0.75, z * 0.75) for x, y, z in triangle) for triangle in box(40.0)]
        (self.base / "bar.stl").write_bytes(binary_stl(bar))
        held = ("bar.stl", "--units", "mm", "--grip", "0,15,15", "--foam-modulus", "400kPa")
        bare = self.run_json("handle", *held)["handle"]
        density = bare["part_mass_g"] / 0.27  # kg/m3
        law = 3 * density * 9.80665 * 0.3**4 / (2 * 0.4e6 * 0.03**2) * 1000  # for the whole weight on the core alone
        self.assertLess(bare["droop_mm"], law)
        self.assertGreater(bare["droop_mm"], 0.2 * law)
        self.assertLessEqual(bare["droop_low_mm"], bare["droop_mm"])
        self.assertLessEqual(bare["droop_mm"], bare["droop_high_mm"])
        self.assertEqual(bare["verdict"], "sags")
        self.assertEqual([rod["material"] for rod in bare["armatures"]], ["steel", "aluminum", "birch", "glass_fiber"])
        least = bare["armatures"][0]["armature"]
        rod = f"steel:{least['diameter_mm']:g}mm"
        rodded = self.run_json("handle", *held, "--armature", rod)
        self.assertEqual(rodded["handle"]["verdict"], "holds")
        taken = math.pi / 4 * least["diameter_mm"] ** 2 * least["length_mm"]
        self.assertAlmostEqual(rodded["handle"]["armature"]["volume_mm3"], taken, places=6)
        self.assertAlmostEqual(rodded["handle"]["armature"]["mass_g"], taken * 7850e-6, places=6)
        weighed = self.run_json("weigh", *held[:5], "--armature", rod)
        self.assertEqual(weighed["batch"], rodded["batch"])
        self.assertAlmostEqual(weighed["foam"]["part_mass_g"], density * (270000 - taken) * 1e-6, places=6)
        self.assertAlmostEqual(rodded["handle"]["part_mass_g"], weighed["foam"]["part_mass_g"] + taken * 7850e-6, places=6)
        shown = run(PROGRAM, "handle", *held, cwd=self.base)
        self.assertLessEqual(len(shown.stdout.splitlines()), 25)
        self.assertIn("trained people", shown.stdout)
        self.assertTrue(all(len(line) <= 100 for line in shown.stdout.splitlines()), shown.stdout)

    def test_handle_refuses(self):
        for words, sentence in ((("--grip", "0,0,90"), "off the part"), (("--grip", "0,0,0", "--grip", "0,5,0", "--grip", "0,9,0"), "three times"),
                                (("--armature", "oak:3mm"), "glass_fiber"), (("--armature", "steel"), "steel:3mm")):
            result = run(PROGRAM, "handle", "box.stl", "--units", "mm", *words, cwd=self.base)
            self.assertEqual(result.returncode, 2, result.stderr)
            self.assertIn(sentence, result.stderr)
            self.assertEqual(len(result.stderr.strip().splitlines()), 1)
        thick = run(PROGRAM, "handle", "box.stl", "--units", "mm", "--armature", "birch:38mm", cwd=self.base)
        self.assertEqual(thick.returncode, 1, thick.stderr)
        self.assertIn("the thickest that does", " ".join(thick.stdout.split()))


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v"])
