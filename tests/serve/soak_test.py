#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A day's worth of scans: seeded plans through one `serve` and through one `plan --table`. Memory stays flat, no file handle, thread, child or file is left.

Usage: soak_test.py PROGRAM [PLANS]      20 in CTest; by hand 1,000. Prints figures.
"""
import os
import pathlib
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "cli"))
from runner import binary_stl, box  # noqa: E402
from server import POOL, Server  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
PLANS = int(sys.argv[2]) if len(sys.argv) > 2 else 20


def processes():
    """Parent of each process."""
    parents = {}
    for entry in pathlib.Path("/proc").iterdir():
        try:
            if entry.name.isdigit():
                state, parent = (entry / "stat").read_text().rsplit(")", 1)[1].split()[:2]
                parents[int(entry.name)] = (int(parent), state)
        except (OSError, ValueError):
            pass
    return parents


def children(process):
    parents = processes()
    found = [child for child, (parent, _) in parents.items() if parent == process]
    return found + [below for child in found for below in children(child)]


class Held:
    """What a process holds at a moment."""

    def __init__(self, process):
        status = dict(line.split(":", 1) for line in pathlib.Path(f"/proc/{process}/status").read_text().splitlines() if ":" in line)
        self.memory_mb = int(status["VmRSS"].split()[0]) / 1000.0
        self.threads = int(status["Threads"])
        self.handles = len(os.listdir(f"/proc/{process}/fd"))


def mesh(draw):
    """A block of its own size, now and then an open one; (bytes, whether it can be planned)."""
    whole = draw.random() > 0.1
    sides = [draw.uniform(30.0, 60.0) for _ in range(3)]
    triangles = [tuple(tuple(c * side for c, side in zip(corner, sides)) for corner in triangle) for triangle in box(1.0)]
    return binary_stl(triangles if whole else triangles[:5]), whole


class Soak(unittest.TestCase):
    def check_flat(self, what, memory_mb):
        """The last quarter against the second. Allocators keep some room: a tenth and 8 MB are allowed for that, not more for more plans."""
        quarter = len(memory_mb) // 4
        early, late = statistics.median(memory_mb[quarter:2 * quarter]), statistics.median(memory_mb[-quarter:])
        print(f"{what}: {PLANS} plans, memory {early:.1f} MB in the second quarter, {late:.1f} MB in the last, {max(memory_mb):.1f} MB at most; tenths: "
              + ", ".join(f"{statistics.median(memory_mb[i * len(memory_mb) // 10:(i + 1) * len(memory_mb) // 10]):.0f}" for i in range(10)), flush=True)
        self.assertLess(late, 1.1 * early + 8.0)

    def test_serve(self):
        draw = random.Random(18)
        memory = []
        with tempfile.TemporaryDirectory() as base:
            temp = pathlib.Path(base) / "temp"
            temp.mkdir()
            server = Server(PROGRAM, temp).enter()
            before = None
            for i in range(PLANS):
                content, whole = mesh(draw)
                part = server.post(f"part{i}.stl", content)["id"]
                self.assertEqual(server.set(part, units=["mm"], density=[f"{draw.uniform(8.5, 12.0):.2f}lb/ft3"], scale_readability=["0.1g"])[0], 200)
                if i % 7 == 3:
                    server.ask("POST", f"/api/parts/{part}/stop")  # in the midst of it
                else:
                    state = server.settled(part)
                    self.assertEqual(state["mode"], "done" if whole else "failed", state)
                    if whole:
                        self.assertEqual(server.ask("GET", f"/api/parts/{part}/plan.zip")[0], 200)
                self.assertIn(server.ask("DELETE", f"/api/parts/{part}")[0], (200, 204))
                if i < 2:
                    continue  # threads and pools are made with the first
                end = time.monotonic() + 30
                while time.monotonic() < end:  # the work of a part that was dropped ends by itself
                    now = Held(server.process.pid)
                    before = before or now
                    if now.threads <= before.threads + POOL and now.handles <= before.handles and not children(server.process.pid):
                        break
                    time.sleep(0.05)
                self.assertEqual(children(server.process.pid), [])
                self.assertLessEqual(now.threads, before.threads + POOL)
                self.assertLessEqual(now.handles, before.handles)
                memory.append(now.memory_mb)
            self.assertEqual([path for folder in server.folders() for path in folder.rglob("*part*")], [])
            print(f"serve: {now.handles} handles, {now.threads} threads")
            self.assertEqual(server.end(), 0)
            self.assertEqual(os.listdir(temp), [])
        self.check_flat("serve", memory)

    def test_table(self):
        draw = random.Random(19)
        with tempfile.TemporaryDirectory() as temp:
            base, failed = pathlib.Path(temp), 0
            names = [f"part{i}.stl" for i in range(PLANS)]
            for name in names:
                content, whole = mesh(draw)
                (base / name).write_bytes(content)
                failed += not whole
            before = set(processes())
            program = subprocess.Popen([PROGRAM, "plan", *names, "--units", "mm", "--scale-readability", "0.1g", "--out", "out", "--table"], cwd=base,
                                       stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
            memory, handles, ended = [], [], threading.Event()

            def watch():
                while not ended.wait(0.1):
                    try:
                        now = Held(program.pid)
                    except (OSError, KeyError):
                        return  # it has ended
                    memory.append(now.memory_mb)
                    handles.append(now.handles)

            watcher = threading.Thread(target=watch)
            watcher.start()
            told, complaint = program.communicate()
            ended.set()
            watcher.join()
            self.assertEqual(program.returncode, 3 if failed else 0, complaint)
            self.assertIn(f"rows in it: {PLANS}", told)
            self.assertEqual(sorted(path.name.rsplit("-", 1)[0] + ".stl" for path in (base / "out").iterdir() if path.is_dir()), sorted(names))
            left = [process for process in set(processes()) - before if str(base) in os.path.realpath(f"/proc/{process}/cwd")]
            self.assertEqual(left, [])
            quarter = len(handles) // 4
            print(f"table: {max(handles)} handles at most, {failed} of {PLANS} scans can't be planned")
            # A pipe or two come and go, and are met by chance; one that is left behind for each scan would be many.
            self.assertLessEqual(max(handles[-quarter:]), max(handles[:2 * quarter]) + 2)
        self.check_flat("table", memory)


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v"])
