// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/mesh_format.h"

#include <set>

#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"

#include "io_tools.h"

using namespace io_test;

namespace {

std::string name_of(std::string_view bytes, std::string_view extension = "") {
    const MeshFormat* format = format_of(bytes, extension);
    return format == nullptr ? "" : std::string(format->name);
}

}  // namespace

TEST_CASE("content tells the format, whatever the file is called") {
    const TriMesh box = box_solid(1, 1, 1).mesh;
    std::string three_ds("MM\0\0\0\0", 6);
    three_ds.resize(40, '\0');
    three_ds[2] = 40;
    const std::vector<std::pair<std::string, std::string>> rows = {
        {stl_of(box), "stl"},
        {stl_of(box, 12, "solid"), "stl"},
        {stl_text_of(box), "stl"},
        {ply_text_of(box), "ply"},
        {"ply\r\nformat ascii 1.0\r\n", "ply"},
        {off_of(box), "off"},
        {"COFF\n", "off"},
        {"STCNOFF 1 2 3", "off"},
        {glb_bytes(box), "glb"},
        {"{ \"asset\": {\"version\": \"2.0\"} }", "gltf"},
        {threemf_of(box), "3mf"},
        {zip_of({{"a/model.dae", "<COLLADA>"}}), "dae"},
        {"<?xml version='1.0'?>\n<COLLADA xmlns='x'>", "dae"},
        {"<amf unit='inch'>", "amf"},
        {"Kaydara FBX Binary  ", "fbx"},
        {"; FBX 7.3.0 project file\n", "fbx"},
        {three_ds, "3ds"},
        {"AC3Db\n", "ac"},
    };
    for (const auto& row : rows) {
        const std::string& bytes = row.first;
        const std::string& name = row.second;
        CAPTURE(name);
        CHECK(name_of(bytes) == name);
        CHECK(name_of(bytes, ".xyz") == name);
        CHECK(name_of(bytes, name == "stl" ? ".obj" : "stl") == name);
    }
}

TEST_CASE("where content is open the extension decides, and last the look of the text") {
    CHECK(name_of("v 1 2 3\n", ".OBJ") == "obj");
    CHECK(name_of("# x\nv 1 2 3\nv 1 2 4\nf 1 2 3\n") == "obj");
    CHECK(name_of("v 1 2 3\n", ".stl") == "stl");
    CHECK(name_of("", "zae") == "dae");
    CHECK(name_of("A letter.\nf or you\n", ".txt").empty());
    CHECK(name_of("", "").empty());
    CHECK(name_of("<svg/>").empty());
    CHECK(name_of("OFFICE hours").empty());
    CHECK(name_of("plywood").empty());
    CHECK(name_of(zip_of({{"letter.txt", "x"}})).empty());
}

TEST_CASE("the table names each format and extension once") {
    std::set<std::string_view> names;
    std::set<std::string_view> extensions;
    for (const MeshFormat& format : mesh_formats()) {
        CHECK(names.insert(format.name).second);
        CHECK(extensions.insert(format.extension).second);
        CHECK((format.extension_2.empty() || extensions.insert(format.extension_2).second));
        CHECK(name_of("", format.extension) == format.name);
    }
}
