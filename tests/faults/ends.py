# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs that are ended from outside, at seeded moments; too little memory, threads or handles; output that is closed."""
import os
import re
import shutil
import signal
import subprocess
import sys
import time

from disks import tally_rows
from ground import NEW, OLD, PART, Row, TESTS, add, check_refusal, contents, joined, seconds_of, state_of
from server import Server


def written_by_now(out):
    """Files that wait for their place, in `out` or in the folder beside it that is to take its place."""
    try:
        return sum(name.startswith(".") for name in os.listdir(out)) + sum(len(os.listdir(beside)) for beside in out.parent.glob(f".{out.name}.*"))
    except OSError:
        return 0  # gone meanwhile


def at_a_moment(ground, process, folder, whole_s, writes):
    """Sleeps into the run: anywhere, or until so many of its files are being written, up to when the last is and they are put in place."""
    if writes:
        end, count = time.monotonic() + 60, ground.rng.randrange(1, writes + 1)
        while process.poll() is None and time.monotonic() < end and written_by_now(folder) < count:
            pass
        time.sleep(ground.rng.uniform(0.0, 0.01))
    else:
        time.sleep(ground.rng.uniform(0.0, whole_s))


def killed_plan(ground):
    return [killed_plan_into(ground, own) for own in (False, True)]


def killed_plan_into(ground, own):
    """`own`: a file of the person's lies in the folder, so that it can't be exchanged as a whole."""
    folder, faults = ground.folder(), []
    old, new = ground.plan_bytes(OLD, folder), ground.plan_bytes(NEW, folder)
    out = folder / "out"
    whole_s = seconds_of(lambda: ground.run("plan", *PART, *OLD, "--out", "out", "--quiet", cwd=folder), 1 if ground.quick else 3)
    if own:
        (out / "own").write_text("of the person")
        old, new = {**old, "own": b"of the person"}, {**new, "own": b"of the person"}
    now, states = "old", {}
    kills = 2 if ground.quick else 100
    for number in range(kills):
        words = NEW if now == "old" else OLD
        process = ground.start("plan", *PART, *words, "--out", "out", "--quiet", cwd=folder)
        at_a_moment(ground, process, out, whole_s, len(new) if number % 2 == 1 else 0)
        process.kill()
        process.communicate()
        state, drafts, more = state_of(out, old, new)
        faults += more
        add(states, "ended before" if process.returncode == 0 else "both" if state == "both" else "earlier" if state == now else "new")
        now = state if state in ("old", "new") else "none"
    result = ground.run("plan", *PART, *NEW, "--out", "out", "--quiet", cwd=folder)
    state, drafts, more = state_of(out, old, new)
    beside = [name for name in os.listdir(folder) if name.startswith(".")]
    if result.returncode != 0 or state != "new" or drafts or beside:
        faults.append(f"the next call: {result.returncode}, {state}, {drafts}, {beside}")
    both = states.pop("both", 0)
    if both and not own:
        faults.append(f"files of both plans {both} times")
    print("    left:", ", ".join(f"{what} {count} times" for what, count in sorted(states.items())), f"; files of both {both} times", flush=True)
    left = "one whole plan, the earlier or the new" if not own else f"the person's file; one whole plan, or, in the milliseconds of the renaming, files of both ({both} times)"
    return Row("kill -9", "`plan` over an earlier plan" + (" beside a file of the person's" if own else "") + ", every second one while it writes", kills, "nothing",
               left + "; hidden files or a hidden folder until the next call", faults)


def killed_tally(ground):
    folder, faults = ground.folder(), []
    call = ["tally", "add", *PART, "--part-mass", "9.2g", "--yes", "--db", "log.db"]
    assert ground.run(*call, cwd=folder).returncode == 0
    whole_s = seconds_of(lambda: ground.run(*call, cwd=folder), 1 if ground.quick else 3)
    rows, logged = tally_rows(folder / "log.db"), 0
    kills = 4 if ground.quick else 200
    for number in range(kills):
        process = ground.start(*call, cwd=folder)
        # Opened by now? SQLite's journal stands beside it while it writes.
        end = time.monotonic() + (10 if number % 2 else 0)
        while process.poll() is None and time.monotonic() < end and not (folder / "log.db-journal").exists():
            time.sleep(0.0002)
        time.sleep(ground.rng.uniform(0.0, 0.01 if number % 2 else whole_s))
        process.kill()
        process.communicate()
        if ground.run("tally", "list", "--db", "log.db", cwd=folder).returncode != 0:
            faults.append(f"kill {number}: it can't be listed")
        now = tally_rows(folder / "log.db")
        if now - rows not in ((1,) if process.returncode == 0 else (0, 1)):
            faults.append(f"kill {number}: {rows} castings, then {now}")
        logged += now - rows
        rows = now
    result = ground.run(*call, cwd=folder)
    left = [name for name in contents(folder) if name not in ("box.stl", "log.db")]
    if result.returncode != 0 or left:
        faults.append(f"the next call: {result.returncode} {result.stderr}, left: {left}")
    print(f"    logged {logged} of {kills}")
    return [Row("kill -9", "`tally add`, every second one while it writes", kills, "nothing", "the log whole, with the casting or without", faults)]


def other_script(ground, script, *words):
    """A test of this project that tries the same in its place; its last line that says how many it ran."""
    result = subprocess.run([sys.executable, TESTS / script, ground.program, *words], capture_output=True, text=True, check=False, timeout=3600)
    return [] if result.returncode == 0 else [f"{script}: " + result.stderr.strip().splitlines()[-1]]


def killed_serve(ground):
    kills = 3 if ground.quick else 200
    return [Row("kill -9", "`serve` while it takes files, computes and logs", kills, "nothing", "what was answered is there; the rest whole or not at all; temporary "
                "files until the next start", other_script(ground, "serve/shop_test.py", str(kills), "Killed"))]


def table(ground):
    if ground.quick:
        return []  # cli.table_faults is a test of its own
    return [Row("kill -9, SIGINT, crash, memory, limits, two programs", "`plan --table`, the cases of `cli.table_faults`", 6, "a row for each scan, `table.csv`",
                "each scan once, whole", other_script(ground, "cli/table_faults_test.py"))]


SIGNALS = {signal.SIGINT: "SIGINT", signal.SIGTERM: "SIGTERM", signal.SIGHUP: "SIGHUP (a terminal that is closed)"}


def signals_plan(ground):
    rows, folder = [], ground.folder()
    old, new = ground.plan_bytes(OLD, folder), ground.plan_bytes(NEW, folder)
    whole_s = seconds_of(lambda: ground.run("plan", *PART, *OLD, "--out", "out", "--quiet", cwd=folder), 1 if ground.quick else 3)
    for number, name in SIGNALS.items():
        faults, seen, times = [], {}, 3 if ground.quick else 20
        for i in range(times):
            ground.run("plan", *PART, *OLD, "--out", "out", "--quiet", cwd=folder)
            process = ground.start("plan", *PART, *NEW, "--out", "out", "--quiet", cwd=folder)
            # Not before the program has begun: what starts it would end by the signal instead.
            while process.poll() is None and len(os.listdir(f"/proc/{process.pid}/task")) < 2:
                time.sleep(0.0005)
            at_a_moment(ground, process, folder / "out", 0.8 * whole_s, len(new) if i % 2 == 1 else 0)
            process.send_signal(number)
            told, complaint = process.communicate(timeout=30)
            state, drafts, more = state_of(folder / "out", old, new)
            faults += more + [f"left: {draft}" for draft in drafts]
            if process.returncode == 0:
                faults += [] if state == "new" else [f"ended well with {state}"]
                continue
            if process.returncode != 130 or told:
                faults.append(f"status {process.returncode}")
            add(seen, f"\"{ground.told(complaint, folder)}\" {process.returncode}")
            if state not in ("old", "new"):
                faults.append(f"the folder holds {state}")
        rows.append(Row(name, "`plan` over an earlier plan", times, joined({text: 1 for text in seen}), "the earlier plan, or the new one; nothing half", faults))
    return rows


def signals_others(ground):
    rows, folder = [], ground.folder()
    for number, name in SIGNALS.items():
        faults, temp = [], folder / f"temp{int(number)}"
        temp.mkdir()
        server = Server(ground.program, temp).enter()
        server.post("box.stl", b"no mesh")
        if server.end(number) != 0 or os.listdir(temp):
            faults.append(f"status {server.process.returncode}, left: {os.listdir(temp)}")
        rows.append(Row(name, "`serve`", 1, "nothing, 0: an end that was asked for", "recent parts and log; no temporary file", faults))
    # nohup: the work goes on.
    faults = []
    process = subprocess.Popen(["nohup", ground.program, "plan", *PART, "--out", "hup", "--quiet"], cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    time.sleep(0.1)
    process.send_signal(signal.SIGHUP)
    if process.wait(timeout=60) != 0:
        faults.append(f"status {process.returncode}")
    rows.append(Row("SIGHUP under nohup", "`plan`", 1, "nothing, 0", "the plan", faults))
    return rows


def pipe_that_ends(ground):
    """`| head -1`: what reads has ended before all is written (SIGPIPE)."""
    folder, faults = ground.folder(), []
    calls = [["plan", *PART, "--out", "out"], ["schema"], ["weigh", *PART, "--json", "-"], ["tally", "export", "--db", "log.db"]]
    ground.run("tally", "add", *PART, "--part-mass", "9.2g", "--db", "log.db", cwd=folder)
    for call in calls:
        read, write = os.pipe()
        os.close(read)
        process = subprocess.Popen([ground.program, *call], cwd=folder, stdout=write, stderr=subprocess.PIPE, text=True)
        os.close(write)
        _, complaint = process.communicate(timeout=60)
        if process.returncode != -signal.SIGPIPE or complaint:
            faults.append(f"{call[0]}: {process.returncode} {complaint}")
    old = ground.plan_bytes(OLD[:0], folder)
    if state_of(folder / "out", old, old)[0] != "old":
        faults.append("the plan is not whole")
    return [Row("SIGPIPE (`\\| head -1`)", "`plan`, `schema`, `weigh --json -`, `tally export`", len(calls), "what was read until then; 141, as other programs",
                "the plan, whole", faults)]


def closed_output(ground):
    """Standard output closed, or on a full device; standard error likewise."""
    folder = ground.folder()
    rows = []
    for where, opened in (("closed", None), ("/dev/full", "/dev/full")):
        faults, seen = [], {}
        calls = {"inspect": ["inspect", *PART], "weigh": ["weigh", *PART], "plan": ["plan", *PART, "--out", "out"], "schema": ["schema"], "--help": ["--help"],
                 "--version": ["--version"], "foams": ["foams", "list"], "tally add": ["tally", "add", *PART, "--part-mass", "9.2g", "--yes", "--db", "log.db"],
                 "tally list": ["tally", "list", "--db", "log.db"], "tally export": ["tally", "export", "--db", "log.db"],
                 "tally undo": ["tally", "undo", "--db", "log.db"], "plan --table": ["plan", *PART, "--out", "table", "--table"], "serve": ["serve", "--no-browser"]}
        for name, call in calls.items():
            line = "exec \"$0\" \"$@\" " + (f">{opened}" if opened else ">&-")
            result = subprocess.run(["/bin/sh", "-c", line, ground.program, *call], cwd=folder, capture_output=True, text=True, timeout=60, check=False)
            faults += [f"{name}: {fault}" for fault in check_refusal(result, 3)]
            text = f"\"{ground.told(result.stderr, folder)}\" {result.returncode}"
            seen.setdefault(text, []).append(name)
        if not (folder / "out" / "pour_sheet.html").exists() or tally_rows(folder / "log.db") != 0:
            faults.append("the files or the log")
        rows.append(Row(f"standard output {where}", "each command", len(calls), "; ".join(f"{', '.join(names)}: {text}" for text, names in seen.items()),
                        "files and log, as the sentence says", faults))
    faults = []
    for line in ("2>&-", "2>/dev/full"):
        for call, status in ((["weigh", *PART], 0), (["plan", *PART, "--out", "out", "--progress=on"], 0), (["weigh", "missing.stl"], 3)):
            result = subprocess.run(["/bin/sh", "-c", "exec \"$0\" \"$@\" " + line, ground.program, *call], cwd=folder, capture_output=True, text=True, timeout=60,
                                    check=False)
            if result.returncode != status:
                faults.append(f"{call[0]} {line}: {result.returncode}")
    rows.append(Row("standard error closed or on /dev/full", "`weigh`, `plan --progress`, a refusal", 6, "what goes to standard output; the status as ever", "files as ever", faults))
    return rows


def least_kib(ground, call, folder):
    """The least address space with which a call does its work, and the least with which the system loads the program at all."""
    def done(kib, words):
        result = ground.run(*words, cwd=folder, before=["prlimit", f"--as={kib * 1024}"])
        return result.returncode == 0

    def least(words):
        low, high = 8 * 1024, 2 * 1024 * 1024
        while high - low > 1024:
            middle = (low + high) // 2
            low, high = (low, middle) if done(middle, words) else (middle, high)
        return high
    return least(["--version"]), least(call)


def memory(ground):
    rows = []
    calls = {"plan": ["plan", *PART, "--out", "out", "--quiet"], "tally add": ["tally", "add", *PART, "--part-mass", "9.2g", "--yes", "--db", "log.db"]}
    for name, call in calls.items():
        folder, faults, seen = ground.folder(), [], {}
        loads, does = least_kib(ground, call, folder)
        shutil.rmtree(folder / "out", ignore_errors=True)
        (folder / "log.db").unlink(missing_ok=True)
        steps = 5 if ground.quick else 20
        for step in range(steps):
            kib = loads + (does - loads) * step // steps
            result = ground.run(*call, cwd=folder, before=["prlimit", f"--as={kib * 1024}"])
            if result.returncode == 0:
                continue  # near the least that does: by chance of the threads
            add(seen, ground.sentence(result, folder, 3, faults))
            left = [name for name in contents(folder) if name not in ("box.stl", "log.db")]
            if left:
                faults.append(f"left: {left}")
        if ground.run(*call, cwd=folder).returncode != 0:
            faults.append("the next call does not work")
        rows.append(Row("too little memory", f"`{name}` with an address space from what loads the program to what the work needs", steps, joined({text: 1 for text in seen}),
                        "nothing", faults))
    rows.append(memory_serve(ground))
    rows += few_handles(ground)
    return rows


def memory_serve(ground):
    """It either starts and ends well, or says why not; a part that needs more says so and others go on."""
    folder, faults, seen = ground.folder(), [], {}
    steps = 4 if ground.quick else 20
    for step in range(steps):
        kib = 48 * 1024 + step * 80 * 1024 // steps
        process = ground.start("serve", "--no-browser", cwd=folder, before=["prlimit", f"--as={kib * 1024}"], env={"TMPDIR": str(folder)})
        try:
            process.communicate(timeout=2)
        except subprocess.TimeoutExpired:
            process.send_signal(signal.SIGTERM)
        told, complaint = process.communicate(timeout=20)
        if process.returncode == 0 and "http://" in told:
            continue
        faults += check_refusal(subprocess.CompletedProcess([], process.returncode, told, complaint), 3)
        add(seen, f"\"{ground.told(complaint, folder)}\" {process.returncode}")
    left = [name for name in os.listdir(folder) if name.startswith("cavigram-serve")]
    if left:
        faults.append(f"left: {left}")
    return Row("too little memory", "`serve`, started with an address space of 48 to 128 MiB", steps, joined({text: 1 for text in seen}) + "; with more it starts", "nothing", faults)


def few_handles(ground):
    rows = []
    folder, faults, seen = ground.folder(), [], {}
    limits = range(4, 26, 6 if ground.quick else 1)
    for limit in limits:
        shutil.rmtree(folder / "out", ignore_errors=True)
        result = ground.run("plan", *PART, "--out", "out", "--quiet", cwd=folder, before=["prlimit", f"--nofile={limit}"])
        if "error while loading shared libraries" in result.stderr:
            continue
        if result.returncode != 0:
            add(seen, re.sub(r"out/\S+:", "out/...:", ground.sentence(result, folder, 3, faults)))
            if (folder / "out").exists() and os.listdir(folder / "out"):
                faults.append("half a plan")
    rows.append(Row("few file handles", "`plan` with 4 to 25", len(limits), joined({text: 1 for text in seen}), "nothing, or the whole plan", faults))
    nobody = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"]
    if os.geteuid() != 0 or subprocess.run([*nobody, ground.program, "--version"], capture_output=True, check=False).returncode != 0:
        return [*rows, Row("few processes", "`plan`", 0, "", "", [], "no other user can be taken on")]
    os.chmod(folder, 0o777)
    faults, seen = [], {}
    for limit in range(1, 6):
        shutil.rmtree(folder / "out", ignore_errors=True)
        result = ground.run("plan", *PART, "--out", "out", "--quiet", cwd=folder, before=[*nobody, "prlimit", f"--nproc={limit}"])
        if result.returncode != 0:
            add(seen, ground.sentence(result, folder, 3, faults))
    return [*rows, Row("few processes", "`plan` by a user who may have 1 to 5 threads", 5, joined({text: 1 for text in seen}), "nothing, or the whole plan", faults)]
