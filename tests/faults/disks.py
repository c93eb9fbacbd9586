# SPDX-License-Identifier: GPL-3.0-or-later
"""Full disks, folders that can't be written to."""
import json
import os
import shutil
import sqlite3
import subprocess

from ground import NEW, OLD, PART, Row, add, binary_stl, box, contents, joined, state_of
from server import Server

NO_MOUNT = "the system lets no disk be mounted here"


def fill(disk, keep_kib):
    """Takes what is left of the disk but so much."""
    room = os.statvfs(disk)
    size = room.f_bavail * room.f_frsize - keep_kib * 1024
    with open(disk / "filler", "wb") as filler:
        filler.write(b"\0" * max(0, size))


def tally_rows(path):
    with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as database:
        assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        return database.execute("SELECT count(*) FROM casting").fetchone()[0]


def full_disk_plan(ground):
    """Rooms from none to too little for the last file; over no plan and over an earlier one."""
    folder = ground.folder()
    if not ground.mounts:
        return [Row("full disk", "`plan`", 0, "", "", [], NO_MOUNT)]
    old, new = ground.plan_bytes(OLD, folder), ground.plan_bytes(NEW, folder)
    disk = ground.disk(folder, 3 * sum(map(len, old.values())) // 1024)
    faults, seen = [], {}
    steps = 1 if ground.quick else 20
    need_kib = sum(len(data) // 4096 + 1 for data in new.values()) * 4
    for step in range(steps):
        for earlier in (False, True):
            shutil.rmtree(disk / "out", ignore_errors=True)
            (disk / "filler").unlink(missing_ok=True)
            if earlier:
                assert ground.run("plan", *PART, *OLD, "--out", "disk/out", "--quiet", cwd=folder).returncode == 0
            fill(disk, need_kib * (2 * step + 1) // (2 * steps))
            result = ground.run("plan", *PART, *NEW, "--out", "disk/out", cwd=folder)
            add(seen, ground.sentence(result, folder, 3, faults))
            state, drafts, more = state_of(disk / "out", old, new)
            faults += more + [f"left: {name}" for name in drafts]
            if state != ("old" if earlier else "none"):
                faults.append(f"the folder holds {state}")
    (disk / "filler").unlink()
    if ground.run("plan", *PART, *NEW, "--out", "disk/out", cwd=folder).returncode != 0 or state_of(disk / "out", old, new)[0] != "new":
        faults.append("the next call does not work")
    return [Row("full disk", "`plan` with less room than its files need, over nothing and over an earlier plan", 2 * steps, max(seen, key=seen.get),
                "the earlier plan, byte for byte, or nothing", faults)]


def full_disk_others(ground):
    if not ground.mounts:
        return [Row("full disk", "`weigh --json`, `tally`, `serve`", 0, "", "", [], NO_MOUNT)]
    rows = []
    folder = ground.folder()
    disk = ground.disk(folder, 256)
    # A page of the log's file at least is left or not.
    assert ground.run("tally", "add", *PART, "--part-mass", "9.2g", "--db", "disk/log.db", cwd=folder).returncode == 0
    (disk / "out.json").write_text("earlier")
    fill(disk, 0)
    faults = []
    sees = ground.sentence(ground.run("weigh", *PART, "--json", "disk/out.json", cwd=folder), folder, 3, faults)
    if contents(disk)["out.json"] != b"earlier":
        faults.append("the earlier file is gone")
    rows.append(Row("full disk", "`weigh --json`", 1, sees, "the earlier file", faults))
    faults, seen, tries = [], {}, range(0, 4 if ground.quick else 12)
    for keep in tries:
        (disk / "filler").unlink()
        fill(disk, 4 * keep // 2)
        before = tally_rows(disk / "log.db")
        result = ground.run("tally", "add", *PART, "--part-mass", "9.1g", "--yes", "--note", "n" * 3000, "--db", "disk/log.db", cwd=folder)
        if result.returncode == 0:
            if tally_rows(disk / "log.db") != before + 1:
                faults.append("a casting is lost")
            continue
        add(seen, ground.sentence(result, folder, 3, faults))
        if ground.run("tally", "list", "--db", "disk/log.db", cwd=folder).returncode != 0 or tally_rows(disk / "log.db") != before:
            faults.append("the log is not as it was")
    (disk / "filler").unlink()
    if ground.run("tally", "add", *PART, "--part-mass", "9.1g", "--yes", "--db", "disk/log.db", cwd=folder).returncode != 0:
        faults.append("the next call does not work")
    rows.append(Row("full disk", "`tally add` with 0 to some KiB left", len(tries), joined(seen), "the log as it was, whole", faults))
    rows.append(full_disk_serve(ground))
    return rows


def full_disk_serve(ground):
    """Uploads, recent parts and the log on a disk that is full, then not."""
    folder, faults, seen = ground.folder(), [], {}
    disk = ground.disk(folder, 400)
    (disk / "temp").mkdir()
    server = Server(ground.program, disk / "temp", "--tally", str(disk / "log.db")).enter()
    try:
        status, _, answer = server.ask("POST", "/api/parts?name=large.stl", binary_stl(box(40.0) * 800))
        add(seen, f"\"{ground.told(answer.decode(), folder)}\" {status}")
        if status != 507:
            faults.append(f"an upload that does not fit: {status}")
        if list((disk / "temp").rglob("mesh*")):
            faults.append("half an upload is left")
        part = server.post("box.stl", binary_stl(box(40.0)))["id"]
        server.set(part, units=["mm"])
        if server.settled(part)["mode"] != "done":
            faults.append("a part that fits is not planned")
        fill(disk, 0)
        status, _, answer = server.ask("POST", f"/api/tally/castings?part={part}", json.dumps({"part-mass": ["9.2g"]}))
        add(seen, f"\"{ground.told(answer.decode(), folder)}\" {status}")
        if status < 400 or b"nternal" in answer:
            faults.append(f"a casting on a full disk: {status} {answer[:200]}")
        status, _, answer = server.ask("POST", "/api/parts?name=two.stl", binary_stl(box(50.0)))
        add(seen, f"\"{ground.told(answer.decode(), folder)}\" {status}")
        if status not in (503, 507) or b"nternal" in answer:
            faults.append(f"a part on a full disk: {status} {answer[:200]}")
        (disk / "filler").unlink()
        status, _, answer = server.ask("POST", f"/api/tally/castings?part={part}", json.dumps({"part-mass": ["9.2g"]}))
        if status != 201:
            faults.append(f"with room again no casting is logged: {status} {answer}")
        elif tally_rows(disk / "log.db") != 1:
            faults.append("the log holds what was refused")
    finally:
        if server.end() != 0:
            faults.append("it did not end well")
    if os.listdir(disk / "temp"):
        faults.append(f"left: {os.listdir(disk / 'temp')}")
    return Row("full disk", "`serve`: an upload, a casting, a part; then room again", 1, joined(seen) + " (HTTP)", "the log as it was; no half upload", faults)


def unwritable(ground):
    """A disk that is mounted read-only, and a folder of another user's."""
    rows = []
    nobody = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"]
    ways = []
    if ground.mounts:
        ways.append(("read-only disk", ()))
    if os.geteuid() == 0 and shutil.which("setpriv") and subprocess.run([*nobody, ground.program, "--version"], capture_output=True, check=False).returncode == 0:
        ways.append(("folder of another user", tuple(nobody)))
    for name, before in ways:
        folder = ground.folder()
        if before:
            place = folder / "disk"
            place.mkdir()
        else:
            place = ground.disk(folder, 4000)
        assert ground.run("tally", "add", *PART, "--part-mass", "9.2g", "--db", "disk/log.db", cwd=folder).returncode == 0
        (place / "out.json").write_text("earlier")
        was = contents(place)
        if not before:
            subprocess.run(["mount", "-o", "remount,ro", place], check=True)
        else:
            os.chmod(place, 0o755)
        seen, faults = {}, []
        calls = [["plan", *PART, "--out", "disk/out"], ["plan", *PART, "--out", "disk"], ["weigh", *PART, "--json", "disk/out.json"],
                 ["inspect", *PART, "--out", "disk"], ["tally", "add", *PART, "--part-mass", "9.1g", "--db", "disk/log.db"],
                 ["tally", "add", *PART, "--part-mass", "9.1g", "--db", "disk/other.db"], ["tally", "undo", "--db", "disk/log.db"],
                 ["plan", "box.stl", *PART, "--out", "disk/table", "--table"], ["serve", "--no-browser"]]
        for call in calls:
            result = ground.run(*call, cwd=folder, before=before, env={"TMPDIR": str(place)})
            add(seen, f"`{call[0]}{' ' + call[1] if call[0] == 'tally' else ''}`: " + ground.sentence(result, folder, 3, faults))
        listed = ground.run("tally", "list", "--db", "disk/log.db", cwd=folder, before=before)
        if listed.returncode != 0 or "9.200 g" not in listed.stdout:
            faults.append(f"the log can't be read: {listed.stderr}")
        if contents(place) != was:
            faults.append("something was changed")
        rows.append(Row(name, "each command that writes; `tally list` reads there", len(calls), joined(seen), "all as it was", faults))
    return rows or [Row("read-only disk", "each command that writes", 0, "", "", [], NO_MOUNT + ", and no other user can be taken on")]
