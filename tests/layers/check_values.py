#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Fails when code or tests cite a check value that docs/checks.md doesn't list, and when docs/checks.md lists one that the
tests which it names don't cite.

Usage: check_values.py PROJECT_FOLDER

A check is cited by its id (S1, G-10, FM3), a list or a range of ids ("S1, S2", "E16-E19", "Q1 to Q5"):
- anywhere in a comment block, or in a string, that says checks.md (or foam_model.md): "docs/checks.md S1";
- in tests also at the head of a comment ("// S1: ...") or of a string before a colon ("S1, S2: the box").
"""
import pathlib
import re
import sys

# R of one figure: R30 is a radius.
ID = r"(?:(?:FM|G-|[ABCEFGNPQSTUVW])[1-9]\d?|R[1-9])"
ONE = re.compile(rf"(?<![\w.-])({ID})(?!\w|\.\d)")
RANGE = re.compile(rf"(?<![\w.-])({ID})\s*(?:-|–|…|\.\.\.|\bto\b)\s*({ID})(?!\w|\.\d)")
LIST = rf"{ID}(?:(?:\s*(?:,|-|–|…|\.\.\.)\s*|\s+(?:and|to)\s+){ID})*"
COMMENT_HEAD = re.compile(rf"^[\s/*#<!]*({LIST})(?![\w-]|\.\d)")
STRING_HEAD = re.compile(rf"^({LIST}):")
STRING = re.compile(r'"""(.*?)"""|"((?:[^"\\\n]|\\.)*)"', re.S)
NAMED = re.compile(r"\b(?:checks|foam_model)\.md\b")
# Rests on what a value may: a row says which, then where.
SOURCES = ("published", "from memory", "derived", "common practice", "decided", "definition")
SUFFIXES = {".h", ".cpp", ".py", ".mjs", ".ts"}


def ids_in(text):
    """All ids in a text, ranges written out."""
    found = set(ONE.findall(text))
    for first, last in RANGE.findall(text):
        kind = re.match(r"\D+", first).group()
        if last.startswith(kind) and last[len(kind):].isdigit():
            found |= {f"{kind}{n}" for n in range(int(first[len(kind):]), int(last[len(kind):]) + 1)}
    return found


def comments(text, mark):
    """Comment blocks: comments on lines that follow each other are one."""
    block = []
    for line in text.splitlines():
        stripped = line.strip()
        # Not the // of an address.
        at = re.search(rf"(?<!:){re.escape(mark)}", line)
        if stripped.startswith(mark):
            block.append(stripped)
            continue
        if block:
            yield block
            block = []
        if at:
            yield [line[at.start():]]
    if block:
        yield block


def cited(path, is_test):
    """The ids that a file cites."""
    text = path.read_text(encoding="utf-8")
    found = set()
    for block in comments(text, "#" if path.suffix == ".py" else "//"):
        whole = "\n".join(block)
        if NAMED.search(whole):
            # Line ends and comment marks may stand between the ends of a range.
            found |= ids_in(re.sub(r"\n[/*#<!\s]*", " ", whole))
        if is_test:
            for line in block:
                head = COMMENT_HEAD.match(line)
                found |= ids_in(head.group(1)) if head else set()
    # Strings that follow each other are one string in C++.
    for match in STRING.finditer(re.sub(r'(?<!")"\s*\n\s*"(?!")', "", text)):
        string = match.group(1) if match.group(1) is not None else match.group(2)
        if NAMED.search(string):
            found |= ids_in(string)
        head = STRING_HEAD.match(string.strip()) if is_test else None
        found |= ids_in(head.group(1)) if head else set()
    return found


def listed(page, faults):
    """The rows of docs/checks.md: id -> tests that hold it; and the ids that wait for their room."""
    rows, waiting = {}, set()
    in_waiting = False
    for line in page.read_text(encoding="utf-8").splitlines():
        if line.startswith("## "):
            in_waiting = "waiting" in line.lower()
        if in_waiting:
            waiting |= ids_in(line)
            continue
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")] if line.startswith("|") else []
        if not cells or not re.fullmatch(ID, cells[0]):
            continue
        name = cells[0]
        if name in rows:
            faults.append(f"docs/checks.md: {name} is listed twice")
        if len(cells) != 6 or not all(cells):
            faults.append(f"docs/checks.md: {name} needs id, what, value, tolerance, source and the tests that hold it")
            rows[name] = []
            continue
        if not cells[4].startswith(SOURCES):
            faults.append(f"docs/checks.md: the source of {name} says none of: {', '.join(SOURCES)}")
        rows[name] = re.findall(r"`([^`]+)`", cells[5])
    for name in sorted(waiting & set(rows)):
        faults.append(f"docs/checks.md: {name} is listed and waiting at once")
    return rows, waiting


def main():
    root = pathlib.Path(sys.argv[1]).resolve()
    faults = []
    page = root / "docs" / "checks.md"
    rows, waiting = listed(page, faults) if page.exists() else ({}, set())
    files = {}
    for folder in ("lib", "tests", "tools"):
        for path in sorted((root / folder).rglob("*")):
            name = path.relative_to(root)
            if path.suffix in SUFFIXES and "node_modules" not in name.parts and not path.name.startswith("check_values"):
                files[str(name)] = cited(path, folder == "tests")
    for name, ids in files.items():
        for one in sorted(ids - set(rows)):
            also = ", where it still waits for its room" if one in waiting else ""
            faults.append(f"{name}: cites {one}, which docs/checks.md does not list{also}")
    for one, tests in rows.items():
        if not tests:
            faults.append(f"docs/checks.md: {one} names no test")
        for test in tests:
            if f"tests/{test}" not in files:
                faults.append(f"docs/checks.md: {one} is held by tests/{test}, which does not exist")
            elif one not in files[f"tests/{test}"]:
                faults.append(f"docs/checks.md: {one} is not cited by tests/{test}, which should hold it")
    for fault in faults:
        print(fault)
    print(f"{len(rows)} checks, {sum(map(len, files.values()))} citations, {len(faults)} faults")
    return 1 if faults or not rows else 0


if __name__ == "__main__":
    sys.exit(main())
