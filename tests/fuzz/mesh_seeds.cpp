// SPDX-License-Identifier: GPL-3.0-or-later
#include <fcntl.h>
#include <unistd.h>

#include "cavigram/io/mesh_format.h"
#include "cavigram/io/soup_wire_detail.h"
#include "cavigram/mesh/solids.h"

#include "io/gltf_packed_tools.h"
#include "io/io_tools.h"
#include "io/ply_tools.h"
#include "seeds.h"
#include "small_mesh.h"

namespace fuzz {

using namespace cavigram;
using namespace io_test;

namespace {

TriMesh ring() {
    return torus_solid(30, 10, 4).mesh;
}

TriMesh box() {
    return box_solid(20, 30, 40).mesh;
}

// Polygons, negative indices and a line that is carried on, as OBJ has them.
constexpr const char* kObjForms =
    "# a\no part\ng a b\nusemtl m\nv 0 0 0 1 0 0\nv 10 0 0\nv 10 10 0\nv 0 10 0\nv 5 5 10\n"
    "vn 0 0 1\nvt 0 0\nf 1/1/1 4//1 3 2\ns off\nf -1 \\\n -5 -4\nf 2 3 5\nf 3 4 5\nf 4 1 5\nl 1 "
    "2\n";

std::string binary_ply(const TriMesh& mesh, PlyData::Kind kind) {
    PlyData data(kind);
    for (const Vec3& v : mesh.vertices) {
        for (int k = 0; k < 3; ++k) {
            data.value(static_cast<float>(v[k]));
        }
    }
    for (const Triangle& t : mesh.triangles) {
        data.value(std::uint8_t{3});
        for (const std::int32_t i : t) {
            data.value(i);
        }
    }
    return "ply\n" + data.format_line() +
           fmt::format(
               "comment a\nelement vertex {}\nproperty float x\nproperty float y\n"
               "property float z\nelement face {}\nproperty list uchar int "
               "vertex_indices\nend_header\n",
               mesh.vertices.size(), mesh.triangles.size()) +
           data.bytes();
}

std::string strips_ply() {
    return "ply\nformat ascii 1.0\nelement tristrips 1\nproperty list int int vertex_indices\n"
           "element vertex 4\nproperty double x\nproperty double y\nproperty double z\n"
           "end_header\n9 0 1 2 3 -1 2 1 0 3\n0 0 0\n9 0 0\n0 9 0\n0 0 9\n";
}

// Two boxes that cross, a box without one side, a box with one side turned over.
std::vector<TriMesh> damaged_boxes() {
    std::vector<TriMesh> all(3, box());
    const auto count = static_cast<std::int32_t>(all[0].vertices.size());
    for (int i = 0; i < count; ++i) {
        all[0].vertices.emplace_back(all[0].vertices[static_cast<std::size_t>(i)] +
                                     Vec3(7.0, 11.0, 13.0));
    }
    for (const Triangle& t : box().triangles) {
        all[0].triangles.push_back({t[0] + count, t[1] + count, t[2] + count});
    }
    all[1].triangles.resize(10);
    std::swap(all[2].triangles[0][0], all[2].triangles[0][1]);
    return all;
}

}  // namespace

std::vector<std::string> stl_seeds() {
    return {stl_of(ring()), stl_text_of(box()), stl_of(box(), 0, "solid x"),
            stl_text_of(box(), "a", "\r") + stl_text_of(box())};
}

std::vector<std::string> obj_seeds() {
    return {obj_of(box()), kObjForms};
}

std::vector<std::string> ply_seeds() {
    return {ply_text_of(box()), binary_ply(box(), PlyData::Kind::little),
            binary_ply(box(), PlyData::Kind::big), strips_ply()};
}

std::vector<std::string> off_seeds() {
    return {off_of(box()),
            "COFF # c\n5 2 0\n0 0 0 255 0 0 1\n9 0 0 1\n9 9 0\n0 9 0\n5 5 9\n"
            "4 0 1 2 3 200 0 0\n5 0 1 4 2 3\n"};
}

std::vector<std::string> gltf_seeds() {
    return {
        gltf_of(box()).glb(), meshopt_glb(ring()),
        draco_file(ring(), draco_bytes(ring(), true)).glb(),
        R"({"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],"nodes":[{"children":[1],"scale":[1,-1,2]},)"
        R"({"mesh":0,"rotation":[0,0,0.7,0.7],"translation":[1,2,3]}],"meshes":[{"primitives":[{"attributes":{"POSITION":0},)"
        R"("mode":5}]}],"accessors":[{"bufferView":0,"componentType":5126,"count":4,"type":"VEC3","sparse":{"count":1,)"
        R"("indices":{"bufferView":0,"componentType":5121},"values":{"bufferView":0}}}],"bufferViews":[{"buffer":0,"byteOffset":0,)"
        R"("byteLength":48}],"buffers":[{"byteLength":48,"uri":"data:application/octet-stream;base64,)"
        R"(AAAAAAAAAAAAAAAAAACAPwAAAAAAAAAAAAAAAAAAgD8AAAAAAAAAAAAAAAAAAIA/"}]})"};
}

std::vector<std::string> threemf_seeds() {
    // Stored rather than packed, too: mutations then reach the text.
    return {threemf_of(box(), "inch", {"1 0 0 0 -1 0 0 0 1 5 6 7"}, false), threemf_of(box()),
            threemf_package(
                {{"3D/3dmodel.model",
                  "<model xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\" "
                  "xmlns:p=\"http://schemas.microsoft.com/3dmanufacturing/production/2015/06\" "
                  "requiredextensions=\"p\"><resources><object id=\"2\"><components><component "
                  "p:path=\"/3D/a.model\" objectid=\"1\"/></components></object></resources>"
                  "<build><item objectid=\"2\" printable=\"1\"/></build></model>"},
                 {"3D/a.model",
                  "<model xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">"
                  "<resources><object id=\"1\" type=\"model\">" +
                      threemf_mesh(box()) + "</object></resources><build/></model>"}},
                false)};
}

std::vector<std::string> sniff_seeds() {
    std::vector<std::string> all;
    for (const auto& some : {stl_seeds(), obj_seeds(), ply_seeds(), off_seeds(), threemf_seeds()}) {
        all.insert(all.end(), some.begin(), some.end());
    }
    all.insert(all.end(), {"<?xml version=\"1.0\"?><amf unit=\"inch\"><object/></amf>",
                           "1.0 2.0 3.0\n4.0 5.0 6.0\n", "1.#INF", "+1e400", "0003.14e-5",
                           "ISO-10303-21;\nHEADER;", "\x89PNG\r\n\x1a\n"});
    return all;
}

std::vector<std::string> guarded_seeds() {
    std::vector<std::string> all;
    const auto formats = mesh_formats();
    const auto add = [&](std::string_view format, const std::string& bytes) {
        for (std::size_t i = 0; i < formats.size(); ++i) {
            if (formats[i].name == format) {
                all.push_back(static_cast<char>(i) + bytes);
            }
        }
    };
    add("stl", stl_of(box()));
    add("3mf", threemf_of(box()));
    add("glb", gltf_of(box()).glb());
    add("amf",
        "<amf unit=\"inch\"><object id=\"0\"><mesh><vertices><vertex><coordinates><x>0</x>"
        "<y>0</y><z>0</z></coordinates></vertex><vertex><coordinates><x>1</x><y>0</y><z>0"
        "</z></coordinates></vertex><vertex><coordinates><x>0</x><y>1</y><z>0</z>"
        "</coordinates></vertex></vertices><volume><triangle><v1>0</v1><v2>1</v2><v3>2</v3>"
        "</triangle></volume></mesh></object></amf>");
    add("dxf",
        "0\nSECTION\n2\nENTITIES\n0\n3DFACE\n10\n0\n20\n0\n30\n0\n11\n1\n21\n0\n31\n0\n12\n1"
        "\n22\n1\n32\n0\n13\n1\n23\n1\n33\n0\n0\nENDSEC\n0\nEOF\n");
    add("ac",
        "AC3Db\nMATERIAL \"\" rgb 1 1 1 amb 1 1 1 emis 0 0 0 spec 0 0 0 shi 0 trans 0\nOBJECT "
        "poly\nnumvert 3\n0 0 0\n1 0 0\n0 1 0\nnumsurf 1\nSURF 0x0\nmat 0\nrefs 3\n0 0 0\n1 0 "
        "0\n2 0 0\nkids 0\n");
    add("dae",
        "<COLLADA version=\"1.4.1\"><asset><unit meter=\"0.01\"/><up_axis>Z_UP</up_axis>"
        "</asset><library_geometries><geometry id=\"g\"><mesh><source id=\"p\"><float_array "
        "id=\"a\" count=\"9\">0 0 0 1 0 0 0 1 0</float_array><technique_common><accessor "
        "source=\"#a\" count=\"3\" stride=\"3\"><param name=\"X\" type=\"float\"/><param "
        "name=\"Y\" type=\"float\"/><param name=\"Z\" type=\"float\"/></accessor>"
        "</technique_common></source><vertices id=\"v\"><input semantic=\"POSITION\" "
        "source=\"#p\"/></vertices><triangles count=\"1\"><input semantic=\"VERTEX\" "
        "source=\"#v\" offset=\"0\"/><p>0 1 2</p></triangles></mesh></geometry>"
        "</library_geometries><library_visual_scenes><visual_scene id=\"s\"><node><instance_"
        "geometry url=\"#g\"/></node></visual_scene></library_visual_scenes><scene><instance_"
        "visual_scene url=\"#s\"/></scene></COLLADA>");
    return all;
}

std::vector<std::string> wire_seeds() {
    std::vector<std::string> all;
    for (const bool indexed : {false, true}) {
        Soup soup;
        soup.mesh = box();
        soup.format = indexed ? "obj" : "stl-binary";
        soup.triangles_in_file = soup.mesh.triangles.size();
        if (indexed) {
            soup.unit_mm = 25.4;
            soup.mesh.vertices[0][0] += 1e-12;
        }
        const auto path = scratch_file("wire", "");
        const int file = ::open(path.c_str(), O_RDWR | O_TRUNC);
        send_soup(file, soup);
        std::string bytes(static_cast<std::size_t>(::lseek(file, 0, SEEK_END)), '\0');
        REQUIRE(::pread(file, bytes.data(), bytes.size(), 0) == static_cast<ssize_t>(bytes.size()));
        ::close(file);
        all.push_back(std::move(bytes));
    }
    return all;
}

std::vector<std::string> mend_seeds() {
    std::vector<std::string> all = {std::string(1, '\0') + small_mesh_bytes(box(), 0)};
    unsigned bits = 0;
    for (const TriMesh& mesh : damaged_boxes()) {
        for (const unsigned form : {0U, 4U, 8U + 3U, 16U}) {
            all.push_back(static_cast<char>(bits) + small_mesh_bytes(mesh, form));
        }
        bits += 16U + 1U;
    }
    return all;
}

std::vector<std::string> arrange_seeds() {
    const auto bytes = [](const std::vector<int>& numbers) {
        std::string text;
        for (const int n : numbers) {
            text += static_cast<char>(n);
        }
        return text;
    };
    return {
        bytes({0, 0, 0, 90, 0, 0, 0, 90, 0, 0, 0, 90, 10, 10, 10, 99, 11, 12, 7, 99, 5, 9, 3, 99}),
        bytes({0, 0, 0, 90, 0, 0, 0, 90, 0, 0, 0, 90, 0, 0, 0, 90, 0, 0, 0, -90, 0, 0, 0, 90}),
        bytes({0, 0, 0, 90, 0, 0, 0, 90, 0, 0, 0, 90, 30, 0, 0, 60, 0, 0, 30, 50, 0, 40, 9, -50})};
}

}  // namespace fuzz
