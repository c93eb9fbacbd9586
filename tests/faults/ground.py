# SPDX-License-Identifier: GPL-3.0-or-later
"""What the trials of faults.py stand on: a folder of their own, small disks, runs of the program, and the rows that they give."""
import dataclasses
import os
import pathlib
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time

TESTS = pathlib.Path(__file__).resolve().parent.parent
sys.path.insert(0, str(TESTS / "cli"))
sys.path.insert(0, str(TESTS / "serve"))
from runner import binary_stl, box, check_refusal  # noqa: E402,F401

PART = ["box.stl", "--units", "mm"]
OLD = ["--density", "9lb/ft3"]
NEW = ["--density", "11lb/ft3"]


@dataclasses.dataclass
class Row:
    """A line of docs/reliability.md."""
    fault: str
    done: str      # what was done
    times: int
    sees: str      # the sentence and the exit status
    left: str      # what is on the disk after it
    faults: list   # what was not as it must be; empty: it held
    skipped: str = ""

    def verdict(self):
        return f"not tried: {self.skipped}" if self.skipped else "**fails**: " + "; ".join(self.faults[:3]) if self.faults else "holds"


class Ground:
    """One run of all trials."""

    def __init__(self, program, quick, seed=18):
        self.program, self.quick, self.rng = os.path.abspath(program), quick, random.Random(seed)
        self.top = pathlib.Path(tempfile.mkdtemp(prefix="cavigram_faults_"))
        os.chmod(self.top, 0o755)
        self.disks, self.count = [], 0
        self.mounts = self.can_mount()

    def close(self):
        for disk in self.disks:
            subprocess.run(["umount", "-l", disk], capture_output=True, check=False)
        shutil.rmtree(self.top, ignore_errors=True)

    def can_mount(self):
        """faults.py starts itself anew in a mount namespace of its own where the system lets it."""
        place = self.top / "try"
        place.mkdir()
        if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", place], capture_output=True, check=False).returncode != 0:
            return False
        subprocess.run(["umount", place], check=False)
        return True

    def folder(self):
        """A new one with a part in it."""
        self.count += 1
        folder = self.top / f"t{self.count}"
        folder.mkdir()
        os.chmod(folder, 0o755)
        (folder / "box.stl").write_bytes(binary_stl(box(40.0)))
        return folder

    def disk(self, folder, size_kib):
        """A disk of so many KiB in `folder`/disk."""
        place = folder / "disk"
        place.mkdir()
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size_kib}k,mode=777", "tmpfs", place], check=True)
        self.disks.append(place)
        return place

    def run(self, *words, cwd, before=(), timeout=120, **options):
        environment = {**os.environ, "XDG_DATA_HOME": str(cwd / "data"), "XDG_CONFIG_HOME": str(cwd / "config"), **options.pop("env", {})}
        return subprocess.run([*before, self.program, *map(str, words)], cwd=cwd, capture_output=True, text=True, timeout=timeout, env=environment, **options)

    def start(self, *words, cwd, before=(), **options):
        environment = {**os.environ, "XDG_DATA_HOME": str(cwd / "data"), "XDG_CONFIG_HOME": str(cwd / "config"), **options.pop("env", {})}
        return subprocess.Popen([*before, self.program, *map(str, words)], cwd=cwd, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment,
                                **options)

    def plan_bytes(self, words, folder):
        """The files of a plan that nothing disturbed."""
        result = self.run("plan", *PART, *words, "--out", "whole", cwd=folder)
        assert result.returncode == 0, result.stderr
        files = contents(folder / "whole")
        shutil.rmtree(folder / "whole")
        return files

    def told(self, text, folder):
        """A sentence as it stands in the docs: no places and numbers of this machine."""
        text = text.strip().replace(str(folder) + "/", "").replace(str(folder), "FOLDER").replace(self.program, "cavigram")
        text = re.sub(r"cavigram-serve-[0-9a-f]{16}(\.new)?", "cavigram-serve-...", text)
        text = re.sub(r"\?key=[0-9a-f]+", "?key=...", re.sub(r"127\.0\.0\.1:\d+", "127.0.0.1:PORT", text))
        return text.removeprefix("cavigram: ").replace("|", "\\|").replace("\n", " ")

    def sentence(self, result, folder, status, faults):
        """What the person sees; faults if it is not one plain sentence with that exit status."""
        faults += check_refusal(result, status)
        return f"\"{self.told(result.stderr, folder)}\" {result.returncode}"


def contents(folder):
    """Bytes of each file below, by its path from there."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()} if folder.exists() else {}


def is_draft(name):
    return re.fullmatch(r"\..+\.[A-Za-z0-9]{6}", os.path.basename(name)) is not None


def state_of(folder, old, new):
    """"none", "old", "new" or "both" sets of files; faults: half a file, one of neither, a draft. Drafts are counted apart."""
    there = contents(folder)
    drafts = [name for name in there if is_draft(name)]
    files = {name: there[name] for name in there if name not in drafts}
    faults = [f"{name} is of no plan" for name, data in files.items() if data not in (old.get(name), new.get(name))]
    if not files:
        return "none", drafts, faults
    if files == old:
        return "old", drafts, faults
    return ("new" if files == new else "both"), drafts, faults


def seconds_of(call, times=3):
    """Of the clock, the longest: only to choose moments by."""
    longest = 0.0
    for _ in range(times):
        begin = time.monotonic()
        call()
        longest = max(longest, time.monotonic() - begin)
    return longest


def joined(seen):
    """Different sentences, each with how often."""
    return "; ".join(f"{text}" + (f" ({count} times)" if count > 1 else "") for text, count in seen.items())


def add(seen, text):
    seen[text] = seen.get(text, 0) + 1
