#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The table of claims says missed where something is, keeps a short run apart, and never takes what was not measured for met. Arithmetic by hand."""
import contextlib
import io
import json
import pathlib
import sys
import tempfile
import time
import unittest

sys.dont_write_bytecode = True
sys.path.insert(0, str(pathlib.Path(__file__).parent))
import claims  # noqa: E402

GOOD = {
    "speed": {"calls": [{"command": "inspect", "mesh": "ring 832k", "aim_s": None, "aim_mb": None, "runs": [[0.5, 0.6, 90.0], [0.3, 0.4, 90.0], [0.4, 0.5, 91.0]]},
                        {"command": "plan", "mesh": "cleat", "aim_s": 2.0, "aim_mb": 700.0, "runs": [[2.0, 3.0, 650.0]]}],
              "vtk": [{"clock_s": 0.5}], "peers": [["skin", "SciPy", 1000, 3.0]], "compared": 12, "wrong": 0},
    "suite": {"tests": 10, "failures": 0, "skipped": 1},
    "fuzz": {"seconds": 7200, "runs": 2, "targets": 18, "executions": 123456, "found": 0},
    "sanitized": {"tests": 10, "failures": 0, "skipped": 0},
    "threads": {"tests": 10, "failures": 0, "skipped": 0},
    "coverage": {"all": {"lines": 1000, "lines_run": 900, "branches": 500, "branches_run": 300},
                 "rooms": {"core": {"lines": 400, "lines_run": 344, "branches": 1, "branches_run": 1}, "geom": {"lines": 600, "lines_run": 556, "branches": 1, "branches_run": 1}}},
    "faults": {"rows": 36, "hold": 36, "skipped": 0, "times": 900},
    "soak": {"through": [{"what": "plan", "plans": 1000, "growth_mb": 0.2, "most_mb": 10.0, "left": ""}]},
    "reproducible": {"compared": 3, "same": 3, "cached": 0},
    "package": {"packages": 40, "left": 0},
}
# Part, what is put into its record, how the line must begin, its verdict.
BAD = [("speed", {"calls": [{"command": "plan", "mesh": "cleat", "aim_s": 1.6, "aim_mb": None, "runs": [[2.0, 3.0, 650.0]]}]}, "| plan, cleat | 1.6 s", "missed by 25 %"),
       ("speed", {"vtk": [{"clock_s": 0.25}]}, "| inspect, ring 832k |", "missed by 60 %"),
       ("speed", {"wrong": 1}, "| speed: answers |", "missed"),
       ("suite", {"failures": 1}, "| the whole suite |", "missed"),
       ("fuzz", {"seconds": 3600}, "| fuzzing | 2 hours", "missed by 50 %"),
       ("fuzz", {"found": 1}, "| fuzzing: inputs", "missed"),
       ("coverage", {"all": {"lines": 1000, "lines_run": 810, "branches": 1, "branches_run": 1}}, "| lines of lib", "missed by 10 %"),
       ("faults", {"hold": 35, "skipped": 1}, "| faults", "missed"),
       ("soak", {"through": [{"what": "plan", "plans": 1000, "growth_mb": 15.0, "most_mb": 10.0, "left": ""}]}, "| soak, 1,000 plans through plan: memory", "missed by 50 %"),
       ("soak", {"through": [{"what": "plan", "plans": 1000, "growth_mb": 0.0, "most_mb": 10.0, "left": "a child"}]}, "| soak, 1,000 plans through plan: left", "missed"),
       ("reproducible", {"same": 2}, "| two builds", "missed"),
       ("package", {"left": 3}, "| Debian package on a bare root", "missed"),
       ("threads", {"ended": 2}, "| threads |", "missed")]


class Claims(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        claims.KEPT = pathlib.Path(folder.name) / "claims"
        claims.git = lambda *words: "3" if words[0] == "rev-list" else "0123abcd"

    def table(self, *words):
        out, argv, sys.argv = io.StringIO(), sys.argv, ["claims.py", *words]
        try:
            with contextlib.redirect_stdout(out):
                status = claims.main()
        finally:
            sys.argv = argv
        return status, out.getvalue().splitlines()

    def keep_all(self):
        for part, figures in GOOD.items():
            claims.record(part, False, figures)

    def test_nothing_measured_is_nothing_met(self):
        status, lines = self.table()
        self.assertEqual((status, lines[-1]), (1, f"0 met, 0 missed, {len(claims.PARTS)} not measured."))

    def test_all_met(self):
        self.assertEqual(set(GOOD), set(claims.PARTS))
        self.keep_all()
        status, lines = self.table()
        self.assertEqual((status, lines[-1]), (0, "15 met, 0 missed, 0 not measured."))
        self.assertIn("0.80 times as long | met", "\n".join(lines))  # the middle of 0.5, 0.3, 0.4 over 0.5
        self.assertIn(" ago, 0123abcd, 3 commits back |", lines[2])
        self.assertIn("90.0 % of 1,000; below: core 86.0 % | met", "\n".join(lines))

    def test_each_miss_is_told(self):
        for part, change, begins, verdict in BAD:
            with self.subTest(f"{part} {change}"):
                self.keep_all()
                claims.record(part, False, {**GOOD[part], **change})
                status, lines = self.table()
                self.assertEqual(status, 1)
                found = [line.split(" | ")[3] for line in lines if line.startswith(begins)]
                self.assertEqual(found[:1], [verdict], "\n".join(lines))

    def test_a_short_run_does_not_pass_for_a_whole_one(self):
        claims.record("fuzz", True, {"tests": 1, "failures": 0, "skipped": 0})
        _, lines = self.table()
        self.assertTrue(any("(short run)" in line and "| met |" in line for line in lines))
        self.assertTrue(any(line.startswith("| fuzz |") and "| not measured |" in line for line in lines))

    def test_reports_of_ctest_and_figures(self):
        folder = claims.KEPT.parent
        first, again = folder / "first.xml", folder / "again.xml"
        first.write_text('<testsuite><testcase name="a" status="run"/><testcase name="b" status="fail"/><testcase name="c" status="notrun"/><testcase name="d" status="fail"/></testsuite>')
        again.write_text('<testsuite><testcase name="b" status="run"/><testcase name="e" status="run"/></testsuite>')
        (folder / "more.json").write_text('{"a": 1}')
        told = claims.figures_of([first, again, folder / "not_there.xml"], ["b=2.5", f"c=@{folder / 'more.json'}", f"=@{folder / 'more.json'}"])
        self.assertEqual(told, {"tests": 6, "failures": 2, "skipped": 1, "b": 2.5, "c": {"a": 1}, "a": 1})
        self.assertEqual(claims.figures_of([], ["b=2.5"]), {"b": 2.5})

    def test_a_run_that_ends_badly_is_not_covered_by_an_earlier_one(self):
        claims.record("threads", False, GOOD["threads"])
        parts, claims.PARTS = claims.PARTS, {"threads": (claims.PARTS["threads"][0], [["false"]], [])}
        self.addCleanup(setattr, claims, "PARTS", parts)
        time.sleep(0.01)
        status, lines = self.table("--run", "threads")
        self.assertEqual(status, 1)
        self.assertIn("the run ended with status 1", "\n".join(lines))
        self.assertEqual(json.loads((claims.KEPT / "threads.json").read_text())["ended"], 1)


if __name__ == "__main__":
    unittest.main(verbosity=0)
