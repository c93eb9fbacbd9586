#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The bill of materials: what the SPDX specification 2.3 requires (its clauses 6, 7 and 11), and that it says what is so.

Usage: sbom_test.py SPDX_JSON PROGRAM DEPENDS     the .deb's Depends field
"""
import datetime
import json
import pathlib
import re
import subprocess
import sys

FAULTS = []


def hold(true, what):
    if not true:
        FAULTS.append(what)


def output(*words):
    return subprocess.run(words, capture_output=True, text=True, check=False).stdout


def main():
    document = json.loads(pathlib.Path(sys.argv[1]).read_text())
    # Clause 6, document creation: the mandatory fields, and the forms that they have.
    hold(document["spdxVersion"] == "SPDX-2.3", "6.1 version")
    hold(document["dataLicense"] == "CC0-1.0", "6.2 data license")
    hold(document["SPDXID"] == "SPDXRef-DOCUMENT", "6.3 identifier")
    hold(document["name"] != "", "6.4 name")
    hold(re.fullmatch(r"[a-z]+://[^#\s]+", document["documentNamespace"]), "6.5 namespace: a URI without #")
    creators = document["creationInfo"]["creators"]
    hold(creators and all(re.match(r"(Person|Organization|Tool): .", creator) for creator in creators), "6.8 creators")
    datetime.datetime.strptime(document["creationInfo"]["created"], "%Y-%m-%dT%H:%M:%SZ")  # 6.9
    # Clause 7, packages.
    ids = [package["SPDXID"] for package in document["packages"]]
    hold(len(set(ids)) == len(ids), "7.2 identifiers are unique")
    for package in document["packages"]:
        name = package["name"]
        hold(name, "7.1 name")
        hold(re.fullmatch(r"SPDXRef-[A-Za-z0-9.-]+", package["SPDXID"]), f"7.2 identifier {package['SPDXID']}")
        hold(re.match(r"(NOASSERTION$|(Person|Organization): .)", package["supplier"]), f"7.5 supplier of {name}")
        hold(package["downloadLocation"], f"7.7 download location of {name}")  # mandatory; NOASSERTION is a value of it
        hold(package["filesAnalyzed"] is False and "packageVerificationCode" not in package, f"7.8, 7.9 files of {name}")
        for reference in package.get("externalRefs", []):
            hold(reference["referenceCategory"] == "PACKAGE-MANAGER" and reference["referenceType"] == "purl", f"7.21 reference of {name}")
            hold(re.fullmatch(r"pkg:(deb/debian|npm)/[a-z0-9.%A-F-]+@[A-Za-z0-9.%~-]+(\?arch=[a-z0-9]+)?", reference["referenceLocator"]),
                 f"7.21 package URL {reference['referenceLocator']}")
    # Clause 11, relationships; the document describes something.
    kinds = {"DESCRIBES", "DYNAMIC_LINK", "STATIC_LINK", "RUNTIME_DEPENDENCY_OF", "CONTAINS"}  # of those in 11.1
    for relation in document["relationships"]:
        hold(relation["relationshipType"] in kinds, f"11.1 {relation}")
        hold({relation["spdxElementId"], relation["relatedSpdxElement"]} <= {*ids, "SPDXRef-DOCUMENT"}, f"11.1 ends of {relation}")
    hold(any(relation["relationshipType"] == "DESCRIBES" for relation in document["relationships"]), "11.1 nothing is described")

    # What it says is so: each library that the loader finds is of a package that is listed, each package has its version, all that is depended on is there.
    listed = {package["name"]: package["versionInfo"] for package in document["packages"]}
    for library in re.findall(r"=> (/\S+)", output("ldd", sys.argv[2])):
        owners = {line.split(":")[0] for path in (library, "/usr" + library, library.removeprefix("/usr")) for line in output("dpkg", "-S", path).splitlines()}
        hold(owners & set(listed), f"{library} of {owners} is not listed")
    for package in re.findall(r"(?:^|, )([a-z0-9.+-]+)", sys.argv[3]):
        hold(package in listed, f"the package depends on {package}, which is not listed")
    for name, version in listed.items():
        known = output("dpkg-query", "-W", "-f", "${Version}\n", name).splitlines()
        hold(name in ("cavigram", "preact", "three") or version in known, f"{name} {version}, but {known} is here")
    for name in ("libcgal-dev", "libeigen3-dev", "nlohmann-json3-dev", "libcli11-dev", "libboost1.74-dev", "preact", "three"):  # they have no library to link
        hold(name in listed, f"{name} is not listed")
    hold("doctest-dev" not in listed and "esbuild" not in listed, "what only tests or building need is listed")
    for fault in FAULTS:
        print(f"sbom_test: {fault}", file=sys.stderr)
    print(f"Bill of materials: {len(ids)} packages, {len(document['relationships'])} relationships.")
    return 1 if FAULTS else 0


if __name__ == "__main__":
    sys.exit(main())
