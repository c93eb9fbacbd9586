// SPDX-License-Identifier: GPL-3.0-or-later
// Marks: ISO 10303-21 (STEP), ASTM E2807 (E57), ASPRS LAS 1.4, ISO/IEC 14772-1 (VRML), PKWARE's
// APPNOTE (zip), RFC 1952 (gzip), ISO/IEC 15948 (PNG), ITU-T T.81 (JPEG), ISO 32000 (PDF); the
// others by common practice, no source.
#include "cavigram/io/foreign_format_detail.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"

#include "io_tools.h"

using namespace io_test;

TEST_CASE("files that are no meshes are told by their content, with what to do instead") {
    const Folder folder;
    std::string iges = "a part" + std::string(66, ' ') + "S      1\n";
    const std::vector<std::pair<std::string, std::string>> rows = {
        {"ISO-10303-21;\nHEADER;\n", "export the part as a mesh"},
        {iges, "export the part as a mesh"},
        {"ASTM-E57\1\0", "make a surface of the points"},
        {"LASF\0\0", "make a surface of the points"},
        {"# .PCD v0.7 - Point Cloud Data\n", "make a surface of the points"},
        {"1.5 2 3 255 0 0\n1 2 3 255 0 0\n1 2 3.25 255 0 0\n", "make a surface of the points"},
        {"1.5,2,3\r\n1,2,3\r\n1,2,3.25\r\n", "make a surface of the points"},
        {"PXR-USDC\0\0", "scene in USD"},
        {"#usda 1.0\n", "scene in USD"},
        {zip_of({{"a/part.usdc", "PXR-USDC"}}, false), "scene in USD"},
        {zip_of({{"part.stl", stl_of(box_solid(1, 1, 1).mesh)}}), "unpack it"},
        {"\x1F\x8B\b and so on", "unpack it"},
        {"7z\xBC\xAF\x27\x1C", "unpack it"},
        {"Rar!\x1A\x07\x01", "unpack it"},
        {"#VRML V2.0 utf8\n", "VRML or X3D"},
        {"<?xml version='1.0'?><X3D></X3D>", "VRML or X3D"},
        {"BLENDER-v300", "project file"},
        {"\x89PNG\r\n\x1a\n", "a picture"},
        {"\xFF\xD8\xFF\xE0", "a picture"},
        {"<svg xmlns='x'/>", "a picture"},
        {"%PDF-1.7\n", "a document"},
        {"\n<!DOCTYPE html><html><body>Not found</body></html>", "download"},
        {"<HTML><head>", "download"},
        {"#!/bin/sh\n", "program"},
    };
    for (const auto& row : rows) {
        const std::string& bytes = row.first;
        for (const char* name : {"part.data", "part"}) {
            CAPTURE(bytes.substr(0, 30));
            const std::string text = refusal([&] { return read_mesh(folder.file(name, bytes)); });
            check_sentence(text);
            CHECK(text.find(row.second) != std::string::npos);
        }
        if (!is_point_text(bytes)) {
            // Whatever the file is called.
            for (const char* name : {"part.stl", "part.obj", "part.3mf", "part.ply"}) {
                const std::string text =
                    refusal([&] { return read_mesh(folder.file(name, bytes)); });
                CHECK(text.find(row.second) != std::string::npos);
            }
        }
    }
}

TEST_CASE("no mesh is taken for something else") {
    const TriMesh box = box_solid(1, 2, 3).mesh;
    for (const std::string& bytes :
         {stl_of(box), stl_text_of(box), obj_of(box), off_of(box), ply_bytes(box), ply_text_of(box),
          glb_bytes(box), threemf_of(box)}) {
        CHECK(foreign_format(bytes).empty());
        CHECK_FALSE(is_point_text(bytes));
    }
    // OFF without its word begins like points; then its name decides. A cut 3MF is told as such.
    const Folder folder;
    CHECK(read_mesh(folder.file("a.off", off_of(box).substr(4))).mesh.triangles.size() == 12);
    const std::string cut = threemf_of(box).substr(0, 500);
    CHECK(refusal([&] {
              return read_mesh(folder.file("a.3mf", cut));
          }).find("archive is damaged") != std::string::npos);
}
