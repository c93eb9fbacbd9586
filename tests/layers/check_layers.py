#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Fails on an include that goes up or across rooms, on a third-party header where none belongs, on a public header
without its test and its section in the docs, and on two types of one name.

Usage: check_layers.py PROJECT_FOLDER
"""
import pathlib
import re
import sys

# The rooms in order: a room may include itself and those before it.
ROOMS = ["core", "geom", "mesh", "spatial", "io", "repair", "measure", "cavity", "foam", "venting",
         "molding", "handling", "pour", "tally", "plan", "report"]
# Third parties by the first folder of their headers, and the rooms whose .cpp files may see them. Eigen alone may be seen in headers.
FOREIGN = {
    "tbb": {"core"},
    "fmt": set(ROOMS),
    "Eigen": None,
    "CGAL": {"spatial", "repair"},
    "assimp": {"io"},
    "zlib.h": {"io"},
    "zip.h": {"io"},
    "expat.h": {"io"},
    "draco": {"io"},
    "meshoptimizer.h": {"spatial", "io"},
    "toml++": {"foam"},
    "sqlite3.h": {"tally"},
    "boost": {"repair", "molding", "tally"},
    "nlohmann": {"io", "report"},
}
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]', re.M)
TYPE = re.compile(r"^(?:struct|class|enum class) (\w+)[^;]*$", re.M)
# Plain records and aliases, whose meaning is all in the header.
NO_TEST = {"core/constants", "core/error", "core/finding", "geom/vector", "io/soup"}


def standard(header):
    """True for headers of the C++ library and of POSIX."""
    return re.fullmatch(r"[a-z_0-9]+(\.h)?", header) is not None or header.startswith(("sys/", "linux/"))


def check_includes(path, room, root, faults):
    for mark, header in INCLUDE.findall(path.read_text(encoding="utf-8")):
        where = f"{path.relative_to(root)}: includes {header}"
        parts = header.split("/")
        if parts[0] == "cavigram":
            if parts[1] not in ROOMS:
                faults.append(f"{where}, which is no room")
            elif ROOMS.index(parts[1]) > ROOMS.index(room):
                faults.append(f"{where}, but {parts[1]} lies below {room}")
            if parts[-1].endswith("_detail.h") and parts[1] != room:
                faults.append(f"{where}, which is private to {parts[1]}")
        elif parts[0] in FOREIGN:
            allowed = FOREIGN[parts[0]]
            if allowed is not None and room not in allowed:
                faults.append(f"{where}, which does not belong in {room}")
            elif allowed is not None and path.suffix == ".h":
                faults.append(f"{where} in a header; third parties stay in .cpp files")
        elif mark == "<" and not standard(header):
            faults.append(f"{where}, an unknown third party; add it to check_layers.py with its rooms")


def check_company(path, room, root, faults):
    """One header, one test, one section of the docs, all with the same stem."""
    stem = f"{room}/{path.stem}"
    if path.stem.endswith("_detail") or stem in NO_TEST:
        return
    test = root / "tests" / room / f"{path.stem}_test.cpp"
    if not test.exists():
        faults.append(f"{path.relative_to(root)}: has no {test.relative_to(root)}")
    page = root / "docs" / "rooms" / f"{room}.md"
    if not page.exists() or f"## {path.stem}\n" not in page.read_text(encoding="utf-8"):
        faults.append(f'{path.relative_to(root)}: docs/rooms/{room}.md has no section "## {path.stem}"')


def check_name(path, root, types, faults):
    """Two types of one name in one namespace are one to the linker, whatever they hold, also where no file sees both."""
    text = path.read_text(encoding="utf-8")
    space = re.search(r"^namespace ([\w:]+) \{", text, re.M)
    for name in TYPE.findall(text):
        first = types.setdefault((space[1] if space else "", name), path)
        if first != path:
            faults.append(f"{path.relative_to(root)}: {name} is a type of {first.relative_to(root)} already")


def check_format_table(root, faults):
    """Each row of the table of formats in docs/rooms/io.md names a test case that is there."""
    page = root / "docs" / "rooms" / "io.md"
    if not page.exists():
        return
    rows = 0
    for line in page.read_text(encoding="utf-8").split("| held by |", 1)[-1].split("\n\n", 1)[0].splitlines()[2:]:
        rows += 1
        held = line.rstrip(" |").rsplit("|", 1)[-1].strip()
        found = re.fullmatch(r'`(\w+)` "(.+)"', held)
        if held == "the same" and rows > 1:
            continue
        test = root / "tests" / "io" / f"{found[1]}.cpp" if found else None
        # A long title may be broken over lines in the source.
        source = re.sub(r'"\s*\n\s*"', "", test.read_text(encoding="utf-8")) if test and test.exists() else ""
        if not found or not re.search(r'TEST_CASE\(\s*"' + re.escape(found[2]) + r'"\)', source):
            faults.append(f"docs/rooms/io.md: no test holds the row {line}")


def main():
    root = pathlib.Path(sys.argv[1]).resolve()
    faults = []
    types = {}
    count = 0
    for path in sorted((root / "lib" / "cavigram").rglob("*")):
        if path.suffix not in (".h", ".cpp"):
            continue
        count += 1
        room = path.relative_to(root / "lib" / "cavigram").parts[0]
        if room not in ROOMS:
            faults.append(f"{path.relative_to(root)}: {room} is no room; see DEVELOPERS.md")
            continue
        check_includes(path, room, root, faults)
        if path.suffix == ".h":
            check_company(path, room, root, faults)
            check_name(path, root, types, faults)
    check_format_table(root, faults)
    for fault in faults:
        print(fault)
    print(f"{count} files, {len(faults)} faults")
    return 1 if faults or count == 0 else 0


if __name__ == "__main__":
    sys.exit(main())
