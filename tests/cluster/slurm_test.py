#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""tools/cluster on a real Slurm of one node, started here: 40 scans, three of them hopeless, tasks killed and requeued. Nothing lost, nothing twice.

Usage: slurm_test.py PROGRAM PROJECT_FOLDER. Ends with status 77 where Slurm is not installed (tools/dev/install.sh test installs it).
"""
import csv
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
sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "cli"))
import slurm  # noqa: E402
from runner import binary_stl, box  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
CLUSTER = pathlib.Path(sys.argv[2]).resolve() / "tools" / "cluster"
OPTIONS = ["--", "--units", "mm", "--scale-readability", "0.1g"]
SCANS, HOPELESS, PIECE = 40, {3, 17, 38}, 5  # eight tasks, in two arrays (slurm.py allows five)


def programs_of(folder):
    """The `plan --table` that writes to that folder, not its children."""
    found = []
    for entry in pathlib.Path("/proc").iterdir():
        try:
            words = (entry / "cmdline").read_bytes().decode().split("\0") if entry.name.isdigit() else []
        except OSError:
            continue
        if "--table" in words and str(folder) in words and words[0] == PROGRAM:
            found.append(int(entry.name))
    return found


class OnSlurm(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.base = pathlib.Path(self.folder.name)
        (self.base / "slurm").mkdir()
        self.slurm = slurm.Slurm(self.base / "slurm")
        self.slurm.env["CAVIGRAM"] = PROGRAM
        self.out = self.base / "out"
        self.list = self.base / "scans.txt"

    def tearDown(self):
        self.slurm.end()
        self.folder.cleanup()

    def write_scans(self):
        names = []
        for i in range(SCANS):
            path = self.base / "scans" / f"day {i % 4}" / f"part{i // 4}.stl"  # spaces, equal names
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(binary_stl(box(40.0 + 0.25 * i)[:5 if i in HOPELESS else 12]))
            names.append(str(path))
        random.Random(40).shuffle(names)
        self.list.write_text("".join(name + "\n" for name in names))
        return names

    def submit(self, expect=0):
        result = self.slurm.run(str(CLUSTER / "plan_scans.sh"), str(self.list), str(self.out), "-n", str(PIECE), *OPTIONS, cwd=self.base)
        self.assertEqual(result.returncode, expect, result.stderr)
        return result.stdout.strip() if expect == 0 else result.stderr

    def gather(self, expect):
        result = self.slurm.run(str(CLUSTER / "gather_table.py"), str(self.list), str(self.out), cwd=self.base)
        logs = "".join(path.read_text() for path in sorted((self.out / "logs").iterdir()))
        self.assertEqual(result.returncode, expect, result.stdout + result.stderr + logs)
        return result.stdout

    def made(self):
        """When each record was made."""
        return {str(path): path.stat().st_mtime_ns for path in self.out.glob("task_*/*/scan.json")}

    def running(self, job):
        """Tasks that run now, by their place in the list, with the number that each has as a job of its own."""
        first = {array: 5 * i for i, array in enumerate(job.split(","))}
        return {first[array] + place: number for array, place, number in self.slurm.running(job)}

    def kill_and_requeue(self, job):
        """Of tasks that run: requeues some as an operator does, and kills the program of others as a machine out of memory does."""
        requeued, killed = set(), set()
        end = time.monotonic() + 120
        while len(requeued) < 3 or len(killed) < 2:
            self.assertLess(time.monotonic(), end, f"{requeued} requeued, {killed} killed; {self.slurm.said()}")
            for task, number in self.running(job).items():
                folder = self.out / f"task_{task:05d}"
                if task in requeued or task in killed or not list(folder.glob("*/scan.json")):
                    continue  # in the midst of its work
                if len(requeued) <= len(killed):
                    if self.slurm.run("scontrol", "requeue", number).returncode == 0:
                        requeued.add(task)
                else:
                    for process in programs_of(folder):
                        os.kill(process, signal.SIGKILL)
                        killed.add(task)
            time.sleep(0.1)
        return requeued, killed

    def test_forty_scans_three_hopeless_tasks_killed_and_requeued(self):
        names = self.write_scans()
        job = ",".join(self.submit().split())
        self.assertIn(",", job)
        requeued, killed = self.kill_and_requeue(job)
        # Before all is done: what is there is whole, what is missing is told.
        self.gather(expect=1)
        before = self.made()
        missing = (self.out / "missing.txt").read_text().splitlines()
        self.assertEqual(len(missing) + len(before) >= SCANS, True)
        self.slurm.wait(job, within=240)
        told = self.gather(expect=0)
        self.assertIn(f"{SCANS} scans, {SCANS} rows: {SCANS - len(HOPELESS)} planned, 0 need attention first, {len(HOPELESS)} failed; 0 missing, 0 twice", told)
        self.assertEqual((self.out / "missing.txt").read_text(), "")
        with open(self.out / "table.csv", newline="") as table:
            rows = list(csv.DictReader(table))
        self.assertEqual(sorted(row["scan"] for row in rows), sorted(names))
        self.assertEqual({row["scan"] for row in rows if row["end"] == "failed"}, {name for name in names if len(pathlib.Path(name).read_bytes()) < 400})
        for row in rows:
            folder = self.out / row["folder"]
            self.assertEqual((folder / "plan.json").exists(), row["end"] == "planned")
            if row["end"] == "planned":
                # 40 + i / 4 cubed: the plan that lies there is this scan's.
                side = json.loads((folder / "plan.json").read_text())["measures"]["volume_mm3"] ** (1 / 3)
                day, part = int(row["scan"].split("day ")[1][0]), int(row["scan"].rsplit("part", 1)[1][:-4])
                self.assertAlmostEqual(side, 40.0 + 0.25 * (4 * part + day), 6)
        # What was done before tasks were killed and requeued was not done again.
        after = self.made()
        self.assertEqual(before, {path: at for path, at in after.items() if path in before})
        self.assertEqual(list(self.out.glob("task_*/.work")), [])
        restarts = sum(self.slurm.run("scontrol", "show", "job", array).stdout.count("Restarts=1") for array in job.split(","))
        self.assertEqual(restarts, len(requeued) + len(killed))

        # The same call again plans nothing; two more scans at the end of the list are planned, and only they.
        with open(self.list, "a") as file:
            for i in (0, 1):
                extra = self.base / f"extra{i}.stl"
                extra.write_bytes(binary_stl(box(40.0)[:7]))
                file.write(f"{extra}\n")
        self.gather(expect=1)
        self.slurm.wait(",".join(self.submit().split()), within=120)
        self.assertIn("42 scans, 42 rows", self.gather(expect=0))
        self.assertEqual(after, {path: at for path, at in self.made().items() if path in after})
        # Another order would plan scans in other tasks: twice.
        self.list.write_text("".join(f"{name}\n" for name in sorted(names)))
        self.assertIn("begun with another list", self.submit(expect=2))
        self.list.write_text("x.stl\nx.stl\n")
        self.assertIn("more than once", self.submit(expect=2))
        print(f"requeued: tasks {sorted(requeued)}; killed: tasks {sorted(killed)}")


if __name__ == "__main__":
    if slurm.missing():
        print(f"Skipped: {', '.join(slurm.missing())} of Slurm (slurm-wlm, munge) not installed; tools/dev/install.sh test installs them.")
        sys.exit(77)
    unittest.main(argv=[sys.argv[0], "-v"])
