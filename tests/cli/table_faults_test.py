#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`plan --table` when things go wrong: stopped, killed, crashed, out of memory, two programs on one folder. No row lost, nothing twice, nothing half.

Usage: table_faults_test.py PROGRAM
"""
import csv
import io
import json
import os
import pathlib
import random
import signal
import subprocess
import sys
import tempfile
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from runner import binary_stl, box, run  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
CALL = ["--units", "mm", "--scale-readability", "0.1g", "--out", "out", "--table"]


def rows_of(out):
    rows = list(csv.DictReader(io.StringIO((out / "table.csv").read_bytes().decode())))
    assert len({row["scan"] for row in rows}) == len(rows), rows
    return {row["scan"]: row for row in rows}


def children(process):
    """Processes below that one."""
    found = []
    for entry in pathlib.Path("/proc").iterdir():
        try:
            if entry.name.isdigit() and int((entry / "stat").read_text().rsplit(")", 1)[1].split()[1]) == process:
                found += [int(entry.name), *children(int(entry.name))]
        except (OSError, IndexError):
            pass
    return found


def words_of(process):
    try:
        return pathlib.Path(f"/proc/{process}/cmdline").read_text().split("\0")
    except OSError:
        return []


def is_there(process):
    try:
        return pathlib.Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def until(true, within=60):
    end = time.monotonic() + within
    while time.monotonic() < end:
        if answer := true():
            return answer
        time.sleep(0.01)
    raise AssertionError("it did not happen")


class Faults(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.base = pathlib.Path(self.folder.name)
        self.out = self.base / "out"
        self.hopeless = []

    def tearDown(self):
        self.folder.cleanup()

    def scans(self, good, hopeless):
        """So many that are planned and, at once refused, so many that are not; mixed by a seed."""
        names = [f"good{i}.stl" for i in range(good)] + [f"open{i}.stl" for i in range(hopeless)]
        for i, name in enumerate(names):
            (self.base / name).write_bytes(binary_stl(box(40.0 + i)[:12 if i < good else 5]))
        random.Random(18).shuffle(names)
        return names

    def start(self, scans, **options):
        return subprocess.Popen([PROGRAM, "plan", *scans, *CALL], cwd=self.base, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **options)

    def check_whole(self, scans=None):
        """Each folder has its record and, if it was planned, its plan; each scan, where they are given, one row; nothing is left over."""
        for folder in self.out.iterdir():
            if folder.is_dir() and folder.name != ".work":
                row = json.loads((folder / "scan.json").read_text())
                if row["end"] == "failed":
                    self.assertEqual(os.listdir(folder), ["scan.json"])
                else:
                    json.loads((folder / "plan.json").read_text())
                    self.assertTrue((folder / "pour_sheet.html").read_text().endswith("</html>\n"))
        if scans is not None:
            rows = rows_of(self.out)
            self.assertEqual(sorted(rows), sorted(str(self.base / name) for name in scans))
            for scan, row in rows.items():
                self.assertEqual(row["end"], "planned" if "good" in scan else "failed", row)
            self.assertEqual(sorted(os.listdir(self.out)), sorted(["table.csv", "table.html", *(row["folder"] for row in rows.values())]))

    def test_killed_at_any_moment_the_next_call_goes_on(self):
        scans = self.scans(4, 12)
        moments = random.Random(1)
        done = 0
        for _ in range(8):
            program = self.start(scans)
            time.sleep(moments.uniform(0.02, 1.5))
            below = children(program.pid)
            program.kill()
            program.communicate()
            until(lambda: not any(is_there(child) for child in below), within=10)  # die with it
            if self.out.exists():
                self.check_whole()
                now = len(list(self.out.glob("*/scan.json")))
                self.assertGreaterEqual(now, done)
                done = now
        program = self.start(scans)
        told, complaint = program.communicate()
        self.assertEqual(program.returncode, 3, complaint)
        self.assertIn("16 scans: 4 planned, 12 failed", told)
        self.check_whole(scans)

    def test_ctrl_c_keeps_what_is_done(self):
        scans = ["open0.stl", *(name for name in self.scans(3, 2) if name != "open0.stl")]
        program = self.start(scans)
        until(lambda: list(self.out.glob("open0-*")))
        until(lambda: list(self.out.glob(".work/good*/plan.json")))  # in the midst of one
        program.send_signal(signal.SIGINT)
        told, complaint = program.communicate(timeout=10)
        self.assertEqual((program.returncode, told), (130, ""))
        self.assertRegex(complaint, r"^cavigram: Stopped as asked; [1-4] of 5 scans are done, and the same call goes on from there\.\n$")
        self.check_whole()
        done = len(list(self.out.glob("*/scan.json")))
        self.assertEqual(len(rows_of(self.out)), done)
        self.assertFalse((self.out / ".work").exists())
        result = run(PROGRAM, "plan", *scans, *CALL, cwd=self.base)
        self.assertIn(f"; {done} done before", result.stdout)
        self.check_whole(scans)

    def test_two_programs_share_one_folder(self):
        scans = self.scans(3, 12)
        both = [self.start(scans), self.start(list(reversed(scans)))]
        told = [program.communicate(timeout=120)[0] for program in both]
        self.assertEqual([program.returncode for program in both], [3, 3])
        before = 0
        for text in told:
            self.assertIn("15 scans: 3 planned, 12 failed", text)
            self.assertIn("rows in it: 15", text)
            before += int(text.split("; ")[1].split(" done")[0]) if "done before" in text else 0
        self.assertEqual(before, len(scans))  # each was planned once, and found done by the other
        self.check_whole(scans)

    def test_a_scan_that_crashes_or_is_killed_is_a_row_and_is_tried_again(self):
        scans = self.scans(2, 1)
        for how, says in ((signal.SIGSEGV, "crashed on this scan (signal 11)"), (signal.SIGKILL, "ran out of memory"), (signal.SIGTERM, "stopped from outside")):
            for path in self.base.glob("out/good0-*/scan.json"):
                path.unlink()
            program = self.start(scans)
            until(lambda: list(self.out.glob(".work/good0-*/")))
            child = until(lambda: [child for child in children(program.pid) if "--one-scan" in words_of(child)])[0]
            time.sleep(0.05)  # into its work
            os.kill(child, how)
            told, _ = program.communicate(timeout=60)
            self.assertEqual(program.returncode, 3, told)
            row = rows_of(self.out)[str(self.base / "good0.stl")]
            self.assertEqual(row["end"], "failed")
            self.assertIn(says, row["sentence"])
            self.assertEqual(os.listdir(self.out / row["folder"]), ["scan.json"])
        run(PROGRAM, "plan", *scans, *CALL, cwd=self.base)
        self.check_whole(scans)

    def test_too_little_memory_is_a_row(self):
        scans = self.scans(1, 1)
        limited = ["prlimit", "--as=90000000", PROGRAM, "plan", *scans, *CALL]
        result = subprocess.run(limited, cwd=self.base, capture_output=True, text=True, timeout=60)
        self.assertEqual(result.returncode, 3, result.stderr)
        self.assertIn("memory", rows_of(self.out)[str(self.base / "good0.stl")]["sentence"])
        run(PROGRAM, "plan", *scans, *CALL, cwd=self.base)
        self.check_whole(scans)

    def test_a_folder_that_takes_no_more_files_ends_it(self):
        """The child's file of a megabyte is over its limit, as on a full disk: no row for what is not the scan's fault."""
        scans = self.scans(1, 1)
        limited = ["prlimit", "--fsize=60000", PROGRAM, "plan", *sorted(scans, reverse=True), *CALL]
        # Python ignores SIGXFSZ, and so what it starts does unless that is restored.
        result = subprocess.run(limited, cwd=self.base, capture_output=True, text=True, timeout=60, restore_signals=False)
        self.assertEqual(result.returncode, 3, result.stderr)
        self.assertRegex(result.stderr, r"^cavigram: Can't write .*pour_sheet\.html.*\n$")
        self.check_whole()
        run(PROGRAM, "plan", *scans, *CALL, cwd=self.base)
        self.check_whole(scans)


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v"])
