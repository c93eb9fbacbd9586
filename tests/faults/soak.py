#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Seeded plans of various small parts and options through one `serve`, and as many calls of `plan`: is memory flat, is anything left behind?

Usage: soak.py PROGRAM [PLANS [OUT.json]]      100, or by hand 1,000. Prints a table; exit status 1 if something grew or was left.
"""
import json
import math
import os
import pathlib
import random
import statistics
import subprocess
import sys
import tempfile
import time

sys.dont_write_bytecode = True
sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))
sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "serve"))
from runner import binary_stl, box  # noqa: E402
from server import POOL, Server  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
PLANS = int(sys.argv[2]) if len(sys.argv) > 2 else 100
TOLD = []
WARM = 5  # threads, pools and caches are made with the first


def ring(steps, around, large, small):
    """A torus: one hole through it."""
    def at(i, j):
        a, b = 2.0 * math.pi * i / steps, 2.0 * math.pi * j / around
        return ((large + small * math.cos(b)) * math.cos(a), (large + small * math.cos(b)) * math.sin(a), small * math.sin(b))
    quads = [(at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)) for i in range(steps) for j in range(around)]
    return [triangle for a, b, c, d in quads for triangle in ((a, b, c), (a, c, d))]


def turned(profile, steps):
    """What a lathe makes of (radius, height) from the foot to the top; both ends on the axis."""
    def at(i, point):
        a = 2.0 * math.pi * (i % steps) / steps
        return (point[0] * math.cos(a), point[0] * math.sin(a), point[1])
    triangles = []
    for low, high in zip(profile, profile[1:]):
        for i in range(steps):
            a, b, c, d = at(i, low), at(i + 1, low), at(i + 1, high), at(i, high)
            triangles += [t for t, is_flat in (((a, b, c), low[0] == 0.0), ((a, c, d), high[0] == 0.0)) if not is_flat]
    return triangles


def mesh(draw):
    """A small part; (bytes, whether it can be planned)."""
    kind, size = draw.randrange(5), draw.uniform(25.0, 45.0)
    if kind == 0:
        triangles = ring(24, 12, size, draw.uniform(8.0, 12.0))
    elif kind == 1:
        triangles = turned([(size * math.sin(math.pi * k / 12) if 0 < k < 12 else 0.0, -size * math.cos(math.pi * k / 12)) for k in range(13)], 24)
    elif kind == 2:
        triangles = turned([(0.0, 0.0), (size, 0.0), (size, 10.0), (10.0, 14.0), (10.0, 50.0), (0.0, 50.0)], 24)  # a hat
    elif kind == 3:
        triangles = box(size)[:5]  # open
    else:
        sides = [draw.uniform(30.0, 60.0) for _ in range(3)]
        triangles = [tuple(tuple(c * side for c, side in zip(corner, sides)) for corner in triangle) for triangle in box(1.0)]
    return binary_stl(triangles), kind != 3


def options(draw):
    """Names and texts of some options."""
    chosen = {"units": "mm", "density": f"{draw.uniform(8.5, 12.0):.2f}lb/ft3"}
    for name, texts in {"up": ["+z", "-y", "1,1,3"], "scale-readability": ["0.1g", "1g"], "copies": ["2"], "temperature": ["18C", "27C"], "mix": ["50:100"]}.items():
        if draw.random() < 0.4:
            chosen[name] = draw.choice(texts)
    return chosen


def children(process):
    found = subprocess.run(["ps", "-o", "pid=", "--ppid", str(process)], capture_output=True, text=True, check=False).stdout.split()
    return [int(child) for child in found]


def held(process):
    """Memory in MB, handles, threads."""
    status = dict(line.split(":", 1) for line in pathlib.Path(f"/proc/{process}/status").read_text().splitlines() if ":" in line)
    return int(status["VmRSS"].split()[0]) / 1000.0, len(os.listdir(f"/proc/{process}/fd")), int(status["Threads"])


def slope(memory_mb):
    """By which it grows from one plan to the next: the median over pairs half of all apart, so that single large parts don't count."""
    half = len(memory_mb) // 2
    return statistics.median((memory_mb[i + half] - memory_mb[i]) / half for i in range(len(memory_mb) - half))


def report(what, memory_mb, handles, threads, left):
    """A row of the table; whether it is as it must be."""
    grows = slope(memory_mb) * 1000.0
    print(f"| {what} | {len(memory_mb)} | {statistics.median(memory_mb):.1f} | {max(memory_mb):.1f} | {grows:+.2f} | {handles} | {threads} | {left or 'nothing'} |", flush=True)
    # A thousand plans may cost a tenth of what it holds, or 10 MB: the allocator's own room.
    most = max(10.0, 0.1 * statistics.median(memory_mb)) * max(1.0, 1000.0 / len(memory_mb))
    TOLD.append({"what": what.replace("`", ""), "plans": len(memory_mb), "growth_mb": grows, "most_mb": most, "left": left})
    return not left and grows < most


def through_serve():
    draw, memory, left = random.Random(18), [], []
    with tempfile.TemporaryDirectory() as base:
        temp = pathlib.Path(base) / "temp"
        temp.mkdir()
        server = Server(PROGRAM, temp).enter()
        before = None
        for i in range(PLANS + WARM):
            content, whole = mesh(draw)
            part = server.post(f"part{i}.stl", content)["id"]
            assert server.set(part, **{name.replace("-", "_"): [text] for name, text in options(draw).items()})[0] == 200
            if i % 7 == 3:
                server.ask("POST", f"/api/parts/{part}/stop")
            else:
                state = server.settled(part)
                assert state["mode"] == ("done" if whole else "failed"), state
                if whole:
                    assert server.ask("GET", f"/api/parts/{part}/plan.zip")[0] == 200
            server.ask("DELETE", f"/api/parts/{part}")
            end = time.monotonic() + 30  # the work of a part that was closed ends by itself
            while time.monotonic() < end:
                now = held(server.process.pid)
                if i < WARM or (now[1] <= before[1] and now[2] <= before[2] + POOL and not children(server.process.pid)):
                    break
                time.sleep(0.02)
            if i < WARM:
                before = now
                continue
            memory.append(now[0])
            if now[1] > before[1] or now[2] > before[2] + POOL or children(server.process.pid):
                left.append(f"plan {i}: {now[1]} handles, {now[2]} threads, children {children(server.process.pid)}")
        left += [f"part of {path.name}" for folder in server.folders() for path in folder.rglob("mesh*")]
        if server.end() != 0 or os.listdir(temp):
            left.append(f"after the end: {os.listdir(temp)}")
    return report("one `serve`", memory, before[1], before[2], "; ".join(left[:3]))


def through_plan():
    draw, memory, left = random.Random(18), [], []
    with tempfile.TemporaryDirectory() as temp:
        base = pathlib.Path(temp)
        (base / "tmp").mkdir()
        environment = {**os.environ, "TMPDIR": str(base / "tmp"), "XDG_DATA_HOME": str(base / "data")}
        handles = len(os.listdir("/proc/self/fd"))
        for i in range(PLANS):
            content, whole = mesh(draw)
            (base / "part.stl").write_bytes(content)
            words = [f"--{name}={text}" for name, text in options(draw).items()]
            process = subprocess.Popen([PROGRAM, "plan", "part.stl", *words, "--out", f"out{i % 3}", "--quiet"], cwd=base, env=environment, stderr=subprocess.DEVNULL)
            _, status, used = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
            if process.returncode not in ((0, 1) if whole else (3,)):
                left.append(f"plan {i}: status {process.returncode}")
            if whole:
                memory.append(used.ru_maxrss / 1000.0)
        hidden = [str(path.relative_to(base)) for path in base.rglob(".*")]
        left += hidden + os.listdir(base / "tmp") + [f"child {child}" for child in children(os.getpid()) if pathlib.Path(f"/proc/{child}/comm").exists()
                                                    and "cavigram" in pathlib.Path(f"/proc/{child}/comm").read_text()]
        if len(os.listdir("/proc/self/fd")) != handles or (base / "data").exists():
            left.append("handles, or data")
    return report("`plan`, a process each (peak of each)", memory, "", "", "; ".join(left[:3]))


def main():
    print("| through | plans | memory, median MB | at most MB | growth, MB in 1,000 plans | handles | threads | left behind |\n|---|---|---|---|---|---|---|---|", flush=True)
    sound = [through_plan(), through_serve()] == [True, True]
    if len(sys.argv) > 3:
        pathlib.Path(sys.argv[3]).write_text(json.dumps({"through": TOLD}) + "\n")
    return 0 if sound else 1


if __name__ == "__main__":
    sys.exit(main())
