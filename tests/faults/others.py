# SPDX-License-Identifier: GPL-3.0-or-later
"""A clock that was set back; two programs on one folder."""
import json
import pathlib
import shutil
import subprocess
import time

from disks import tally_rows
from ground import NEW, OLD, PART, Row, add, binary_stl, box, joined, state_of
from server import Server


def clock(ground):
    if not shutil.which("faketime"):
        return [Row("clock set back", "`tally`, `serve`, `plan`", 0, "", "", [], "faketime is not installed")]
    back = ["faketime", "-f", "2010-01-01 00:00:00"]
    folder, faults, seen = ground.folder(), [], {}
    call = ["tally", "add", *PART, "--part-mass", "9.2g", "--db", "log.db"]
    assert ground.run(*call, cwd=folder).returncode == 0
    call[call.index("9.2g")] = "9.3g"
    result = ground.run(*call, cwd=folder, before=back)
    today = time.strftime("%Y-%m-%d")
    add(seen, ground.sentence(result, folder, 2, faults).replace(today, "2026-01-31"))
    if tally_rows(folder / "log.db") != 1:
        faults.append("it was logged")
    if ground.run(*call, "--date", "2009-12-24", cwd=folder, before=back).returncode != 0 or ground.run(*call, "--yes", cwd=folder, before=back).returncode != 0:
        faults.append("a day that is given, or --yes, is not taken")
    result = ground.run("tally", "correct", "1", "--flash", "0.2g", "--db", "log.db", cwd=folder, before=back)
    add(seen, "`correct`: " + ground.sentence(result, folder, 2, faults).replace(today, "2026-01-31"))
    if ground.run("tally", "list", "--db", "log.db", cwd=folder, before=back).returncode != 0 or tally_rows(folder / "log.db") != 3:
        faults.append("the log")
    rows = [Row("clock set back 16 years", "`tally add`, `correct`, `list`", 5, joined(seen), "nothing logged until the day is given or confirmed", faults)]
    faults = []
    old, new = ground.plan_bytes(OLD, folder), ground.plan_bytes(NEW, folder)
    assert ground.run("plan", *PART, *OLD, "--out", "out", cwd=folder).returncode == 0
    if ground.run("plan", *PART, *NEW, "--out", "out", cwd=folder, before=back).returncode != 0 or state_of(folder / "out", old, new)[0] != "new":
        faults.append("the plan is another")
    rows.append(Row("clock set back 16 years", "`plan` over an earlier plan", 1, "nothing, 0", "the same bytes", faults))
    rows.append(clock_serve(ground))
    return rows


def clock_serve(ground):
    """Recent parts: the last one used stays first, and is not the next to go."""
    folder, faults = ground.folder(), []
    temp = folder / "temp"
    temp.mkdir()
    server = Server(ground.program, temp).enter()
    for number in range(30):
        server.json("DELETE", f"/api/parts/{server.post(f'{number}.stl', b'no mesh %d' % number)['id']}")
    server.end()
    back = folder / "back"
    back.write_text(f"#!/bin/sh\nexec faketime -f '2010-01-01 00:00:00' {ground.program} \"$@\"\n")
    back.chmod(0o755)
    server = Server(str(back), temp).enter()
    try:
        for number in (30, 31):
            server.json("DELETE", f"/api/parts/{server.post(f'{number}.stl', b'no mesh %d' % number)['id']}")
            time.sleep(0.3)
        names = [part["name"] for part in server.json("GET", "/api/recent")["parts"]]
        if names != [f"{number}.stl" for number in range(31, 1, -1)]:
            faults.append(f"recent: {names[:3]} ... {names[-2:]}")
    finally:
        # faketime is the process's own parent here.
        for child in subprocess.run(["ps", "-o", "pid=", "--ppid", str(server.process.pid)], capture_output=True, text=True, check=False).stdout.split():
            subprocess.run(["kill", "-INT", child], check=False)
        server.end()
    return Row("clock set back 16 years", "`serve`: two more parts than are kept", 1, "the last one used first", "the 30 used last", faults)


def both(ground, one, two, folder):
    processes = [ground.start(*one, cwd=folder), ground.start(*two, cwd=folder)]
    ends = [process.communicate(timeout=120) for process in processes]
    return [process.returncode for process in processes], [complaint for _, complaint in ends]


def two_programs(ground):
    folder, faults = ground.folder(), []
    old, new = ground.plan_bytes(OLD, folder), ground.plan_bytes(NEW, folder)
    times = 1 if ground.quick else 20
    for _ in range(times):
        shutil.rmtree(folder / "out", ignore_errors=True)
        ends, complaints = both(ground, ["plan", *PART, *OLD, "--out", "out", "--quiet"], ["plan", *PART, *NEW, "--out", "out", "--quiet"], folder)
        state, drafts, more = state_of(folder / "out", old, new)
        faults += more
        if ends != [0, 0] or state not in ("old", "new") or drafts:
            faults.append(f"{ends} {complaints}, {state}, {drafts}")
    rows = [Row("two programs on one folder", "`plan` and `plan` with another density", times, "as alone, 0", "one of both plans, whole", faults)]
    faults, times = [], 2 if ground.quick else 40
    for number in range(times):
        log = f"log{number % 4}.db"  # new ones, and ones that are there
        before = tally_rows(folder / log) if (folder / log).exists() else 0
        call = ["tally", "add", *PART, "--part-mass", "9.2g", "--yes", "--db", log]
        ends, complaints = both(ground, call, call, folder)
        if ends != [0, 0] or tally_rows(folder / log) != before + 2:
            faults.append(f"{ends} {complaints}, {before} then {tally_rows(folder / log)}")
    rows.append(Row("two programs on one log", "`tally add` and `tally add`", times, "as alone, 0", "both castings, each with its number", faults))
    rows.append(serve_and_tally(ground))
    return rows


def serve_and_tally(ground):
    """The page and the command log at the same time; two servers keep recent parts in one place."""
    folder, faults = ground.folder(), []
    (folder / "temp").mkdir()
    servers = [Server(ground.program, folder / "temp", "--tally", str(folder / "log.db")).enter() for _ in range(2)]
    times = 1 if ground.quick else 20
    try:
        parts = [server.post("box.stl", binary_stl(box(40.0)))["id"] for server in servers]
        for server, part in zip(servers, parts):
            server.set(part, units=["mm"])
        for _ in range(times):
            typed = ground.start("tally", "add", *PART, "--part-mass", "9.2g", "--yes", "--db", "log.db", cwd=folder)
            for server, part in zip(servers, parts):
                status, _, answer = server.ask("POST", f"/api/tally/castings?part={part}", json.dumps({"part-mass": ["9.2g"], "yes": ["true"]}))
                if status != 201:
                    faults.append(f"the page: {status} {answer[:200]}")
            _, complaint = typed.communicate(timeout=60)
            if typed.returncode != 0:
                faults.append(f"the command: {complaint}")
        if tally_rows(folder / "log.db") != 3 * times:
            faults.append(f"{tally_rows(folder / 'log.db')} castings of {3 * times}")
        recent = servers[0].json("GET", "/api/recent")["parts"]
        if [part["name"] for part in recent] not in (["box.stl"], ["box.stl"] * 2):
            faults.append(f"recent: {recent}")
        if pathlib.Path(servers[0].data, "cavigram", "recent").glob("half-*") and list(pathlib.Path(servers[0].data, "cavigram", "recent").glob("half-*")):
            faults.append("half a recent part")
    finally:
        if [server.end() for server in servers] != [0, 0]:
            faults.append("they did not end well")
    return Row("three programs on one log", "two `serve` and `tally add`", times, "as alone", "all castings", faults)
