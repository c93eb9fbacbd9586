# SPDX-License-Identifier: GPL-3.0-or-later
"""Starts `cavigram serve` for a test and talks to it, politely or not."""
import http.client
import json
import os
import pathlib
import re
import signal
import socket
import subprocess
import sys
import tempfile
import time
import unittest
import urllib.parse

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))
from runner import SLOWER  # noqa: E402

# oneTBB makes its workers as they are wanted: another one when the last has not yet gone to sleep, and keeps it. Seen once in 1,000 plans,
# after 13 minutes; so a pool may come to hold as many again, and a thread that each part leaves behind still shows.
POOL = os.cpu_count()
STARTED = re.compile(r"http://127\.0\.0\.1:(\d+)/\?key=([0-9a-f]{32})")


class Server:
    """A running server, its temporary files in `temp`."""

    def __init__(self, program, temp, *arguments):
        self.temp = pathlib.Path(temp)
        self.data = f"{temp}_data"  # beside it; one for all servers of a test
        self.process = subprocess.Popen([program, "serve", "--no-browser", *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                                        text=True, env={**os.environ, "TMPDIR": str(temp), "XDG_DATA_HOME": self.data})
        self.said = self.process.stdout.readline()
        found = STARTED.search(self.said)
        if not found:
            raise AssertionError(f"no address: {self.said!r} {self.process.stderr.read()!r}")
        self.port, self.key = int(found[1]), found[2]
        self.host = f"127.0.0.1:{self.port}"
        self.origin = f"http://{self.host}"
        self.cookie = None

    def enter(self):
        """As a browser does by the printed address."""
        status, head, _ = self.ask("GET", f"/?key={self.key}", cookie="")
        assert status == 303 and head["Location"] == "/", (status, head)
        self.set_cookie = head["Set-Cookie"]
        self.cookie = self.set_cookie.split(";")[0]
        return self

    def ask(self, method, path, body=None, cookie=None, **fields):
        """Status, head, body. Fields by names with _ for -; None leaves one out."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60 * SLOWER)
        head = {"Host": self.host, "Cookie": self.cookie if cookie is None else cookie}
        if method != "GET":
            head["Origin"] = self.origin
        head.update({name.replace("_", "-"): value for name, value in fields.items()})
        try:
            connection.request(method, path, body=body, headers={name: value for name, value in head.items() if value})
            answer = connection.getresponse()
            return answer.status, dict(answer.getheaders()), answer.read()
        finally:
            connection.close()

    def json(self, method, path, body=None, expect=200):
        status, _, answer = self.ask(method, path, None if body is None else json.dumps(body))
        assert status == expect, (method, path, status, answer[:400])
        return json.loads(answer)

    def post(self, name, content):
        status, _, answer = self.ask("POST", "/api/parts?name=" + urllib.parse.quote(name, safe=""), content)
        assert status == 201, (status, answer)
        return json.loads(answer)

    def set(self, part, **options):
        return self.ask("PUT", f"/api/parts/{part}/options", json.dumps({name.replace("_", "-"): value for name, value in options.items()}))

    def settled(self, part, within=120):
        """The part's state once its work has come to an end."""
        until = time.monotonic() + within * SLOWER
        while time.monotonic() < until:
            state = self.json("GET", f"/api/parts/{part}")
            if state["mode"] != "working":
                return state
            time.sleep(0.05)
        raise AssertionError(f"still working: {state}")

    def open(self):
        link = socket.create_connection(("127.0.0.1", self.port), timeout=60)
        link.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        return link

    def head(self, method, path, *fields):
        """A request's head as it goes over the wire, let in."""
        lines = [f"{method} {path} HTTP/1.1", f"Host: {self.host}", f"Cookie: {self.cookie}", f"Origin: {self.origin}", *fields]
        return ("\r\n".join(lines) + "\r\n\r\n").encode()

    def raw(self, data, within=30):
        """All that comes back for these bytes until the server closes or is silent."""
        with self.open() as link:
            link.settimeout(within)
            try:
                link.sendall(data)
                link.shutdown(socket.SHUT_WR)
            except OSError:
                pass  # refused before all was said
            answer = b""
            try:
                while piece := link.recv(65536):
                    answer += piece
            except OSError:
                pass
            return answer

    def folders(self):
        return sorted(self.temp.glob("cavigram-serve-*"))

    def end(self, how=signal.SIGINT):
        if self.process.poll() is None:
            self.process.send_signal(how)
        status = self.process.wait(timeout=30 * SLOWER)
        self.process.stdout.close()
        self.process.stderr.close()
        return status


class Case(unittest.TestCase):
    """A folder of its own for each test, and servers that end with it."""
    maxDiff = None
    program = ""

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.base = pathlib.Path(self.folder.name)
        self.temp = self.base / "temp"
        self.temp.mkdir()
        self.servers = []

    def tearDown(self):
        for server in self.servers:
            if server.process.poll() is None:
                self.assertEqual(server.end(), 0)
        self.folder.cleanup()

    def start(self, *arguments):
        self.servers.append(Server(self.program, self.temp, *arguments))
        return self.servers[-1].enter()
