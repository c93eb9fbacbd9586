#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Seeded mutations of small files in all formats of our own readers through `cavigram inspect`: 1040, or 2600 with CAVIGRAM_TEST_WHOLE.

Bytes flipped, runs overwritten or doubled, files cut, counts made huge, words of PLY headers exchanged: the exit status must be 0, 1 or 3, never a signal, within the time limit, and a refusal must be one plain sentence.

Usage: mutations_test.py PROGRAM [COUNT]
"""
import base64
import concurrent.futures
import io
import json
import os
import pathlib
import random
import re
import resource
import struct
import subprocess
import sys
import tempfile
import zipfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from runner import binary_stl, box, check_refusal  # noqa: E402

TIME_LIMIT_S = 30
MEMORY_LIMIT = 6 * 2**30


def indexed():
    """Vertices and faces of the box, each corner once."""
    index, vertices, faces = {}, [], []
    for triangle in box():
        face = []
        for point in triangle:
            if point not in index:
                index[point] = len(vertices)
                vertices.append(point)
            face.append(index[point])
        faces.append(face)
    return vertices, faces


def obj():
    vertices, faces = indexed()
    return "".join("v %g %g %g\n" % v for v in vertices).encode() + \
        "".join("f %d %d %d\n" % tuple(i + 1 for i in f) for f in faces).encode()


def off():
    vertices, faces = indexed()
    return ("OFF\n%d %d 0\n" % (len(vertices), len(faces)) + "".join("%g %g %g\n" % v for v in vertices) +
            "".join("3 %d %d %d\n" % tuple(f) for f in faces)).encode()


def ply():
    vertices, faces = indexed()
    head = ("ply\nformat binary_little_endian 1.0\nelement vertex %d\nproperty float x\nproperty float y\nproperty float z\n"
            "element face %d\nproperty list uchar int vertex_indices\nend_header\n" % (len(vertices), len(faces)))
    return head.encode() + b"".join(struct.pack("<3f", *v) for v in vertices) + b"".join(struct.pack("<B3i", 3, *f) for f in faces)


def strips_ply():
    """The box as strips, big-endian, before its vertices: four sides as one strip, two lids."""
    corners = [(x, y, z) for z in (0.0, 40.0) for x, y in ((0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0))]
    strips = [4, 0, 5, 1, 6, 2, 7, 3, 4, 0, -1, 1, 0, 2, 3, -1, 4, 5, 7, 6]
    head = ("ply\nformat binary_big_endian 1.0\nelement tristrips 1\nproperty list int int vertex_indices\n"
            "element vertex 8\nproperty double x\nproperty double y\nproperty double z\nend_header\n")
    return head.encode() + struct.pack(">i%di" % len(strips), len(strips), *strips) + b"".join(struct.pack(">3d", *v) for v in corners)


def glb_of(document, data):
    text = json.dumps(document).encode()
    text += b" " * (-len(text) % 4)
    data += b"\0" * (-len(data) % 4)
    body = struct.pack("<I4s", len(text), b"JSON") + text + struct.pack("<I4s", len(data), b"BIN\0") + data
    return b"glTF" + struct.pack("<II", 2, 12 + len(body)) + body


def packed_glb(extension):
    """The box packed by the encoders of libdraco 1.5.5 and meshoptimizer 0.18 (tests/io/gltf_packed_tools.h makes such files)."""
    mesh = {"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}
    document = {"asset": {"version": "2.0"}, "nodes": [{"mesh": 0}], "meshes": [mesh],
                "extensionsUsed": [extension], "extensionsRequired": [extension],
                "accessors": [{"componentType": 5126, "count": 8, "type": "VEC3"}, {"componentType": 5125, "count": 36, "type": "SCALAR"}]}
    if extension == "KHR_draco_mesh_compression":
        data = base64.b85decode("L{dRRPXYn~0RR912n+xV000ADOBDeD5CQ)H0096A0{{R50RaI30|Nmd0U!eautJ<50tE;F00030{{R3000000000000000A*CRa;")
        mesh["primitives"][0]["extensions"] = {extension: {"bufferView": 0, "attributes": {"POSITION": 0}}}
        document.update(buffers=[{"byteLength": len(data)}], bufferViews=[{"buffer": 0, "byteLength": len(data)}])
        return glb_of(document, data)
    data = base64.b85decode("paDPs000yd6cZE^6ahc~002=^QBqM-Q2{^y002fsMny(NMgc$n004S<dU<+zdI1c~000yd6afs(002=^Q2`9h002fsMga`W004S<dI12y000yL"
                            "0KfnMQ2_wJ002e-0KfnMdH?_b0000000000000000000000000000000000000000;Qj#r4^jhG6;B6M6aNGP{{jL80RRAYhgN5JsfJ~VXqW+M00000")
    document["buffers"] = [{"byteLength": 178}, {"byteLength": 240, "extensions": {extension: {"fallback": True}}}]
    document["accessors"][0]["bufferView"], document["accessors"][1]["bufferView"] = 0, 1
    document["bufferViews"] = [
        {"buffer": 1, "byteLength": 96, "byteStride": 12, "extensions": {extension: {
            "buffer": 0, "byteLength": 137, "byteStride": 12, "count": 8, "mode": "ATTRIBUTES"}}},
        {"buffer": 1, "byteLength": 144, "byteOffset": 96, "extensions": {extension: {
            "buffer": 0, "byteOffset": 140, "byteLength": 38, "byteStride": 4, "count": 36, "mode": "TRIANGLES"}}}]
    return glb_of(document, data)


def quantized_glb():
    """The box in whole numbers of one byte, and a node that scales them to meters."""
    vertices, faces = indexed()
    data = b"".join(struct.pack("<3Bx", *(int(c) for c in v)) for v in vertices) + b"".join(struct.pack("<3H", *f) for f in faces)
    return glb_of({
        "asset": {"version": "2.0"}, "nodes": [{"mesh": 0, "scale": [0.001, 0.001, 0.001]}],
        "extensionsUsed": ["KHR_mesh_quantization"], "extensionsRequired": ["KHR_mesh_quantization"],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "accessors": [{"bufferView": 0, "componentType": 5121, "count": 8, "type": "VEC3"},
                      {"bufferView": 1, "componentType": 5123, "count": 36, "type": "SCALAR"}],
        "bufferViews": [{"buffer": 0, "byteLength": 32, "byteStride": 4}, {"buffer": 0, "byteOffset": 32, "byteLength": 72}],
        "buffers": [{"byteLength": len(data)}]}, data)


def glb():
    vertices, faces = indexed()
    data = b"".join(struct.pack("<3f", *(c / 1000 for c in v)) for v in vertices) + b"".join(struct.pack("<3H", *f) for f in faces)
    split = 12 * len(vertices)
    return glb_of({
        "asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0]}], "nodes": [{"mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "accessors": [{"bufferView": 0, "componentType": 5126, "count": len(vertices), "type": "VEC3",
                       "min": [0, 0, 0], "max": [0.04, 0.04, 0.04]},
                      {"bufferView": 1, "componentType": 5123, "count": 3 * len(faces), "type": "SCALAR"}],
        "bufferViews": [{"buffer": 0, "byteOffset": 0, "byteLength": split},
                        {"buffer": 0, "byteOffset": split, "byteLength": len(data) - split}],
        "buffers": [{"byteLength": len(data)}]}, data)


def three_mf(stored, two_parts=False):
    vertices, faces = indexed()
    head = ('<?xml version="1.0"?><model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02" '
            'xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06"><resources>')
    model = (head + '<object id="1" type="model"><mesh><vertices>' +
             "".join('<vertex x="%g" y="%g" z="%g"/>' % v for v in vertices) + "</vertices><triangles>" +
             "".join('<triangle v1="%d" v2="%d" v3="%d"/>' % tuple(f) for f in faces) +
             '</triangles></mesh></object></resources><build><item objectid="1"/></build></model>')
    parts = [("3D/3dmodel.model", model)]
    if two_parts:
        parts = [("3D/3dmodel.model", head + '<object id="7"><components><component p:path="/3D/a.model" objectid="1"/></components>'
                  '</object></resources><build><item objectid="7"/></build></model>'), ("3D/a.model", model)]
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED) as archive:
        for name, text in (("[Content_Types].xml",
                            '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
                            '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
                            '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>'),
                           ("_rels/.rels",
                            '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship '
                            'Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
                            '</Relationships>'), *parts):
            archive.writestr(zipfile.ZipInfo(name, (2020, 1, 1, 0, 0, 0)), text)
    return data.getvalue()


def ascii_stl():
    return ("solid box\n" + "".join("facet normal 0 0 0\nouter loop\n" + "".join("vertex %g %g %g\n" % p for p in t) +
                                    "endloop\nendfacet\n" for t in box()) + "endsolid box\n").encode()


HEADER_WORDS = (b"4294967295", b"-1", b"0", b"18446744073709551615", b"1e9", b"list", b"uchar", b"double", b"int", b"element", b"face",
                b"vertex", b"tristrips", b"list uchar list", b"\n", b"end_header", b"binary_big_endian")


def mutated_header(data, rng):
    """Words of a PLY header become others: sizes, negative counts, lists of lists."""
    at = data.find(b"end_header")
    words = re.split(rb"([ \n])", data[:at])
    for _ in range(rng.choice((1, 1, 2, 3))):
        words[2 * rng.randrange((len(words) + 1) // 2)] = rng.choice(HEADER_WORDS)
    return b"".join(words) + data[at:]


def mutated(data, rng):
    if data.startswith(b"ply") and rng.randrange(2):
        return mutated_header(data, rng)
    data = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 4, 16))):
        at = rng.randrange(len(data)) if data else 0
        what = rng.randrange(7)
        if what == 0 and data:
            data[at] ^= 1 << rng.randrange(8)
        elif what == 1 and data:
            data[at] = rng.randrange(256)
        elif what == 2:
            del data[at:]
        elif what == 3:
            data[at:at + 4] = rng.choice((b"\xff\xff\xff\xff", b"\xff\xff\xff\x7f", b"\0\0\0\x80", b"9999", b"\0\0\xc0\x7f", b"1e99"))
        elif what == 4:
            data[at:at] = bytes(data[at:at + rng.randrange(1, 64)])
        elif what == 5:
            del data[at:at + rng.randrange(1, 32)]
        else:
            # A number in the text becomes huge or negative.
            digits = [i for i, b in enumerate(data) if 48 <= b <= 57]
            if digits:
                i = rng.choice(digits)
                data[i:i + 1] = rng.choice((b"4294967295", b"-1", b"99999999999", b"1e308", b"nan"))
    return bytes(data)


def main():
    program = os.path.abspath(sys.argv[1])
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 2600 if os.environ.get("CAVIGRAM_TEST_WHOLE") else 1040
    seeds = [("box.stl", binary_stl(box())), ("text.stl", ascii_stl()), ("box.obj", obj()), ("box.ply", ply()), ("box.off", off()),
             ("box.glb", glb()), ("box.3mf", three_mf(False)), ("stored.3mf", three_mf(True)),
             ("strips.ply", strips_ply()), ("parts.3mf", three_mf(True, True)), ("quantized.glb", quantized_glb()),
             ("draco.glb", packed_glb("KHR_draco_mesh_compression")), ("meshopt.glb", packed_glb("EXT_meshopt_compression"))]
    faults = 0
    statuses = {}
    with tempfile.TemporaryDirectory() as folder:
        def one(number):
            name, data = seeds[number % len(seeds)]
            if number >= len(seeds):  # the first of each is whole
                data = mutated(data, random.Random(number))
            path = pathlib.Path(folder) / f"{number}_{name}"
            path.write_bytes(data)
            try:
                result = subprocess.run([program, "inspect", str(path), "--threads", "1"], capture_output=True, text=True, errors="replace",
                                        timeout=TIME_LIMIT_S)
            except subprocess.TimeoutExpired:
                return number, name, None, ["took too long"]
            path.unlink()
            found = check_refusal(result, 3) if result.returncode not in (0, 1) else []
            if number < len(seeds) and (result.returncode != 0 or "64.00 cm3" not in result.stdout):
                found.append(f"the whole file gives {result.returncode}: {result.stdout[:200]} {result.stderr[:200]}")
            return number, name, result.returncode, found

        with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
            for number, name, status, found in pool.map(one, range(count)):
                statuses[status] = statuses.get(status, 0) + 1
                for fault in found:
                    print(f"mutation {number} of {name}: {fault}")
                faults += len(found)
    # The reader's own limit on address space, lib/cavigram/io/mesh_reader.h; the largest of all runs.
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * 1024
    if peak > MEMORY_LIMIT:
        print(f"a run used {peak / 2**30:.1f} GiB of memory")
        faults += 1
    print(f"{count} mutations, exit statuses {statuses}, at most {peak / 2**20:.0f} MiB, {faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
