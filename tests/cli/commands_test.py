#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The commands as a person uses them: what they print, what they write, job files, Ctrl-C, the same bytes on any number of threads.

Usage: commands_test.py PROGRAM PROJECT_FOLDER
"""
import json
import math
import os
import pathlib
import signal
import sqlite3
import subprocess
import sys
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from command_case import PROGRAM, SAMPLES, CommandCase  # noqa: E402
from runner import binary_stl, box, run, tree  # noqa: E402


def listens(process):
    """Whether a program takes Ctrl-C itself: it keeps the signal from its main thread."""
    blocked = pathlib.Path(f"/proc/{process}/status").read_text(encoding="ascii").split("SigBlk:")[1].split()[0]
    return bool(int(blocked, 16) >> (signal.SIGINT - 1) & 1)


class Commands(CommandCase):
    def test_a_box_by_hand(self):
        """64 cm3 at 8 lb/ft3: 8.2015 g; pour hole of 15 mm and 3 vents of 2 mm through 20 mm: 0.4771 g; 10 % waste; 1 : 2."""
        plan = self.run_json("weigh", "box.stl", "--units", "mm", "--density", "8lb/ft3", "--scale-readability", "0.01g")
        self.assertAlmostEqual(plan["measures"]["volume_mm3"], 64000, places=6)
        self.assertAlmostEqual(plan["foam"]["part_mass_g"], 64e-6 * 128147.70699, places=4)
        holes = math.pi / 4 * (15**2 + 3 * 2**2) * 20 * 128147.70699e-9
        self.assertAlmostEqual(plan["balance"]["holes_g"], holes, places=6)
        self.assertAlmostEqual(plan["batch"]["pour_mass_g"], (64e-6 * 128147.70699 + holes) / 0.9, places=4)
        self.assertLess(abs(plan["balance"]["closes_to_g"]), 1e-9)
        self.assertAlmostEqual(plan["batch"]["part_b_g"] / plan["batch"]["part_a_g"], 2.0, delta=0.005)
        self.assertAlmostEqual(plan["foam"]["skin_mass_g"] + plan["foam"]["core_mass_g"], plan["foam"]["part_mass_g"], places=10)

    def test_units(self):
        self.assertEqual(self.run_json("inspect", "box.stl")["input"]["units_source"], "assumed")
        codes = [f["code"] for f in self.run_json("inspect", "box.stl")["findings"]]
        self.assertIn("units_assumed", codes)
        inches = self.run_json("inspect", "box.stl", "--units", "in")
        self.assertAlmostEqual(inches["measures"]["volume_mm3"], 64000 * 25.4**3, places=0)
        longest = self.run_json("inspect", "box.stl", "--longest", "80mm")
        self.assertAlmostEqual(longest["measures"]["volume_mm3"], 8 * 64000, places=6)
        self.assertEqual(self.run_json("inspect", str(SAMPLES / "hand_lantern.glb"))["input"]["units_source"], "file")

    def test_job_file_and_flags(self):
        (self.base / "job.toml").write_text('part = "box.stl"\nunits = "in"\ndensity = "13 lb/ft3"\nscale = 0.1\ncopies = 3\n')
        job = self.run_json("weigh", "--job", "job.toml")
        self.assertEqual(job["input"]["units"], "in")
        self.assertEqual(job["batch"]["batches"], 3)
        flagged = self.run_json("weigh", "--job", "job.toml", "--copies", "2", "--units", "mm", "--scale", "1")
        self.assertEqual(flagged["batch"]["batches"], 2)
        self.assertEqual(flagged["input"]["units"], "mm")
        (self.base / "off.toml").write_text('units = "mm"\nwhere = "here"\n')
        result = run(PROGRAM, "inspect", "box.stl", "--job", "off.toml", cwd=self.base)
        self.assertEqual(result.returncode, 2)
        self.assertIn("where in off.toml", result.stderr)

    def test_plan_writes_its_folder_whole(self):
        result = run(PROGRAM, "plan", str(SAMPLES / "mooring_cleat.stl"), "--units", "mm", "--out", "out", "--detail", cwd=self.base)
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertEqual(result.stderr, "")
        names = [os.path.basename(p) for p in tree(self.base / "out")]
        self.assertEqual(names, ["annotated.glb", "annotated.ply", "arrival.glb", "arrival.ply", "density.glb", "density.ply", "orient_map.svg", "parting_above.svg", "parting_above_tiles.html", "parting_back.svg",
                                 "parting_back_tiles.html", "parting_front.svg", "parting_front_tiles.html", "parting_left.svg", "parting_right.svg", "plan.json", "pour_sheet.html", "summary.txt",
                                 "template_front.svg", "template_front_tiles.html", "template_top.svg", "template_top_tiles.html", "thickness.glb", "thickness.ply"])
        plan = json.loads((self.base / "out" / "plan.json").read_text())
        for block in ("input", "repair", "measures", "thin", "foam", "batch", "air", "findings", "cautions"):
            self.assertIn(block, plan)
        self.assertEqual(plan["schema"], "cavigram/1")
        summary = (self.base / "out" / "summary.txt").read_text()
        self.assertTrue(result.stdout.startswith(summary))
        self.assertIn("POUR", summary)
        self.assertIn("supplier's own safety sheet", " ".join(summary.split()))
        self.assertTrue(all(len(line) <= 100 for line in summary.splitlines()), summary)

    def test_rise(self):
        """FM6: packed by 1.15 the cavity is full at 82.64 s; one vent at the top, none without it; the same draws twice."""
        once = self.run_json("rise", "box.stl", "--units", "mm", "--uncertain", "4", "--cells", "5000")
        rise = once["rise"]
        self.assertAlmostEqual(rise["fill_time_s"], 82.639546, delta=1.0)
        self.assertAlmostEqual(rise["filled_share"], 1.0, delta=0.003)
        self.assertLess(rise["mass_error"], 1e-6)
        self.assertTrue(all(a["time_s"] <= b["time_s"] for a, b in zip(rise["moments"], rise["moments"][1:])))
        self.assertEqual(rise["cases"][0]["what"], "as planned")
        less = next(c for c in rise["cases"] if c["what"] == "10 % less foam")
        self.assertGreater(less["fill_time_s"] or math.inf, rise["fill_time_s"])
        self.assertLessEqual(rise["peak_pressure_kpa"], 17.549964)
        self.assertEqual(rise["uncertain_runs"], 4)
        self.assertTrue(all(0 <= place["share"] <= 1 for place in rise["likely_filled"]))
        again = self.run_json("rise", "box.stl", "--units", "mm", "--uncertain", "4", "--cells", "5000", "--threads", "1")
        self.assertEqual(again, once)
        shown = run(PROGRAM, "rise", "box.stl", "--units", "mm", cwd=self.base).stdout
        self.assertIn("Fills in 8", shown)
        self.assertIn("What it buys", shown)
        soon = self.run_json("rise", "box.stl", "--units", "mm", "--gel-time", "60s", "--cells", "5000")
        self.assertIsNone(soon["rise"]["fill_time_s"])
        self.assertIn("gels_before_full", [f["code"] for f in soon["findings"]])

    def test_same_bytes_on_any_number_of_threads(self):
        outputs = {}
        for sample in ("mooring_cleat.stl", "figurehead_scan.obj"):
            for threads in ("1", "2", "5"):
                folder = f"{sample}_{threads}"
                result = run(PROGRAM, "plan", str(SAMPLES / sample), "--units", "mm", "--threads", threads, "--out", folder,
                             cwd=self.base, timeout=300)
                self.assertEqual(result.returncode, 0, result.stderr)
                outputs[threads] = {os.path.basename(p): pathlib.Path(p).read_bytes() for p in tree(self.base / folder)}
                self.assertIn("pour_sheet.html", outputs[threads])
                # The request that a plan carries is the same too.
                outputs[threads]["printed"] = result.stdout.replace(folder, "").encode()
            for threads in ("2", "5"):
                other = [name for name in outputs["1"] if outputs["1"][name] != outputs[threads].get(name)]
                self.assertEqual((other, sorted(outputs[threads])), ([], sorted(outputs["1"])), sample)

    def test_quiet_progress_and_help(self):
        quiet = run(PROGRAM, "inspect", "box.stl", "--quiet", cwd=self.base)
        self.assertEqual((quiet.returncode, quiet.stdout, quiet.stderr), (0, "", ""))
        shown = run(PROGRAM, "inspect", "box.stl", "--progress", "on", cwd=self.base)
        self.assertIn("reading", shown.stderr)
        self.assertNotIn("\r", shown.stdout)
        for command in ("inspect", "thin", "weigh", "vent", "orient", "bench", "mold", "handle", "plan", "foams"):
            result = run(PROGRAM, command, "--help")
            self.assertEqual(result.returncode, 0)
            self.assertIn(command, result.stdout)
        self.assertIn("cavigram", run(PROGRAM, "--version").stdout)

    def test_second_method_is_told(self):
        shown = run(PROGRAM, "vent", "box.stl", "--units", "mm", "--detail", cwd=self.base)
        self.assertIn("second method", shown.stdout)

    def test_foams(self):
        listed = run(PROGRAM, "foams", "list").stdout
        self.assertIn("generic-firm", listed)
        self.assertIn("generic-soft", listed)
        shown = run(PROGRAM, "foams", "show", "generic-firm").stdout
        (self.base / "ours.toml").write_text(shown.replace('"generic-firm"', '"ours"').replace("typical = true\n", ""))
        checked = run(PROGRAM, "foams", "check", "ours.toml", cwd=self.base)
        self.assertEqual(checked.returncode, 0, checked.stderr)
        self.assertIn("Card         ours", checked.stdout)
        used = self.run_json("weigh", "box.stl", "--units", "mm", "--foam", "./ours.toml")
        self.assertFalse(used["foam"]["typical_values"])

    def test_tally_by_hand(self):
        """Three boxes made of a core of 120 kg/m3 and a skin of 300 g/m2 more, by what lies within 1 mm of their surface in closed
        form, give both back; undo takes the last one back."""
        shapes = {"cube.stl": (40, 40, 40), "slab.stl": (80, 80, 10), "rod.stl": (200, 20, 20)}
        for name, (a, b, c) in shapes.items():
            triangles = [tuple((p[0] * a / 40, p[1] * b / 40, p[2] * c / 40) for p in t) for t in box(40.0)]
            (self.base / name).write_bytes(binary_stl(triangles))
            grams = 1e-6 * (120 * a * b * c + 300 * (a * b * c - (a - 2) * (b - 2) * (c - 2)))
            cup = grams + 6
            for _ in range(100):
                cup = grams + 6 + 5 * (cup / 100) ** (2 / 3)
            result = run(PROGRAM, "tally", "add", name, "--units", "mm", "--db", "log.db", "--part-mass", f"{grams - 1:.6f}g",
                         "--flash", "1g", "--cup", f"{cup:.6f}g", "--verdict", "flashed", "--free-rise-mass", "6g",
                         "--free-rise-volume", "50ml", cwd=self.base)
            self.assertEqual(result.returncode, 0, result.stderr)
        fit = run(PROGRAM, "tally", "fit", "--db", "log.db", cwd=self.base)
        self.assertIn("Core         120 +-", fit.stdout)
        self.assertIn("Skin         300 +-", fit.stdout)
        self.assertIn("Free rise    120 +- 10 kg/m3", fit.stdout)
        self.assertIn("Cup          5.00 +-", fit.stdout)
        weighed = self.run_json("weigh", "cube.stl", "--units", "mm", "--from-tally", "--db", "log.db", "--scale-readability", "0.01g")
        # Cups that rose freely to 6 g in 50 mL, the line through the castings, 1 g of flash trimmed off, 5 g that stay of 100 g.
        self.assertAlmostEqual(weighed["foam"]["free_rise_kg_m3"], 120, delta=0.1)
        self.assertIn("from_tally", [f["code"] for f in weighed["findings"]])
        cube = 1e-6 * (120 * 40**3 + 300 * (40**3 - 38**3))
        self.assertAlmostEqual(weighed["balance"]["part_g"] + weighed["balance"]["flash_g"], cube, delta=0.02)
        self.assertGreater(weighed["balance"]["flash_g"], 0.1)
        self.assertAlmostEqual(weighed["balance"]["waste_g"], 5 * (weighed["batch"]["pour_mass_g"] / 100) ** (2 / 3), delta=0.05)
        plain = self.run_json("weigh", "cube.stl", "--units", "mm", "--scale-readability", "0.01g")
        self.assertNotIn("from_tally", [f["code"] for f in plain["findings"]])
        run(PROGRAM, "tally", "undo", "--db", "log.db", cwd=self.base)
        listed = run(PROGRAM, "tally", "list", "--db", "log.db", cwd=self.base)
        self.assertIn("2 castings", listed.stdout)
        self.assertNotIn("rod.stl", listed.stdout)
        exported = run(PROGRAM, "tally", "export", "--db", "log.db", cwd=self.base)
        self.assertEqual(len(exported.stdout.splitlines()), 3)
        self.assertIn("skin_reference_mm,skin_volume_mm3", exported.stdout)

    def test_tally_fits_each_foam_and_mix_by_itself(self):
        """Two mixes in one log: each its own block; a mix that is not there is refused with those that are."""
        for mix, masses in {"50:100": ("9.1g", "9.4g", "9.2g"), "30:100": ("13.2g",)}.items():
            for mass in masses:
                foam = "generic-firm" if mix == "50:100" else "generic-soft"
                result = run(PROGRAM, "tally", "add", "box.stl", "--units", "mm", "--db", "log.db", "--part-mass", mass,
                             "--foam", foam, cwd=self.base)
                self.assertEqual(result.returncode, 0, result.stderr)
        both = run(PROGRAM, "tally", "fit", "--db", "log.db", cwd=self.base)
        self.assertEqual(both.returncode, 0, both.stderr)
        self.assertIn("Foam         generic-firm 50:100", both.stdout)
        self.assertIn("Foam         generic-soft 30:100", both.stdout)
        self.assertIn("Mean         144 kg/m3", both.stdout)
        self.assertIn("it tells skin from", both.stdout)
        self.assertIn("only 1 good casting", both.stdout)
        one = run(PROGRAM, "tally", "fit", "--db", "log.db", "--mix", "100:200", cwd=self.base)
        self.assertIn("generic-firm", one.stdout)
        self.assertNotIn("generic-soft", one.stdout)
        for wrong in (["--mix", "40:100"], ["--foam", "ours"], ["--foam", "generic-soft"]):
            refused = run(PROGRAM, "tally", "fit", "--db", "log.db", *wrong, cwd=self.base)
            self.assertEqual(refused.returncode, 2, refused.stdout)
            self.assertEqual(refused.stderr.count("\n"), 1)
        self.assertIn("generic-firm 50:100 (3), generic-soft 30:100 (1)",
                      run(PROGRAM, "tally", "fit", "--db", "log.db", "--foam", "ours", cwd=self.base).stderr)

    def test_a_log_in_use_is_waited_for_and_then_named(self):
        add = ["tally", "add", "box.stl", "--units", "mm", "--db", "log.db", "--part-mass", "9g", "--yes"]
        self.assertEqual(run(PROGRAM, *add, cwd=self.base).returncode, 0)
        holder = sqlite3.connect(self.base / "log.db", isolation_level=None)
        holder.execute("BEGIN EXCLUSIVE")
        refused = run(PROGRAM, *add, cwd=self.base)
        self.assertEqual(refused.returncode, 3)
        self.assertEqual(refused.stderr.count("\n"), 1)
        self.assertIn("in use by another program", refused.stderr)
        holder.execute("ROLLBACK")
        self.assertEqual(run(PROGRAM, *add, cwd=self.base).returncode, 0)
        self.assertIn("2 castings", run(PROGRAM, "tally", "list", "--db", "log.db", cwd=self.base).stdout)

    def test_several_parts_from_one_cup(self):
        """Two boxes and a third of eight times the volume, at a stated mean: grams add up."""
        (self.base / "big.stl").write_bytes(binary_stl(box(80.0)))
        (self.base / "job.toml").write_text('part = "box.stl"\nalso = ["box.stl", "big.stl"]\nunits = "mm"\ndensity = "8 lb/ft3"\n')
        plan = self.run_json("weigh", "--job", "job.toml", "--waste", "0%")
        self.assertAlmostEqual(plan["balance"]["part_g"], 640e-6 * 128147.70699, places=4)
        # Each of the three molds has holes of its own.
        self.assertAlmostEqual(plan["batch"]["pour_mass_g"], plan["balance"]["part_g"] + plan["balance"]["holes_g"], places=9)
        alone = self.run_json("weigh", "box.stl", "--units", "mm", "--density", "8lb/ft3", "--scale-readability", "0.01g")
        self.assertAlmostEqual(plan["balance"]["holes_g"], 3 * alone["balance"]["holes_g"], places=9)
        self.assertEqual([p["file"] for p in plan["foam"]["also"]], ["box.stl", "big.stl"])
        # Each is named with its own grams.
        shown = run(PROGRAM, "weigh", "--job", "job.toml", "--waste", "0%", cwd=self.base).stdout
        for part in ("box.stl, 8.20 g", "big.stl, 65.6 g"):
            self.assertIn(part, shown)

    def test_each_part_of_a_cup_is_planned_for_its_own_cavity(self):
        """A pyramid poured along with a box has the level, the deadlines and the window that it has alone."""
        base = [(0, 0, 0), (40, 0, 0), (40, 40, 0), (0, 40, 0)]
        sides = [(base[i], base[(i + 1) % 4], (20, 20, 40)) for i in range(4)]
        (self.base / "pyramid.stl").write_bytes(binary_stl([(base[0], base[2], base[1]), (base[0], base[3], base[2])] + sides))
        call = ["--units", "mm", "--density", "9lb/ft3", "--up", "+z"]
        with_box = json.loads(run(PROGRAM, "bench", "box.stl", *call, "--also", "pyramid.stl", "--json", "-", cwd=self.base).stdout)
        alone = json.loads(run(PROGRAM, "bench", "pyramid.stl", *call, "--json", "-", cwd=self.base).stdout)
        [also] = with_box["foam"]["also"]
        self.assertAlmostEqual(also["part_mass_g"], alone["foam"]["part_mass_g"], places=9)
        for key in ("liquid_depth_mm", "closed_by_s", "strapped_by_s"):
            self.assertAlmostEqual(also[key], alone["bench"][key], places=9)
        self.assertNotAlmostEqual(also["closed_by_s"], with_box["bench"]["closed_by_s"], places=1)
        # Free rise times cavity with its holes, which are as the box's.
        holes_mm3 = 1e6 * with_box["balance"]["holes_g"] / 2 / with_box["foam"]["molded_density_kg_m3"]
        self.assertAlmostEqual(also["fills_from_g"], 1e-6 * with_box["foam"]["free_rise_kg_m3"] * (64000 / 3 + holes_mm3), places=6)
        self.assertAlmostEqual(also["planned_g"], also["part_mass_g"] + with_box["balance"]["holes_g"] / 2, places=9)
        shown = run(PROGRAM, "bench", "box.stl", *call, "--also", "pyramid.stl", cwd=self.base).stdout
        self.assertRegex(shown, r"Also +pyramid.stl: the liquid stands")
        # What is amiss with it names it.
        thin = json.loads(run(PROGRAM, "weigh", "box.stl", *call[:4], "--also", "pyramid.stl", "--mold-holds", "1kPa", "--json", "-", cwd=self.base).stdout)
        self.assertTrue([f for f in thin["findings"] if f["code"] == "high_pressure" and f["text"].startswith("pyramid.stl: ")])

    def bench_box(self, *arguments):
        return self.run_json("bench", "box.stl", "--units", "mm", *arguments)["bench"]

    def test_bench_warm_and_cold(self):
        """E18: 30 s at 23 C are 52.2 s at 15 C; at 38 C there is no time to stir and pour: exit status 1, and nobody is told to heat it."""
        b = self.bench_box("--temperature", "15C")
        self.assertAlmostEqual(b["work_time_s"], 52.233, places=2)
        self.assertGreater(b["demold_min_s"], 1800)
        hot = run(PROGRAM, "bench", "box.stl", "--units", "mm", "--temperature", "38C", "--stir", "12s", cwd=self.base)
        self.assertEqual(hot.returncode, 1, hot.stderr)
        self.assertIn("TOO LATE", hot.stdout)
        self.assertNotIn("warmer", hot.stdout)
        self.assertRegex(hot.stdout, r"Open after +30 to 45 min")

    def test_bench_time_line(self):
        """The trade's own method fits a 30 s foam; its steps and deadlines are those of the text, in order of time."""
        b = self.bench_box()
        self.assertEqual(b["method"], "open_half_and_turn")
        self.assertEqual(b["poured_by_s"], b["work_time_s"])
        deadlines = [b[k] for k in ("poured_by_s", "closed_by_s", "strapped_by_s", "most_pressure_s", "demold_min_s")]
        self.assertEqual(deadlines, sorted(deadlines))
        self.assertEqual(b["foam_at_top_s"], b["strapped_by_s"])
        self.assertEqual(b["turned_by_s"], b["work_time_s"] + 5)
        self.assertAlmostEqual(b["open_half_mm3"], 32000, places=6)
        chosen = next(m for m in b["methods"] if m["method"] == b["method"])
        self.assertEqual([s["kind"] for s in chosen["steps"]], ["stir", "pour", "close", "turn", "strap"])
        slack = {s["deadline"]: s["by_s"] - s["end_s"] for s in chosen["steps"] if s["deadline"]}
        self.assertEqual(min(slack, key=slack.get), b["tightest"])
        self.assertAlmostEqual(min(slack.values()), b["spare_s"], places=9)
        self.assertAlmostEqual(b["mix_s"] + b["pour_s"] + b["close_s"], chosen["total_s"], places=9)
        self.assertEqual(self.bench_box("--turn-grace", "1s")["turned_by_s"], b["work_time_s"] + 1)
        text = run(PROGRAM, "bench", "box.stl", "--units", "mm", cwd=self.base).stdout
        places = [text.index(words) for words in ("poured by 30 s", "closed by", "turned by 35 s", "strapped by", "foam at the highest vent", "presses most", "Open after")]
        self.assertEqual(places, sorted(places))

    def test_bench_counts_molds_and_cups(self):
        """--also: more hands, this part's own level; --largest-batch: every cup within the first one's work time."""
        alone = self.bench_box("--density", "9lb/ft3")
        (self.base / "job.toml").write_text('part = "box.stl"\nalso = ["box.stl", "box.stl"]\nunits = "mm"\ndensity = "9 lb/ft3"\n')
        result = run(PROGRAM, "bench", "--job", "job.toml", "--json", "-", cwd=self.base)
        three = json.loads(result.stdout)["bench"]
        self.assertEqual(three["molds"], 3)
        self.assertEqual(three["liquid_depth_mm"], alone["liquid_depth_mm"])
        self.assertAlmostEqual(three["methods"][1]["total_s"], 12 + 3 * (5 + 6 + 3 + 8), places=9)
        result = run(PROGRAM, "bench", "box.stl", "--units", "mm", "--density", "9lb/ft3", "--largest-batch", "6g", cwd=self.base)
        self.assertEqual(result.returncode, 1, result.stderr)
        self.assertIn("pour cup 2 of 2", result.stdout)
        self.assertRegex(" ".join(result.stdout.split()), r"Cups 2 for each part, stirred one after another by one person, from 0 s, \d+ s: that does not fit")
        self.assertIn("stir for 12 s", result.stdout)
        self.assertIn("second pair of hands", result.stdout)

    def test_bench_open_half_is_the_upper_one(self):
        """A pyramid 40 wide and 40 high parted at half height: 1/8 of it is above, 7/8 below (similar bodies)."""
        base = [(0, 0, 0), (40, 0, 0), (40, 40, 0), (0, 40, 0)]
        sides = [(base[i], base[(i + 1) % 4], (20, 20, 40)) for i in range(4)]
        (self.base / "pyramid.stl").write_bytes(binary_stl([(base[0], base[2], base[1]), (base[0], base[3], base[2])] + sides))
        for up, share in (("+z", 1 / 8), ("-z", 7 / 8)):
            b = self.run_json("bench", "pyramid.stl", "--units", "mm", "--up", up)["bench"]
            self.assertAlmostEqual(b["open_half_mm3"], share * 64000 / 3, places=6)
            self.assertEqual(b["up"][2], 1.0 if up == "+z" else -1.0)

    def test_bench_mold_temperature(self):
        """Words, no numbers: the clock is that of the liquids."""
        same = self.run_json("bench", "box.stl", "--units", "mm")
        cold = self.run_json("bench", "box.stl", "--units", "mm", "--mold-temperature", "12C")
        self.assertEqual(same["bench"], cold["bench"])
        self.assertIn("mold_temperature", [f["code"] for f in cold["findings"]])
        self.assertNotIn("mold_temperature", [f["code"] for f in same["findings"]])

    def test_several_solids_are_said(self):
        bell = self.run_json("vent", str(SAMPLES / "ships_bell.ply"), "--units", "mm")
        self.assertIn("several_solids", [f["code"] for f in bell["findings"]])
        # What each takes, and the question that only the person can answer: 64 and 8 mL of 128.15 kg/m3.
        (self.base / "two.stl").write_bytes(binary_stl(box(40.0) + box(20.0, 100.0)))
        for command, sizes in (("vent", "64.0 cm3 and 8.00 cm3"), ("plan", "8.20 g and 1.03 g")):
            found = self.run_json(command, "two.stl", "--units", "mm", "--density", "8lb/ft3", *(["--out", "two"] if command == "plan" else []))["findings"]
            words = next(f["text"] for f in found if f["code"] == "several_solids")
            self.assertIn(sizes, words)
            self.assertIn("a loose piece?", words)
        self.assertEqual(len([o for o in bell["air"]["openings"] if o["kind"] == "pour_hole"]), 2)

    def test_ctrl_c_ends_within_a_second_and_leaves_nothing(self):
        for wait in (0.05, 0.2, 0.5):
            process = subprocess.Popen([PROGRAM, "plan", str(SAMPLES / "figurehead_scan.obj"), "--units", "mm", "--out", "stopped",
                                        "--threads", "1"], cwd=self.base, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
            # Before it listens, the system stops it, and has nothing to tell it.
            while process.poll() is None and not listens(process.pid):
                time.sleep(0.005)
            time.sleep(wait)
            if process.poll() is not None:
                process.communicate()
                continue
            process.send_signal(signal.SIGINT)
            asked = time.monotonic()
            process.communicate(timeout=20)
            if process.returncode == 0:
                continue  # it was done before it heard
            self.assertEqual(process.returncode, 130)
            # The promise is a second; the allowance is for a loaded machine.
            self.assertLess(time.monotonic() - asked, 10.0)
            self.assertEqual([p for p in tree(self.base) if "stopped" in p], [])


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v"])
