#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A program run as a whole: seconds by the clock, seconds of processors, peak memory in MB."""
import json
import subprocess
import sys

# A process of its own starts the program: what is told as a child's peak memory is no less than its parent's.
STARTER = """import json, os, subprocess, sys, time
start = time.perf_counter()
child = subprocess.Popen(sys.argv[1:], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
_, status, usage = os.wait4(child.pid, 0)
print(json.dumps([os.waitstatus_to_exitcode(status), time.perf_counter() - start, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1000.0]))"""


def cost(call):
    """(clock s, processor s, peak MB). Exit status 1 is a plan with a finding that stops; anything above is a failure."""
    answer = subprocess.run([sys.executable, "-c", STARTER, *map(str, call)], stdout=subprocess.PIPE, check=True)
    status, clock_s, processor_s, peak_mb = json.loads(answer.stdout)
    if status not in (0, 1):
        raise SystemExit(f"{' '.join(map(str, call))}: exit status {status}")
    return clock_s, processor_s, peak_mb
