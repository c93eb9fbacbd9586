#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Skins that do not fit, cells too small, sheets, and finishing, as a person meets them.

A box of 40 mm throughout: 64 cm3; a skin of t mm leaves (40 - 2 t)^3 (docs/checks.md S1).

Usage: skin_test.py PROGRAM
"""
import json
import pathlib
import re
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from command_case import PROGRAM, BoxCase  # noqa: E402
from runner import binary_stl, box, check_refusal, run  # noqa: E402


def square(a, b, c, d):
    """Both sides of a square: a membrane without thickness."""
    return [(a, b, c), (a, c, d), (a, c, b), (a, d, c)]


class Skin(BoxCase):
    def weigh(self, *arguments, part="box.stl", command="weigh"):
        # A scale fine enough for a small box, and a mold that holds any foam, so that nothing but the skin is in question.
        result = run(PROGRAM, command, part, "--units", "mm", "--scale-readability", "0.01g", "--mold-holds", "5000kPa", *arguments, "--json", "-", cwd=self.base)
        self.assertEqual(result.returncode, 0, result.stderr)
        return json.loads(result.stdout)

    def refused(self, *arguments, status=2, part="box.stl"):
        result = run(PROGRAM, "weigh", part, "--units", "mm", *arguments, cwd=self.base)
        self.assertEqual(check_refusal(result, status), [])
        return result.stderr

    def card(self, free_rise):
        """A foam of one mix, so that a density packs it instead of choosing another."""
        text = run(PROGRAM, "foams", "show", "generic-firm").stdout
        text = text.replace("generic-firm", "ours").replace('family = "generic variable-density flexible foam"', 'family = "ours"')
        (self.base / "ours.toml").write_text(text.replace('value = "8 lb/ft3"', f'value = "{free_rise} kg/m3"'))
        return ["--foam", "./ours.toml"]

    def test_s8_the_core_that_a_goal_leaves(self):
        # 64 mL at 160 kg/m3 are 10.24 g; 2 mm of skin are 64 - 36^3/1000 = 17.344 mL, at 500 kg/m3 8.672 g; the rest, 1.568 g, in 46.656 mL.
        goal = ["--density", "160kg/m3", "--basis", "molded", "--skin-thickness", "2mm", "--skin-density", "500kg/m3"]
        foam = self.weigh(*goal, *self.card(30))["foam"]
        self.assertAlmostEqual(foam["part_mass_g"], 10.24, delta=10.24e-9)
        self.assertAlmostEqual(foam["skin_mass_g"] + foam["core_mass_g"], foam["part_mass_g"], delta=1e-11)
        self.assertAlmostEqual(foam["skin_volume_mm3"], 17344.0, delta=0.003 * 17344.0)
        # 0.3 % of the skin's 8.672 g is 1.7 % of the core's 1.568 g.
        self.assertAlmostEqual(foam["core_density_kg_m3"], 33.608, delta=0.017 * 33.608)
        # In a foam that rises freely to 8 lb/ft3 that core can't be.
        self.assertIn("which can't be", self.refused(*goal, *self.card(128)))

    def test_a_skin_too_thick_names_what_fits(self):
        # Mean 150 in a foam of 128: S = (150 - 128)/(600 - 128) V = 2983 mm3; (40 - 2 t)^3 = 64000 - 2983 gives t = 0.3157.
        goal = ["--density", "150kg/m3", "--skin-thickness", "3mm", "--skin-density", "600kg/m3", *self.card(128)]
        said = self.refused(*goal)
        self.assertIn("a skin of 0.316 mm fits", said)
        # 3 mm of skin over a core of 128: 128 + 472 (64000 - 34^3)/64000 = 310.1 kg/m3.
        self.assertIn("this skin fits a part of 310 kg/m3", said)
        self.assertEqual(self.weigh("--density", "310.2kg/m3", *goal[2:])["foam"]["skin_thickness_mm"], 3.0)

    def test_a_skin_that_leaves_no_core(self):
        said = self.refused("--density", "300kg/m3", "--basis", "molded", "--skin-thickness", "25mm", "--skin-density", "250kg/m3")
        self.assertIn("leaves no core", said)
        self.assertIn("250 kg/m3, not the 300 kg/m3 asked for", said)

    def test_too_little_foam_is_no_recipe(self):
        shown = run(PROGRAM, "weigh", "box.stl", "--units", "mm", "--density", "2lb/ft3", cwd=self.base)
        self.assertEqual(shown.returncode, 1, shown.stderr)
        self.assertIn("POUR         nothing yet", shown.stdout)
        self.assertNotIn(" g     B ", shown.stdout)
        self.assertIn("does not fill", shown.stdout)
        # What is poured all the same is foam as it rises freely and an empty rest; nothing is packed, and nothing presses.
        self.assertIn("Asked for    a part of 32.0 kg/m3", shown.stdout)
        self.assertRegex(shown.stdout, r"Skin         none\nCore         .*: so little fills .* stays empty")
        self.assertNotIn("packed to", shown.stdout)
        self.assertNotIn("Presses", shown.stdout)
        # Nor is a mold strapped by nothing, or such a part held.
        mold = run(PROGRAM, "mold", "box.stl", "--units", "mm", "--density", "2lb/ft3", cwd=self.base).stdout
        self.assertRegex(mold, r"Straps .* what they must hold\s+is told for a pour that presses")
        self.assertNotIn("Opens", mold)
        hand = run(PROGRAM, "handle", "box.stl", "--units", "mm", "--density", "2lb/ft3", cwd=self.base).stdout
        self.assertIn("In hand      told for a pour that fills the mold", hand)
        self.assertNotIn("Droops", hand)

    def test_odd_skins_are_allowed_and_said(self):
        plan = self.weigh("--skin-thickness", "25mm")
        self.assertIn("all_skin", [f["code"] for f in plan["findings"]])
        self.assertAlmostEqual(plan["foam"]["core_volume_mm3"], 0.0, places=3)
        # A skin lighter than the foam rises can't be, nor a part heavier than its skin.
        self.assertIn("lighter than the foam rises", self.refused("--skin-thickness", "1mm", "--skin-density", "100kg/m3"))
        self.assertIn("all skin and more", self.refused("--density", "450kg/m3", "--mix", "50:100"))

    def test_cells_too_small_name_the_size_that_fits(self):
        skin = ["--skin-thickness", "1mm"]
        said = self.refused(*skin, "--cell", "0.005mm")
        fits = re.search(r"use ([0-9.]+) mm or more", said)
        self.assertIsNotNone(fits, said)
        self.assertAlmostEqual(self.weigh(*skin, "--cell", fits.group(1) + "mm")["foam"]["skin_volume_mm3"], 64000.0 - 38.0**3,
                               delta=0.003 * 64000.0)

    def test_membranes_without_thickness(self):
        (self.base / "sheet.stl").write_bytes(binary_stl(square((0, 0, 0), (40, 0, 0), (40, 40, 0), (0, 40, 0))))
        self.assertIn("encloses nothing; export a part with a thickness", self.refused(part="sheet.stl", status=3))
        # Beside a box it neither adds volume nor stops the work.
        (self.base / "both.stl").write_bytes(
            binary_stl(box(40.0) + square((60, 0, 0), (90, 0, 0), (90, 30, 0), (60, 30, 0))))
        foam = self.weigh("--density", "150kg/m3", "--basis", "molded", part="both.stl")["foam"]
        self.assertAlmostEqual(foam["part_mass_g"], 64.0 * 0.150, places=3)

    def test_finish(self):
        # 6 * 40^2 = 9600 mm2; 50 g/m2: 0.48 g.
        asked = self.weigh("--finish", "50g/m2", "--copies", "4")["finish"]
        self.assertAlmostEqual(asked["grams"], 0.48, places=9)
        self.assertAlmostEqual(asked["total_g"], 1.92, places=9)
        self.assertFalse(asked["rate_is_guess"])
        self.assertTrue(self.weigh()["finish"]["rate_is_guess"])
        shown = run(PROGRAM, "weigh", "box.stl", "--units", "mm", "--detail", cwd=self.base).stdout
        # Guesses stand in one place, each with the option that replaces it.
        self.assertIn("finish 30 g/m2: --finish", " ".join(shown.split("Guesses")[1].split()))
        for wrong in ("30g", "8lb/ft3", "30"):
            self.assertIn("--finish", self.refused("--finish", wrong))

    def test_density_map(self):
        foam = self.weigh("--density", "130kg/m3", "--basis", "core", "--skin-thickness", "1mm", "--skin-density", "600kg/m3")["foam"]
        density = foam["density_map"]
        self.assertAlmostEqual(density["area_mm2"], 9600.0, places=6)
        self.assertEqual(density["all_skin_area_mm2"], 0.0)
        # At x from the nearest edge of a face the ball has radius x; nearer than x lies 1 - (1 - x/20)^2 of it: half within 5.858 mm.
        self.assertAlmostEqual(density["median_kg_m3"], 130.0 + 470.0 / 5.858, delta=1.5)
        self.assertGreaterEqual(density["least_kg_m3"], 130.0 + 470.0 / 20.0 - 1e-9)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
