#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Fails on a finding that docs/findings.md does not list with its severity, on a listed one that the sources don't make, on
one that no test names, and where kFindingCodes of core/finding.h is not the same list.

Usage: check_findings.py PROJECT_FOLDER
"""
import pathlib
import re
import sys

MADE = re.compile(r'Severity::(note|warning|stop),\s*"([a-z_]+)"')
ROW = re.compile(r"^\| `([a-z_]+)` \| (note|warning|stop) \| ([^|]+) \| ([^|]+) \|$", re.M)


def main():
    root = pathlib.Path(sys.argv[1]).resolve()
    made = {}
    for path in sorted((root / "lib").rglob("*.cpp")):
        for severity, code in MADE.findall(path.read_text(encoding="utf-8")):
            made.setdefault(code, set()).add(severity)
    listed = {}
    faults = []
    for code, severity, _, _ in ROW.findall((root / "docs" / "findings.md").read_text(encoding="utf-8")):
        if code in listed:
            faults.append(f"docs/findings.md: {code} is listed twice")
        listed[code] = severity
    if list(listed) != sorted(listed):
        faults.append("docs/findings.md: the codes are not in alphabetical order")
    header = (root / "lib" / "cavigram" / "core" / "finding.h").read_text(encoding="utf-8")
    codes = re.findall(r'"([a-z_]+)"', header.split("kFindingCodes = {", 1)[1].split("};", 1)[0])
    if codes != list(listed):
        faults.append(f"core/finding.h and docs/findings.md list other codes: {sorted(set(codes) ^ set(listed)) or 'their order'}")
    tests = "".join(
        path.read_text(encoding="utf-8", errors="replace")
        for path in (root / "tests").rglob("*")
        if path.suffix in (".cpp", ".h", ".py", ".mjs") and "node_modules" not in path.parts and path.name != pathlib.Path(__file__).name)
    for code, severities in sorted(made.items()):
        if listed.get(code) not in severities:
            faults.append(f"{code} ({' or '.join(sorted(severities))}): docs/findings.md says {listed.get(code, 'nothing')}")
        if f'"{code}"' not in tests:
            faults.append(f"{code}: no test brings it out")
    faults += [f"docs/findings.md: nothing makes {code}" for code in listed if code not in made]
    for fault in faults:
        print(fault)
    print(f"{len(made)} findings, {len(faults)} faults")
    return 1 if faults or not made else 0


if __name__ == "__main__":
    sys.exit(main())
