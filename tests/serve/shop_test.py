#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a shop does on the page of `cavigram serve`: its tally says what the command's says, recent parts stay, and a kill loses nothing.

Usage: shop_test.py PROGRAM [NUMBER_OF_KILLS [TEST]...]
"""
import json
import os
import pathlib
import random
import signal
import sqlite3
import stat
import sys
import threading
import time
import unittest
import urllib.parse

sys.path.insert(0, str(pathlib.Path(__file__).parent))
sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "cli"))
from runner import binary_stl, box, run  # noqa: E402
from server import Case  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
KILLS = int(sys.argv[2]) if len(sys.argv) > 2 else 8
BOX = binary_stl(box(40.0))
Case.program = PROGRAM


class Tally(Case):
    def setUp(self):
        super().setUp()
        self.page_log = str(self.base / "page.db")
        self.typed_log = str(self.base / "typed.db")
        (self.base / "box.stl").write_bytes(BOX)

    def typed(self, command, *words):
        return run(PROGRAM, "tally", command, *words, "--db", self.typed_log, cwd=self.base)

    def words(self, entry):
        return [f"--{name}" if texts == ["true"] else f"--{name}={texts[0]}" for name, texts in entry.items()]

    def add(self, server, part, entry):
        """On the page and by the command; both must say the same."""
        status, _, answer = server.ask("POST", f"/api/tally/castings?part={part}", json.dumps(entry))
        typed = self.typed("add", "box.stl", "--units", "mm", *self.words(entry))
        if status == 201:
            self.assertEqual(typed.returncode, 0, (entry, typed.stderr))
            self.assertEqual(json.loads(answer)["text"], typed.stdout)
        else:
            self.assertEqual(typed.returncode, 2, (entry, answer, typed.stdout))
            self.assertEqual(answer.decode().strip(), typed.stderr.removeprefix("cavigram: ").strip())
        return status

    def test_the_same_castings_refusals_and_doubts_as_the_command(self):
        server = self.start("--tally", self.page_log)
        part = server.post("box.stl", BOX)["id"]
        server.set(part, units=["mm"])
        day = {"date": ["2025-11-01"]}
        self.assertEqual(server.json("GET", "/api/tally")["castings"], [])
        self.assertFalse(os.path.exists(self.page_log), "a look made a log")
        # Statuses by what `tally add` says of them: taken, likely a slip (--yes logs it), impossible.
        self.assertEqual(self.add(server, part, {**day}), 422)  # nothing weighed
        self.assertEqual(self.add(server, part, {**day, "part-mass": ["9g"], "cup": ["10g"]}), 201)
        self.assertEqual(self.add(server, part, {**day, "part-mass": ["9g"], "cup": ["10g"]}), 409)  # twice the same
        self.assertEqual(self.add(server, part, {**day, "part-mass": ["9g"], "cup": ["10g"], "yes": ["true"]}), 201)
        self.assertEqual(self.add(server, part, {**day, "part-mass": ["30g"]}), 409)  # packed too much
        self.assertEqual(self.add(server, part, {**day, "part-mass": ["9kg"]}), 422)
        self.assertEqual(self.add(server, part, {**day, "part-mass": ["20g"], "cup": ["10g"]}), 422)
        self.assertEqual(self.add(server, part, {"date": ["2999-01-01"], "part-mass": ["9g"]}), 422)
        self.assertEqual(self.add(server, part, {**day, "part-mass": ["9 mm"]}), 422)
        self.assertEqual(self.add(server, part, {**day, "part-mass": ["9.4g"], "verdict": ["fine"]}), 422)
        hostile = {**day, "part-mass": ["9.4g"], "mold": ["oak'; drop table castings; --"], "note": ['=1+1,"<script>alert(1)</script>']}
        self.assertEqual(self.add(server, part, hostile), 201)
        self.assertEqual(self.add(server, part, {**day, "part-mass": ["4g"], "verdict": ["short"], "temperature": ["25C"]}), 201)
        listed = server.json("GET", "/api/tally")
        self.assertEqual([c["number"] for c in listed["castings"]], [1, 2, 3, 4])
        self.assertEqual(listed["castings"][3]["temperature_c"], 25)

        def correct(number, entry):
            status, _, answer = server.ask("PUT", f"/api/tally/castings/{number}", json.dumps(entry))
            typed = self.typed("correct", str(number), *self.words(entry))
            if status == 200:
                changed = json.loads(answer)
                self.assertEqual("Was: " + changed["was"]["text"] + "Now: " + changed["now"]["text"], typed.stdout)
            else:
                self.assertNotEqual(typed.returncode, 0)
                self.assertEqual(answer.decode().strip(), typed.stderr.removeprefix("cavigram: ").strip())
            return status

        self.assertEqual(correct(2, {"part-mass": ["9.2g"], "flash": ["0.5g"]}), 200)
        self.assertEqual(correct(2, {"part-mass": ["31g"], "cup": ["33g"]}), 409)
        self.assertEqual(correct(99, {"part-mass": ["9.2g"]}), 422)
        self.assertEqual(correct("x", {"part-mass": ["9.2g"]}), 422)
        self.assertEqual(correct(1, {"foam": ["no-such-card"]}), 422)
        gone = server.json("DELETE", "/api/tally/castings/4")
        self.assertEqual("Removed: " + gone["text"], self.typed("remove", "4").stdout)
        self.assertEqual(server.ask("DELETE", "/api/tally/castings/4")[0], 422)
        # What `undo` takes back is the last one by its number.
        gone = server.json("DELETE", "/api/tally/castings/3")
        self.assertEqual("Taken back: " + gone["text"], self.typed("undo").stdout)
        status, head, exported = server.ask("GET", "/api/tally/castings.csv")
        self.assertEqual(status, 200)
        self.assertIn("castings.csv", head["Content-Disposition"])
        self.assertEqual(exported.decode().replace("\r\n", "\n"), self.typed("export").stdout)
        listed = server.json("GET", "/api/tally")
        self.assertEqual(listed["fits"][0]["text"], self.typed("fit").stdout)
        history = self.typed("list", "--history").stdout
        self.assertIn(listed["history"], history)
        self.assertEqual(listed["history"].count("\n"), 3)  # one corrected, two removed

    def test_only_what_was_weighed_can_be_said(self):
        server = self.start("--tally", self.page_log)
        part = server.post("box.stl", BOX)["id"]
        for name in ("db", "job", "part", "number", "out", "density", "nonsense", "json"):
            entry = json.dumps({name: ["/etc/passwd"], "part-mass": ["9g"]})
            self.assertEqual(server.ask("POST", f"/api/tally/castings?part={part}", entry)[0], 422, name)
        for foam in ("/etc/passwd", "../x.toml", "card.toml"):
            entry = json.dumps({"foam": [foam], "part-mass": ["9g"]})
            status, _, answer = server.ask("POST", f"/api/tally/castings?part={part}", entry)
            self.assertEqual(status, 422, foam)
            self.assertNotIn(b"root:", answer)
        for body in (b"", b"[]", b"{", b'{"part-mass":9}', b"[" * 9000):
            self.assertEqual(server.ask("POST", f"/api/tally/castings?part={part}", body)[0], 422, body[:20])
        self.assertEqual(server.ask("POST", f"/api/tally/castings?part={part}", b" " * 20000)[0], 413)
        self.assertEqual(server.ask("POST", "/api/tally/castings?part=none", b"{}")[0], 404)
        self.assertEqual(server.ask("GET", "/api/tally/x")[0], 404)
        self.assertEqual(server.ask("POST", "/api/tally", b"{}")[0], 405)
        self.assertFalse(os.path.exists(self.page_log))
        # A file that can't be measured is told by its name.
        bad = server.post("noise.stl", b"no mesh")["id"]
        status, _, answer = server.ask("POST", f"/api/tally/castings?part={bad}", json.dumps({"part-mass": ["9g"]}))
        self.assertEqual(status, 422)
        self.assertIn(b"noise.stl", answer)
        self.assertNotIn(str(self.temp).encode(), answer)

    def test_the_chart_names_what_lies_outside(self):
        """Boxes of four sizes by one line, and one that weighs a third more: tests/tally/fit_chart_test.cpp holds the arithmetic."""
        server = self.start("--tally", self.page_log)
        number = 0
        for size in (30.0, 40.0, 55.0, 75.0):
            part = server.post(f"box{size:g}.stl", binary_stl(box(size)))["id"]
            server.set(part, units=["mm"])
            for wobble in (0.99731, 1.00417):
                number += 1
                mass = size ** 3 * 1e-6 * (150.0 + 0.3 * 6.0e3 / size) * wobble * (1.33 if number == 5 else 1.0)
                entry = {"part-mass": [f"{mass:.5f}g"], "yes": ["true"]}
                self.assertEqual(server.ask("POST", f"/api/tally/castings?part={part}", json.dumps(entry))[0], 201)
        chart = server.json("GET", "/api/tally")["fits"][0]["chart"]
        self.assertEqual([p["number"] for p in chart["points"] if p["outside"]], [5])
        self.assertEqual(len(chart["points"]), 8)
        band = chart["band"]
        self.assertLess(band[0]["x_per_m"], min(p["x_per_m"] for p in chart["points"]))
        self.assertGreater(band[-1]["x_per_m"], max(p["x_per_m"] for p in chart["points"]))

    def test_other_pages_hear_of_it(self):
        server = self.start("--tally", self.page_log)
        part = server.post("box.stl", BOX)["id"]
        server.settled(part)
        with server.open() as link:
            link.sendall(server.head("GET", "/api/events"))
            heard = b""
            while b"event: ready" not in heard:
                heard += link.recv(65536)
            server.ask("POST", f"/api/tally/castings?part={part}", json.dumps({"part-mass": ["9g"]}))
            while b"event: tally" not in heard:
                piece = link.recv(65536)
                self.assertNotEqual(piece, b"")
                heard += piece


class Recent(Case):
    def kept(self):
        folder = pathlib.Path(f"{self.temp}_data") / "cavigram" / "recent"
        return folder, sorted(p for p in folder.iterdir() if p.is_dir())

    def until(self, server, count):
        for _ in range(200):
            parts = server.json("GET", "/api/recent")["parts"]
            if len(parts) == count:
                return parts
            time.sleep(0.02)
        raise AssertionError(parts)

    def test_a_part_is_there_again_at_the_next_start_with_what_was_chosen(self):
        server = self.start()
        part = server.post("my \U0001f991.stl", BOX)["id"]
        server.set(part, density=["9lb/ft3"], units=["mm"])
        server.settled(part)
        plan = server.ask("GET", f"/api/parts/{part}/plan.json")[2]
        folder, inside = self.kept()
        self.assertEqual(stat.S_IMODE(folder.stat().st_mode), 0o700)
        self.assertEqual(stat.S_IMODE(inside[0].stat().st_mode), 0o700)
        self.assertEqual({(p.name, stat.S_IMODE(p.stat().st_mode)) for p in inside[0].iterdir()}, {("mesh.stl", 0o600), ("about.json", 0o600)})
        server.json("DELETE", f"/api/parts/{part}")  # closed, not forgotten
        self.assertEqual(server.end(), 0)
        again = self.start()
        self.assertEqual(again.json("GET", "/api/parts"), [])
        recent = self.until(again, 1)[0]
        self.assertEqual((recent["name"], recent["bytes"]), ("my \U0001f991.stl", len(BOX)))
        state = again.json("POST", f"/api/recent/{recent['id']}/open", expect=201)
        self.assertEqual(state["options"], {"density": ["9lb/ft3"], "units": ["mm"]})
        self.assertEqual(again.settled(state["id"])["mode"], "done")
        self.assertEqual(again.ask("GET", f"/api/parts/{state['id']}/plan.json")[2], plan)
        # Open already: the same one.
        self.assertEqual(again.json("POST", f"/api/recent/{recent['id']}/open")["id"], state["id"])
        self.assertEqual(len(again.json("GET", "/api/parts")), 1)
        again.json("DELETE", f"/api/recent/{recent['id']}")
        self.assertEqual(self.kept()[1], [])
        # It is on the bench still.
        self.assertEqual(again.settled(state["id"])["mode"], "done")
        self.assertEqual(again.ask("POST", f"/api/recent/{recent['id']}/open")[0], 404)

    def test_so_many_and_the_oldest_go_first(self):
        server = self.start()
        for number in range(33):
            part = server.post(f"{number}.stl", b"no mesh %d" % number)["id"]
            server.json("DELETE", f"/api/parts/{part}")
        names = [part["name"] for part in self.until(server, 30)]
        self.assertEqual(names, [f"{number}.stl" for number in range(32, 2, -1)])
        server.post("5.stl", b"no mesh 5")  # known again, and used last now
        names = [part["name"] for part in self.until(server, 30)]
        self.assertEqual(names[0], "5.stl")
        server.post("5.stl", b"no mesh 6")  # another of the same name
        self.assertEqual([part["name"] for part in self.until(server, 30)][:2], ["5.stl", "5.stl"])
        (self.kept()[1][0] / "about.json").write_text("{")
        self.assertEqual(len(server.json("GET", "/api/recent")["parts"]), 29)
        server.json("DELETE", "/api/recent")
        self.assertEqual(self.kept()[1], [])

    def test_nothing_stays_where_nothing_shall(self):
        server = self.start("--no-recent")
        server.post("box.stl", BOX)
        self.assertFalse(server.json("GET", "/api/recent")["keeps"])
        self.assertFalse(os.path.exists(f"{self.temp}_data"))
        # A folder that leads elsewhere is none of this program's.
        elsewhere = self.base / "elsewhere"
        elsewhere.mkdir()
        data = pathlib.Path(f"{self.temp}_data") / "cavigram"
        data.mkdir(parents=True)
        (data / "recent").symlink_to(elsewhere)
        other = self.start()
        other.post("box.stl", BOX)
        self.assertFalse(other.json("GET", "/api/recent")["keeps"])
        self.assertEqual(list(elsewhere.iterdir()), [])

    def test_ids_are_no_paths(self):
        server = self.start()
        server.post("box.stl", BOX)
        self.until(server, 1)
        outside = self.base / "outside"
        outside.mkdir()
        (outside / "about.json").write_text('{"name": "x.stl", "used_ms": 1, "options": {}}')
        (outside / "mesh.stl").write_bytes(BOX)
        for name in ("..", "../..", "../../../outside", str(outside), ".", "half-0", "0" * 16, "lock", "%2e%2e"):
            quoted = urllib.parse.quote(name, safe="")
            self.assertIn(server.ask("POST", f"/api/recent/{quoted}/open")[0], (404, 405), name)
            self.assertIn(server.ask("DELETE", f"/api/recent/{quoted}")[0], (200, 405), name)
        self.assertEqual(len(self.until(server, 1)), 1)
        self.assertTrue((outside / "mesh.stl").exists())


class Killed(Case):
    def test_at_any_moment(self):
        """What was answered with 201 is there; what was not is there whole or not at all; nothing temporary outlives the next start."""
        rng = random.Random(50)
        log = str(self.base / "shop.db")
        known = [binary_stl(box(40.0 + number)) for number in range(4)]
        told = set()
        waited = 0
        for number in range(KILLS):
            server = self.start("--tally", log)
            self.assertEqual(server.folders(), [p for p in self.temp.iterdir()], "an ended server's files are left")
            recent = pathlib.Path(server.data) / "cavigram" / "recent"
            self.assertEqual([p.name for p in recent.glob("half-*")], [])
            done = threading.Event()
            answered = threading.Semaphore(0)

            def work():
                try:
                    part = server.post(f"box{number % 4}.stl", known[number % 4])["id"]
                    server.set(part, copies=["2"])
                    count = 0
                    while not done.is_set():
                        note = f"{number}/{count}"
                        entry = {"part-mass": ["9g"], "note": [note], "yes": ["true"]}
                        if server.ask("POST", f"/api/tally/castings?part={part}", json.dumps(entry))[0] == 201:
                            told.add(note)
                            answered.release()
                        if count % 3 == 2:
                            server.ask("PUT", f"/api/tally/castings/{max(1, len(told) // 2)}", json.dumps({"flash": ["0.2g"], "yes": ["true"]}))
                        count += 1
                except (OSError, AssertionError):
                    pass  # it is gone
                except Exception:  # http.client's, of an answer that was cut
                    pass

            def drop():
                try:
                    server.raw(server.head("POST", "/api/parts?name=slow.stl", "Content-Length: 100000000") + known[0] * 200, within=1)
                except OSError:
                    pass

            threads = [threading.Thread(target=work), threading.Thread(target=drop)]
            for thread in threads:
                thread.start()
            # After so many answers, at any moment of what comes next: by answers, so that a slow machine sees the same.
            for _ in range(rng.randrange(4)):
                self.assertTrue(answered.acquire(timeout=60))
                waited += 1
            time.sleep(rng.uniform(0.0, 0.2))
            server.end(signal.SIGKILL)
            done.set()
            for thread in threads:
                thread.join()
            if os.path.exists(log):
                with sqlite3.connect(log) as database:
                    self.assertEqual(database.execute("PRAGMA integrity_check").fetchall(), [("ok",)])
        last = self.start("--tally", log)
        self.assertEqual(last.folders(), [p for p in self.temp.iterdir()])
        notes = [casting["note"] for casting in last.json("GET", "/api/tally")["castings"]]
        self.assertEqual(len(notes), len(set(notes)))
        self.assertGreaterEqual(len(told), max(waited, KILLS // 2))
        self.assertLessEqual(told, set(notes))
        self.assertLessEqual(len(notes) - len(told), KILLS)  # logged, and killed before the answer
        for part in last.json("GET", "/api/recent")["parts"]:
            file = pathlib.Path(last.data) / "cavigram" / "recent" / part["id"] / "mesh.stl"
            self.assertIn(file.read_bytes(), known, part)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[3:])
