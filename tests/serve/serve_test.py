#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`cavigram serve` lets in its own person and nobody else, stays up whatever it is sent, leaves nothing behind, and answers as the command
line does.

Usage: serve_test.py PROGRAM PROJECT_FOLDER [NUMBER_OF_FUZZED_REQUESTS]
"""
import io
import json
import os
import pathlib
import random
import re
import shlex
import signal
import socket
import sys
import threading
import time
import unittest
import zipfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "cli"))
from runner import binary_stl, box, run  # noqa: E402
from server import Case, Server  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
PROJECT = pathlib.Path(sys.argv[2]).resolve()
FUZZED = int(sys.argv[3]) if len(sys.argv) > 3 else 300
BOX = binary_stl(box(40.0))


Case.program = PROGRAM


class WhoIsLetIn(Case):
    def test_only_the_person_with_the_key_at_this_address(self):
        server = self.start()
        other = "http://127.0.0.1:1"
        refused = [
            dict(cookie=""),
            dict(cookie="cavigram=1"),
            dict(cookie=server.cookie[:-1] + ("0" if server.cookie[-1] != "0" else "1")),
            dict(cookie=server.cookie.split("=")[0] + "=" + server.key),  # the key is no cookie
            dict(Host="evil.example"),  # DNS rebinding: the browser believes that this machine is that site
            dict(Host=f"evil.example:{server.port}"),
            dict(Host="127.0.0.1"),
            dict(Host=f"localhost:{server.port}"),
            dict(Origin="http://evil.example"),
            dict(Origin="null"),
            dict(Origin=other),
            dict(Origin=server.origin.replace("http", "https")),
            dict(Sec_Fetch_Site="cross-site"),
            dict(Sec_Fetch_Site="same-site"),
        ]
        for path in ("/", "/page.js", "/api/parts", "/api/events", "/api/table", "/nowhere"):
            for fields in refused:
                status, _, body = server.ask("GET", path, **fields)
                self.assertEqual(status, 403, (path, fields, body))
        for fields in [*refused, dict(Origin=None)]:
            status, _, body = server.ask("POST", "/api/parts?name=a.stl", BOX, **fields)
            self.assertEqual(status, 403, (fields, body))
        self.assertEqual(server.json("GET", "/api/parts"), [])
        self.assertEqual(server.ask("GET", "/", Sec_Fetch_Site="none")[0], 200)
        for key in ("", "0" * 32, server.key[:-1], server.key + "0", server.key.upper() + " "):
            self.assertEqual(server.ask("GET", f"/?key={key.strip() or 'x'}" if key != server.key.upper() + " " else "/?key=", cookie="")[0], 403)
        # Two heads' worth of one field are no way around.
        twice = f"GET /api/parts HTTP/1.1\r\nHost: {server.host}\r\nHost: evil.example\r\nCookie: {server.cookie}\r\n\r\n".encode()
        self.assertIn(b" 403 ", server.raw(twice).split(b"\r\n")[0])

    def test_the_cookie_stays_with_the_browser(self):
        """RFC 6265bis: HttpOnly, SameSite=Strict; another 128 bits than the key."""
        server = self.start()
        parts = [part.strip() for part in server.set_cookie.split(";")]
        self.assertEqual(parts[1:], ["HttpOnly", "SameSite=Strict", "Path=/"])
        self.assertRegex(parts[0], rf"^cavigram_{server.port}=[0-9a-f]{{32}}$")
        self.assertNotIn(server.key, parts[0])
        other = self.start()
        self.assertNotEqual(server.key, other.key)
        self.assertNotEqual(server.cookie.split("=")[1], other.cookie.split("=")[1])

    def test_no_script_but_the_page_s_own(self):
        server = self.start()
        status, head, page = server.ask("GET", "/")
        self.assertEqual(status, 200)
        policy = dict(one.strip().split(" ", 1) for one in head["Content-Security-Policy"].split(";"))
        self.assertEqual(policy["default-src"], "'none'")
        self.assertEqual(policy["script-src"], "'self'")
        self.assertEqual(policy["style-src"], "'self'")
        self.assertEqual(policy["connect-src"], "'self'")
        self.assertEqual(policy["frame-ancestors"], "'none'")
        self.assertNotRegex(head["Content-Security-Policy"], r"unsafe|https?:|\*")
        for script in re.findall(rb"<script[^>]*>", page):
            self.assertIn(b"src=", script)
        self.assertNotRegex(page, rb"\son[a-z]+=|\sstyle=|<style")
        for path in ("/", "/page.js", "/page.css", "/api/table", "/nowhere"):
            head = server.ask("GET", path)[1]
            self.assertEqual(head["X-Content-Type-Options"], "nosniff", path)
            self.assertEqual(head["Referrer-Policy"], "no-referrer", path)
            self.assertEqual(head["Cache-Control"], "no-store", path)
            self.assertIn("frame-ancestors 'none'", head["Content-Security-Policy"], path)

    def test_it_listens_on_this_machine_only(self):
        server = self.start()
        listening = []
        for table in ("/proc/net/tcp", "/proc/net/tcp6"):
            if not os.path.exists(table):
                continue
            for line in pathlib.Path(table).read_text().splitlines()[1:]:
                address, port = line.split()[1].split(":")
                if int(port, 16) == server.port and line.split()[3] == "0A":
                    listening.append(address)
        self.assertEqual(listening, ["0100007F"])  # 127.0.0.1, as the kernel writes it

    def test_a_port_that_is_taken_is_told(self):
        server = self.start()
        result = run(PROGRAM, "serve", "--no-browser", "--port", str(server.port), cwd=self.base)
        self.assertEqual(result.returncode, 3)
        self.assertIn(str(server.port), result.stderr)
        self.assertEqual(len(result.stderr.splitlines()), 1)


class WhateverItIsSent(Case):
    def alive(self, server):
        self.assertEqual(server.process.poll(), None)
        self.assertIn("options", server.json("GET", "/api/table"))

    def test_too_much(self):
        server = self.start()
        self.assertIn(b" 431 ", server.raw(server.head("GET", "/", "X: " + "y" * 20000)).split(b"\r\n")[0])
        self.assertIn(b" 431 ", server.raw(server.head("GET", "/", *[f"X-{i}: {i}" for i in range(3000)])).split(b"\r\n")[0])
        part = server.post("box.stl", BOX)["id"]
        change = f"/api/parts/{part}/options"
        self.assertEqual(server.ask("PUT", change, b" " * 65537)[0], 413)
        chunks = b"".join(b"1000\r\n" + b" " * 4096 + b"\r\n" for _ in range(20))
        self.assertIn(b" 413 ", server.raw(server.head("PUT", change, "Transfer-Encoding: chunked") + chunks).split(b"\r\n")[0])
        upload = server.head("POST", "/api/parts?name=a.stl", f"Content-Length: {(1 << 30) + 1}")
        self.assertIn(b" 413 ", server.raw(upload + b"x" * 1000).split(b"\r\n")[0])
        self.assertEqual(len(server.json("GET", "/api/parts")), 1)
        self.alive(server)

    def test_malformed(self):
        server = self.start()
        for data in (b"\r\n\r\n\r\n", b"hello\r\n\r\n", b"GET\r\n\r\n", b"GET / HTTP/9.9\r\n\r\n", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03", b"\0" * 5000,
                     server.head("GET", "nowhere"), server.head("GET", "/%zz"), server.head("GET", "/%0d%0a"), server.head("GET", "/%"),
                     server.head("POST", "/api/parts?name=a.stl", "Content-Length: -5"),
                     server.head("POST", "/api/parts?name=a.stl", "Content-Length: 5", "Content-Length: 6") + b"hello",
                     server.head("POST", "/api/parts?name=a.stl", "Transfer-Encoding: chunked") + b"zz\r\nhello\r\n"):
            first = server.raw(data).split(b"\r\n")[0]
            self.assertRegex(first, rb"^HTTP/1.1 (400|403) |^$", data)
        self.assertEqual(server.json("GET", "/api/parts"), [])
        self.assertEqual([p.name for p in server.folders()[0].iterdir()], ["lock"])
        for method in ("HEAD", "OPTIONS", "TRACE", "PATCH", "CONNECT", "BREW"):
            for path in ("/", "/api/parts", "/api/table", "/api/events", "/api/parts/1/plan.json"):
                self.assertRegex(server.raw(server.head(method, path)).split(b"\r\n")[0], rb" (40[0-9]) ", (method, path))
        self.alive(server)

    def test_what_stands_behind_a_refused_body_is_no_request(self):
        """Request smuggling: the body of a refused request must not be read as the next one."""
        server = self.start()
        inner = server.head("POST", "/api/parts?name=inner.stl", "Content-Length: 3") + b"abc"
        outer = server.head("GET", "/nowhere", f"Content-Length: {len(inner)}")
        self.assertEqual(server.raw(outer + inner).count(b"HTTP/1.1 "), 1)
        self.assertEqual(server.json("GET", "/api/parts"), [])

    def test_cut_uploads_leave_nothing(self):
        server = self.start()
        for upload in (server.head("POST", "/api/parts?name=a.stl", "Content-Length: 100000") + b"x" * 70000,
                       server.head("POST", "/api/parts?name=a.stl", "Transfer-Encoding: chunked") + b"5\r\nhello\r\n"):
            server.raw(upload)
        until = time.monotonic() + 20
        while time.monotonic() < until and len(list(server.folders()[0].iterdir())) > 1:
            time.sleep(0.05)
        self.assertEqual([p.name for p in server.folders()[0].iterdir()], ["lock"])
        self.assertEqual(server.json("GET", "/api/parts"), [])

    def test_names_are_no_paths(self):
        server = self.start()
        names = ["../../etc/passwd", "/tmp/absolute.stl", "..", ".", "", "a/../../b.stl", "C:\\x\\y.stl", "nul\0byte.stl", "line\r\nbreak.stl",
                 "%2e%2e%2fx.stl", "\U0001f991.stl", "x" * 5000 + ".stl", "-rf.stl", "it's; rm -rf $HOME.stl", "<script>.stl", "bad\udcff.stl"]
        for name in names:
            quoted = "".join(f"%{byte:02x}" for byte in name.encode("utf-8", "surrogateescape"))
            status, _, answer = server.ask("POST", f"/api/parts?name={quoted}", BOX)
            if any(ord(c) < 32 for c in name):
                self.assertEqual(status, 400, name)
                continue
            self.assertEqual(status, 201, (name, answer))
            shown = json.loads(answer)["name"]
            self.assertNotRegex(shown, r"[/\\\x00-\x1f]|^\.\.?$|^$", name)
            self.assertLessEqual(len(shown.encode()), 200)
        inside = server.folders()[0]
        for path in inside.rglob("*"):
            self.assertRegex(str(path.relative_to(inside)), r"^(lock|[0-9a-f]{16}(/mesh(\.[a-z0-9]{1,5})?)?)$")
        self.assertEqual([p.name for p in self.temp.iterdir()], [inside.name])

    def test_slow_ones_hold_up_nobody(self):
        """40 clients that drip, 40 that listen to events, 50 requests at once; those that drip are let go by their deadline."""
        server = self.start()
        part = server.post("box.stl", BOX)["id"]
        drips = [server.open() for _ in range(40)]
        streams = [server.open() for _ in range(40)]
        for link in streams:
            link.sendall(server.head("GET", "/api/events"))
        ending = threading.Event()

        def drip(link, data):
            try:
                for byte in data:
                    if ending.wait(0.5):
                        return
                    link.sendall(bytes([byte]))
            except OSError:
                pass

        threads = [threading.Thread(target=drip, args=(link, server.head("GET", "/", "X: " + "y" * 500))) for link in drips]
        for thread in threads:
            thread.start()
        answers = []
        asking = [threading.Thread(target=lambda: answers.append(server.ask("GET", "/page.js")[0])) for _ in range(50)]
        for thread in asking:
            thread.start()
        for thread in asking:
            thread.join()
        self.assertEqual(answers, [200] * 50)
        for link in streams:
            heard = b""
            while b"event: ready" not in heard:
                piece = link.recv(65536)
                self.assertNotEqual(piece, b"", heard[-300:])
                heard += piece
            self.assertIn(part.encode(), heard)

        def all_hear(copies):
            server.set(part, copies=[copies])
            for link in streams:
                heard = b""
                while f'"copies":["{copies}"]'.encode() not in heard:
                    piece = link.recv(65536)
                    self.assertNotEqual(piece, b"", heard[-300:])
                    heard += piece

        all_hear("3")
        for link in drips:  # the head's deadline is 10 s; the socket's own is 60 s
            link.settimeout(60)
            try:
                self.assertEqual(link.recv(1000), b"")
            except ConnectionResetError:
                pass
        all_hear("4")  # whoever listens may be silent for longer than any deadline
        ending.set()
        for thread in threads:
            thread.join()
        for link in drips + streams:
            link.close()
        self.alive(server)

    def test_fuzzed(self):
        server = self.start("--tally", str(self.base / "shop.db"))
        part = server.post("box.stl", BOX)["id"]
        recent = server.json("GET", "/api/recent")["parts"][0]["id"]
        rng = random.Random(17)
        seeds = [
            server.head("GET", "/"), server.head("GET", "/api/events"), server.head("GET", f"/api/parts/{part}/plan.zip"),
            server.head("PUT", f"/api/parts/{part}/options", "Content-Length: 16") + b'{"copies":["2"]}',
            server.head("PUT", f"/api/parts/{part}/options", "Transfer-Encoding: chunked") + b'8\r\n{"copies\r\n8\r\n":["2"]}\r\n0\r\n\r\n',
            server.head("POST", "/api/parts?name=a.stl", f"Content-Length: {len(BOX)}", "Expect: 100-continue") + BOX,
            server.head("POST", f"/api/tally/castings?part={part}", "Content-Length: 34") + b'{"part-mass":["9g"],"mold":["oak"]}',
            server.head("PUT", "/api/tally/castings/1", "Transfer-Encoding: chunked") + b'8\r\n{"note":\r\n7\r\n["dry"]\r\n1\r\n}\r\n0\r\n\r\n',
            server.head("POST", f"/api/recent/{recent}/open", "Content-Length: 0") + server.head("GET", "/api/tally"),
            server.head("GET", f"/api/parts/{part}/faults.svg?from=side") + server.head("DELETE", "/api/tally/castings/1"),
            server.head("POST", f"/api/parts/{part}/stop", "Content-Length: 0") + server.head("POST", f"/api/parts/{part}/again", "Content-Length: 0"),
        ]
        for number in range(FUZZED):
            data = bytearray(rng.choice(seeds))
            for _ in range(rng.randint(1, 8)):
                at = rng.randrange(len(data) + 1)
                kind = rng.randrange(5)
                if kind == 0 and at < len(data):
                    data[at] ^= 1 << rng.randrange(8)
                elif kind == 1:
                    del data[at:at + rng.randint(1, 30)]
                elif kind == 2:
                    data[at:at] = rng.randbytes(rng.randint(1, 30))
                elif kind == 3:
                    data[at:at] = rng.choice([b"\r\n", b"\r\n\r\n", b"0\r\n\r\n", b"%00", b"..", b"\0", b": ", b"99999999999999999999"])
                else:
                    del data[at:]
            with server.open() as link:
                link.settimeout(0.02 if number % 10 else 2)
                try:
                    link.sendall(data)
                    link.shutdown(socket.SHUT_WR)
                    link.recv(65536)
                except OSError:
                    pass
            for one in server.json("GET", "/api/parts") if number % 50 == 49 else []:
                if one["id"] != part:
                    server.ask("DELETE", f"/api/parts/{one['id']}")
        self.alive(server)


class WhatItLeaves(Case):
    def test_nothing(self):
        server = self.start()
        folder = server.folders()[0]
        self.assertEqual(folder.stat().st_mode & 0o777, 0o700)
        part = server.post("box.stl", BOX)["id"]
        self.assertEqual((folder / part / "mesh.stl").read_bytes(), BOX)
        self.assertEqual((folder / part / "mesh.stl").stat().st_mode & 0o777, 0o600)
        server.ask("DELETE", f"/api/parts/{part}")
        self.assertFalse((folder / part).exists())
        server.post("box.stl", BOX)
        self.assertEqual(server.end(), 0)  # an asked-for end
        self.assertEqual(list(self.temp.iterdir()), [])

    def test_nothing_after_the_next_start_where_it_was_killed(self):
        rng = random.Random(17)
        living = self.start()
        for _ in range(6):
            server = self.start()
            server.post("box.stl", BOX)
            time.sleep(rng.uniform(0, 0.3))
            server.end(signal.SIGKILL)
        left = set(living.folders())
        self.assertEqual(len(left), 2)  # the last killed one's; each start has removed the one before
        (self.temp / "cavigram-serve-mine").symlink_to(self.base)  # not ours to remove, nor what it leads to
        after = self.start()
        self.assertEqual({p.name for p in self.temp.iterdir()},
                         {living.folders()[0].name, after.folders()[-1].name, *[p.name for p in living.folders()]})
        self.assertTrue((self.temp / "cavigram-serve-mine").is_symlink())
        self.assertEqual(len([p for p in living.folders() if not p.is_symlink()]), 2)
        self.assertEqual(living.json("GET", "/api/parts"), [])
        living.post("box.stl", BOX)  # its folder is still there

    def test_ends_at_once_in_the_middle_of_work(self):
        server = self.start()
        server.post("figurehead.obj", (PROJECT / "sample_meshes" / "figurehead_scan.obj").read_bytes())
        time.sleep(0.2)
        self.assertEqual(server.end(signal.SIGTERM), 0)
        self.assertEqual(list(self.temp.iterdir()), [])


class SameAsTheCommandLine(Case):
    def same(self, server, options, name="box.stl", content=BOX):
        """plan.json of page, command line and job file, byte for byte, and the folder's files."""
        part = server.post(name, content)["id"]
        status, _, answer = server.ask("PUT", f"/api/parts/{part}/options", json.dumps(options))
        self.assertEqual(status, 200, (options, answer))
        state = server.settled(part)
        self.assertEqual(state["mode"], "done", state)
        page = server.ask("GET", f"/api/parts/{part}/plan.json")[2]
        folder = self.base / part
        folder.mkdir()
        (folder / name).write_bytes(content)
        words = shlex.split(server.ask("GET", f"/api/parts/{part}/command.txt")[2].decode())
        self.assertEqual(words[:2], ["cavigram", "plan"])
        result = run(PROGRAM, *words[1:], "--out", "out", "--quiet", cwd=folder)
        self.assertIn(result.returncode, (0, 1), result.stderr)
        self.assertEqual((folder / "out" / "plan.json").read_bytes(), page, options)
        (folder / "job.toml").write_bytes(server.ask("GET", f"/api/parts/{part}/job.toml")[2])
        result = run(PROGRAM, "plan", "--job", "job.toml", "--out", "by_job", "--quiet", cwd=folder)
        self.assertIn(result.returncode, (0, 1), result.stderr)
        self.assertEqual((folder / "by_job" / "plan.json").read_bytes(), page, options)
        archive = zipfile.ZipFile(io.BytesIO(server.ask("GET", f"/api/parts/{part}/plan.zip")[2]))
        self.assertEqual(archive.testzip(), None)
        self.assertEqual(sorted(archive.namelist()), sorted([p.name for p in (folder / "out").iterdir()] + ["job.toml"]))
        for file in (folder / "out").iterdir():
            self.assertEqual(archive.read(file.name), file.read_bytes(), file.name)
        self.assertEqual(archive.read("job.toml"), (folder / "job.toml").read_bytes())
        return part

    def test_for_several_sets_of_options(self):
        server = self.start()
        self.same(server, {"units": ["mm"], "density": ["9lb/ft3"], "copies": ["3"], "pigment": ["3%"]}, name="it's a box.stl")
        self.same(server, {"longest": ["100mm"], "up": ["-z"], "vent": ["50,50,0", "1in,1in,0mm"], "first-units": ["us"]})
        self.same(server, {"units": ["cm"], "scale": ["0.5"], "show": ["-y"], "partial": ["true"], "temperature": ["18C"]}, name="-box.stl")

    def test_with_the_shop_s_own_castings(self):
        log = str(self.base / "shop.db")
        (self.base / "box.stl").write_bytes(BOX)
        for mass in ("9.5g", "9.7g", "9.9g", "9.6g"):
            added = run(PROGRAM, "tally", "add", "box.stl", "--units", "mm", "--part-mass", mass, "--db", log, cwd=self.base)
            self.assertEqual(added.returncode, 0, added.stderr)
        server = self.start("--tally", log)
        part = server.post("box.stl", BOX)["id"]
        server.set(part, units=["mm"])
        server.settled(part)
        plain = server.ask("GET", f"/api/parts/{part}/plan.json")[2]
        self.assertEqual(server.set(part, from_tally=["true"])[0], 200)
        self.assertEqual(server.settled(part)["mode"], "done")
        ours = server.ask("GET", f"/api/parts/{part}/plan.json")[2]
        self.assertNotEqual(ours, plain)
        words = shlex.split(server.ask("GET", f"/api/parts/{part}/command.txt")[2].decode())
        self.assertIn(log, words)
        result = run(PROGRAM, *words[1:], "--out", "out", "--quiet", cwd=self.base)
        self.assertIn(result.returncode, (0, 1), result.stderr)
        self.assertEqual((self.base / "out" / "plan.json").read_bytes(), ours)

    def test_for_parts_from_one_cup(self):
        server = self.start()
        small = server.post("small.stl", binary_stl(box(20.0)))["id"]
        part = server.post("box.stl", BOX)["id"]
        self.assertEqual(server.set(part, also=[small])[0], 200)
        self.assertEqual(server.settled(part)["mode"], "done")
        (self.base / "box.stl").write_bytes(BOX)
        (self.base / "small.stl").write_bytes(binary_stl(box(20.0)))
        words = shlex.split(server.ask("GET", f"/api/parts/{part}/command.txt")[2].decode())
        result = run(PROGRAM, *words[1:], "--out", "out", "--quiet", cwd=self.base)
        self.assertIn(result.returncode, (0, 1), result.stderr)
        self.assertEqual((self.base / "out" / "plan.json").read_bytes(), server.ask("GET", f"/api/parts/{part}/plan.json")[2])
        self.assertEqual(server.ask("DELETE", f"/api/parts/{small}")[0], 409)
        self.assertEqual(server.set(part, also=[part])[0], 422)
        self.assertEqual(server.set(part, also=["/etc/passwd"])[0], 422)


class Options(Case):
    def test_what_the_table_offers_is_taken_and_what_it_is_not_is_refused(self):
        server = self.start()
        table = {row["name"]: row for row in server.json("GET", "/api/table")["options"]}
        of_program = {row["name"]: row for row in json.loads(run(PROGRAM, "--list-options", "json").stdout)["options"]}
        hidden = {"job", "json", "table", "out", "db", "quiet", "threads", "progress", "detail"}
        self.assertEqual(set(table), {name for name, row in of_program.items() if "plan" in row["commands"] and not row["positional"]} - hidden)
        part = server.post("box.stl", BOX)["id"]
        for name, row in table.items():
            self.assertEqual({key: row[key] for key in ("help", "takes", "group")}, {key: of_program[name][key] for key in ("help", "takes", "group")})
            for word in row["words"]:
                status, _, answer = server.set(part, **{name: [word]})
                self.assertEqual(status, 200, (name, word, answer))
                self.assertEqual(server.json("GET", f"/api/parts/{part}")["options"], {name: [word]})
            # Its example is taken, or is refused for want of another option.
            if name not in ("also",):
                status, _, answer = server.set(part, **{name: ["true" if row["flag"] else row["example"]]})
                self.assertIn(status, (200, 422), (name, answer))
            before = server.json("GET", f"/api/parts/{part}")["options"]
            status, _, answer = server.set(part, **{name: ["no such value"]})
            # A name of a card is looked for when it is used.
            if name not in ("foam", "rubber-card"):
                self.assertEqual(status, 422, (name, answer))
                self.assertEqual(answer.decode().count("\n"), 1)
                self.assertEqual(server.json("GET", f"/api/parts/{part}")["options"], before)
            self.assertEqual(server.set(part, **{name: None})[0], 200)
            self.assertEqual(server.json("GET", f"/api/parts/{part}")["options"], {})
        for name in [*hidden, "part", "nonsense", "tally", "port"]:
            change = json.dumps({name: ["/etc/passwd"]})
            self.assertEqual(server.ask("PUT", f"/api/parts/{part}/options", change)[0], 422, name)
        for name in ("foam", "rubber-card"):
            for path in ("/etc/passwd", "../x.toml", "card.toml", "./x"):
                self.assertEqual(server.set(part, **{name: [path]})[0], 422, path)
        for body in (b"", b"[]", b"{", b'{"copies":3}', b'{"copies":[3]}', b'{"copies":["2","3"]}', b'{"copies":{"a":1}}', b"[" * 50000, b"\xff\xfe"):
            self.assertEqual(server.ask("PUT", f"/api/parts/{part}/options", body)[0], 422, body[:20])

    def test_what_can_t_be_read_is_told_by_the_file_s_name(self):
        server = self.start()
        for name, content in (("empty.stl", b""), ("words.obj", b"hello"), ("noise.glb", bytes(range(256)) * 40)):
            state = server.settled(server.post(name, content)["id"])
            self.assertEqual(state["mode"], "failed", name)
            self.assertIn(name, state["error"])
            self.assertNotIn(str(self.temp), state["error"])
            self.assertNotIn("mesh.", state["error"])
        tiny = server.settled(server.post("tiny.stl", binary_stl(box(0.01)))["id"])
        self.assertIn("tiny.stl", tiny["error"])

    def test_an_unlikely_size_is_asked_about_before_anything_is_planned(self):
        server = self.start()
        part = server.post("small.stl", binary_stl(box(4.0)))["id"]
        state = server.settled(part)
        self.assertEqual((state["mode"], [step["state"] for step in state["steps"]]), ("stopped", ["done", "waiting", "waiting"]))
        self.assertIn("4.00 mm", state["error"])
        server.json("POST", f"/api/parts/{part}/again")
        self.assertEqual(server.settled(part)["mode"], "done")
        other = server.post("small.stl", binary_stl(box(4.0)))["id"]
        server.settled(other)
        server.set(other, units=["cm"])
        self.assertEqual(server.settled(other)["mode"], "done")

    def test_stop_and_go_on(self):
        server = self.start()
        part = server.post("cleat.stl", (PROJECT / "sample_meshes" / "mooring_cleat.stl").read_bytes())["id"]
        state = server.json("POST", f"/api/parts/{part}/stop")
        self.assertEqual(state["mode"], "stopped")
        self.assertEqual(server.ask("GET", f"/api/parts/{part}/plan.json")[0], 409)
        self.assertEqual(server.set(part, cells=["1000"])[0], 200)  # a change goes on by itself
        server.json("POST", f"/api/parts/{part}/stop")
        server.json("POST", f"/api/parts/{part}/again")
        state = server.settled(part)
        self.assertEqual([step["state"] for step in state["steps"]], ["done"] * 3)
        self.assertEqual(server.ask("GET", f"/api/parts/{part}/plan.json")[0], 200)
        status, head, sheet = server.ask("GET", f"/api/parts/{part}/sheet.html")
        self.assertEqual(status, 200)
        self.assertIn("frame-ancestors 'self'", head["Content-Security-Policy"])
        self.assertIn("default-src 'none'", head["Content-Security-Policy"])
        self.assertIn(b"cleat.stl", sheet)

    def test_so_many_parts_and_no_more(self):
        server = self.start()
        bad = b"no mesh"
        for number in range(40):
            server.post(f"{number}.stl", bad)
        self.assertEqual(server.ask("POST", "/api/parts?name=a.stl", bad)[0], 409)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
