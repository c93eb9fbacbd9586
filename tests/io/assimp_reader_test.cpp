// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cstring>
#include <limits>

#include <fmt/core.h>

#include "cavigram/geom/vector.h"
#include "cavigram/io/assimp_reader_detail.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"

#include "io_tools.h"
#include "support/near.h"

using namespace io_test;

namespace {

// Through the guarded reader, as everything from outside goes.
Soup read_text(const std::string& name, std::string_view bytes) {
    const Folder folder;
    return read_mesh(folder.file(name, bytes));
}

void check_is_box(const Soup& soup, double volume = 24.0, double area = 52.0) {
    CHECK(keeps_promises(soup));
    CHECK(soup.mesh.triangles.size() == 12);
    CHECK_NEAR(plain_volume(soup.mesh), volume, 1e-6);
    CHECK_NEAR(plain_area(soup.mesh), area, 1e-6);
}

const TriMesh& box() {
    static const TriMesh mesh = box_solid(2, 3, 4).mesh;
    return mesh;
}

// A COLLADA text with one box, its unit and up axis as given.
std::string dae_of(const TriMesh& mesh, const std::string& asset) {
    std::string positions;
    std::string indices;
    for (const Vec3& v : mesh.vertices) {
        positions += fmt::format("{:.9g} {:.9g} {:.9g} ", v[0], v[1], v[2]);
    }
    for (const Triangle& t : mesh.triangles) {
        indices += fmt::format("{} {} {} ", t[0], t[1], t[2]);
    }
    return fmt::format(
        "<?xml version=\"1.0\"?><COLLADA xmlns=\"http://www.collada.org/2005/11/COLLADASchema\" "
        "version=\"1.4.1\">"
        "<asset>{}</asset><library_geometries><geometry id=\"g\"><mesh><source id=\"p\">"
        "<float_array id=\"pa\" count=\"{}\">{}</float_array><technique_common>"
        "<accessor source=\"#pa\" count=\"{}\" stride=\"3\"><param name=\"X\" type=\"float\"/>"
        "<param name=\"Y\" type=\"float\"/><param name=\"Z\" "
        "type=\"float\"/></accessor></technique_common></source>"
        "<vertices id=\"v\"><input semantic=\"POSITION\" source=\"#p\"/></vertices><triangles "
        "count=\"{}\">"
        "<input semantic=\"VERTEX\" source=\"#v\" "
        "offset=\"0\"/><p>{}</p></triangles></mesh></geometry>"
        "</library_geometries><library_visual_scenes><visual_scene "
        "id=\"s\"><node><instance_geometry url=\"#g\"/>"
        "</node></visual_scene></library_visual_scenes><scene><instance_visual_scene "
        "url=\"#s\"/></scene></COLLADA>",
        asset, 3 * mesh.vertices.size(), positions, mesh.vertices.size(), mesh.triangles.size(),
        indices);
}

// FBX as text, with the factor to centimeters that it states.
std::string fbx_of(const TriMesh& mesh, const std::string& unit_factor) {
    std::string corners;
    for (const Vec3& v : mesh.vertices) {
        corners += fmt::format("{}{:g},{:g},{:g}", corners.empty() ? "" : ",", v[0], v[1], v[2]);
    }
    // The last corner of a polygon is written as its complement.
    std::string polygons;
    for (const Triangle& t : mesh.triangles) {
        polygons += fmt::format("{}{},{},{}", polygons.empty() ? "" : ",", t[0], t[1], -t[2] - 1);
    }
    return fmt::format(
        "; FBX 7.4.0 project file\n"
        "FBXHeaderExtension:  {{\n FBXHeaderVersion: 1003\n FBXVersion: 7400\n}}\n"
        "GlobalSettings:  {{\n Version: 1000\n Properties70:  {{\n"
        "  P: \"UnitScaleFactor\", \"double\", \"Number\", \"\",{}\n }}\n}}\n"
        "Objects:  {{\n Geometry: 1, \"Geometry::box\", \"Mesh\" {{\n"
        "  Vertices: *{} {{\n   a: {}\n  }}\n  PolygonVertexIndex: *{} {{\n   a: {}\n  }}\n }}\n"
        " Model: 2, \"Model::box\", \"Mesh\" {{\n  Version: 232\n }}\n}}\n"
        "Connections:  {{\n C: \"OO\",1,2\n C: \"OO\",2,0\n}}\n",
        unit_factor, 3 * mesh.vertices.size(), corners, 3 * mesh.triangles.size(), polygons);
}

// A glTF text with one triangle, its buffer where `uri` says.
std::string gltf_with_buffer(const std::string& uri, std::size_t bytes = 36) {
    return "{\"asset\":{\"version\":\"2.0\"},\"scene\":0,\"scenes\":[{\"nodes\":[0]}],\"nodes\":[{"
           "\"mesh\":0}],"
           "\"buffers\":[{\"uri\":\"" +
           uri + "\",\"byteLength\":" + std::to_string(bytes) +
           "}],\"bufferViews\":[{\"buffer\":0,\"byteOffset\":0,\"byteLength\":36}],"
           "\"accessors\":[{\"bufferView\":0,\"componentType\":5126,\"count\":3,\"type\":\"VEC3\","
           "\"min\":[0,0,0],\"max\":[1,1,0]}],\"meshes\":[{\"primitives\":[{\"attributes\":{"
           "\"POSITION\":0}}]}]}";
}

std::string triangle_buffer() {
    std::string bytes;
    for (const float c : {0.F, 0.F, 0.F, 1.F, 0.F, 0.F, 0.F, 1.F, 0.F}) {
        put(bytes, c);
    }
    return bytes;
}

}  // namespace

TEST_CASE("OBJ, PLY and OFF give the box back, without a unit") {
    struct Row {
        const char* name;
        std::string bytes;
    };
    for (const Row& row : {Row{"obj", obj_of(box())}, Row{"ply", ply_text_of(box())},
                           Row{"ply", ply_bytes(box())}, Row{"off", off_of(box())}}) {
        CAPTURE(row.name);
        const Soup soup = read_text(std::string("part.") + row.name, row.bytes);
        check_is_box(soup);
        CHECK(soup.format == row.name);
        CHECK(soup.triangles_in_file == 12);
        CHECK_FALSE(soup.unit_mm.has_value());
        CHECK(soup.findings.empty());
    }
}

TEST_CASE("polygons are cut, points and lines passed over, normals do not matter") {
    const std::string obj =
        "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nv 0 0 1\nv 1 0 1\nv 1 1 1\nv 0 1 1\nvn 0 0 1\nvn 1 0 "
        "0\nvt 0 0\n"
        "p 1\nl 1 7\nf 4/1/1 3/1/2 2/1/1 1/1/2\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf -5 -6 -2 -1\nf "
        "4 1 5 8\n";
    const Soup soup = read_text("cube.obj", obj);
    check_is_box(soup, 1.0, 6.0);
    // An L of eight corners as one face at bottom and top: area 3 each, height 1.
    const std::string off =
        "OFF # a comment\n12 8 0\n0 0 0\n2 0 0\n2 1 0\n1 1 0\n1 2 0\n0 2 0\n0 0 1\n2 0 1\n2 1 1\n1 "
        "1 1\n1 2 1\n0 2 1\n"
        "6 5 4 3 2 1 0\n6 6 7 8 9 10 11\n4 0 1 7 6\n4 1 2 8 7\n4 2 3 9 8\n4 3 4 10 9\n4 4 5 11 "
        "10\n4 5 0 6 11\n";
    const Soup bar = read_text("bar.off", off);
    CHECK(bar.mesh.triangles.size() == 20);
    CHECK_NEAR(plain_volume(bar.mesh), 3.0, 1e-12);
    CHECK_NEAR(plain_area(bar.mesh), 6.0 + 8.0, 1e-12);
}

TEST_CASE("3MF: unit, transforms, and mirrored placements keep outside outside") {
    check_is_box(read_text("a.3mf", threemf_of(box())));
    CHECK(read_text("a.3mf", threemf_of(box())).unit_mm == 1.0);
    CHECK(read_text("a.3mf", threemf_of(box(), "")).unit_mm == 1.0);
    CHECK(read_text("a.3mf", threemf_of(box(), "inch")).unit_mm == 25.4);
    CHECK(read_text("a.3mf", threemf_of(box(), "meter", {""}, false)).unit_mm == 1000.0);
    // Three placements: shifted, doubled, mirrored in x. Volumes 24 + 8 * 24 + 24, all positive.
    const Soup three =
        read_text("a.3mf", threemf_of(box(), "inch",
                                      {"1 0 0 0 1 0 0 0 1 100 0 0", "2 0 0 0 2 0 0 0 2 0 50 0",
                                       "-1 0 0 0 1 0 0 0 1 0 0 0"}));
    CHECK(three.mesh.triangles.size() == 36);
    CHECK_NEAR(plain_volume(three.mesh), 10.0 * 24.0, 1e-6);
    const Box3 around = bounds(three.mesh);
    CHECK_NEAR(around.max().x(), 102.0, 1e-6);
    CHECK_NEAR(around.min().x(), -2.0, 1e-6);
    CHECK_NEAR(around.max().y(), 56.0, 1e-6);
}

TEST_CASE("glTF: meters, and turned so that z is up") {
    const Soup soup = read_text("part.glb", glb_bytes(box()));
    check_is_box(soup, 24e-9, 52e-6);
    CHECK(soup.format == "glb");
    CHECK(soup.unit_mm == 1000.0);
    CHECK(has_finding(soup, "turned_z_up"));
    const Box3 around = bounds(soup.mesh);
    CHECK_NEAR(around.max().z(), 0.004, 1e-6);
    CHECK_NEAR(around.max().x(), 0.002, 1e-6);
}

TEST_CASE("glTF buffers are taken from beside the file, and from nowhere else") {
    const Folder folder;
    std::filesystem::create_directory(folder.path() / "inside");
    static_cast<void>(folder.file("inside/near.bin", triangle_buffer()));
    static_cast<void>(folder.file("outside.bin", triangle_buffer()));
    const Soup soup = read_mesh(folder.file("inside/a.gltf", gltf_with_buffer("near.bin")));
    CHECK(soup.mesh.triangles.size() == 1);
    CHECK(soup.format == "gltf");
    CHECK_NEAR(plain_area(soup.mesh), 0.5, 1e-12);
    for (const std::string& uri :
         {std::string("../outside.bin"), (folder.path() / "outside.bin").string(),
          std::string("missing.bin"), std::string("/dev/zero")}) {
        CAPTURE(uri);
        check_sentence(refusal(
            [&] { return read_mesh(folder.file("inside/b.gltf", gltf_with_buffer(uri))); }));
    }
}

TEST_CASE("COLLADA: its unit and up axis") {
    const Soup inches =
        read_text("a.dae", dae_of(box(), "<unit meter=\"0.0254\"/><up_axis>Z_UP</up_axis>"));
    REQUIRE(inches.unit_mm.has_value());
    CHECK_NEAR(plain_volume(inches.mesh) * std::pow(*inches.unit_mm, 3), 24.0 * std::pow(25.4, 3),
               1e-6);
    CHECK_NEAR(bounds(inches.mesh).max().z() * *inches.unit_mm, 4.0 * 25.4, 1e-6);
    // Y up: what stands 3 high there stands 3 high here, and y = 4 - z of the file's axes.
    const Soup meters =
        read_text("a.dae", dae_of(box(), "<unit meter=\"1\"/><up_axis>Y_UP</up_axis>"));
    check_is_box(meters);
    CHECK_NEAR(bounds(meters.mesh).max().z(), 3.0, 1e-6);
    CHECK_NEAR(bounds(meters.mesh).min().y(), -4.0, 1e-6);
}

TEST_CASE("AMF states its unit") {
    std::string text =
        "<?xml version=\"1.0\"?><amf unit=\"inch\"><object id=\"0\"><mesh><vertices>";
    for (const Vec3& v : box().vertices) {
        text += fmt::format(
            "<vertex><coordinates><x>{:g}</x><y>{:g}</y><z>{:g}</z></coordinates></vertex>", v[0],
            v[1], v[2]);
    }
    text += "</vertices><volume>";
    for (const Triangle& t : box().triangles) {
        text +=
            fmt::format("<triangle><v1>{}</v1><v2>{}</v2><v3>{}</v3></triangle>", t[0], t[1], t[2]);
    }
    const Soup soup = read_text("a.amf", text + "</volume></mesh></object></amf>");
    check_is_box(soup);
    CHECK(soup.unit_mm == 25.4);
}

TEST_CASE("FBX: centimeters times its factor, and no unit where that is no number to count with") {
    const Soup inches = read_text("a.fbx", fbx_of(box(), "2.54"));
    check_is_box(inches);
    REQUIRE(inches.unit_mm.has_value());
    CHECK_NEAR(*inches.unit_mm, 25.4, 1e-6);
    for (const char* const factor : {"1e39", "1e999", "-1"}) {
        CAPTURE(factor);
        const Soup soup = read_text("a.fbx", fbx_of(box(), factor));
        check_is_box(soup);
        CHECK_FALSE(soup.unit_mm.has_value());
    }
}

TEST_CASE("bad indices and bad numbers behind an importer") {
    std::string ply = ply_text_of(box());
    const std::size_t last = ply.rfind("3 1 7 5");
    REQUIRE(last != ply.npos);
    // Assimp 5.2.5 hands out PLY indices unchecked (algorithms.md, section 1).
    const std::string bad_index =
        refusal([&] { return read_text("a.ply", std::string(ply).replace(last, 7, "3 1 99 5")); });
    check_sentence(bad_index);
    CHECK(bad_index.find("99") != bad_index.npos);
    check_sentence(
        refusal([&] { return read_text("a.ply", std::string(ply).replace(last, 7, "3 1 -7 5")); }));

    TriMesh broken = box();
    broken.vertices[7] = Vec3(std::numeric_limits<double>::quiet_NaN(), 0, 0);
    const Soup nan = read_text(
        "a.ply", ply_bytes(box()).substr(0, 0) + [&] {
            // The writer refuses NaN, so its bytes are put in here: vertex 7 of 8 floats triples
            // before 12 faces of 13 bytes.
            std::string bytes = ply_bytes(box());
            const float value = std::numeric_limits<float>::quiet_NaN();
            std::memcpy(bytes.data() + bytes.size() - 12 * 13 - 12, &value, sizeof value);
            return bytes;
        }());
    CHECK(keeps_promises(nan));
    CHECK(nan.dropped_nonfinite ==
          static_cast<std::size_t>(std::count_if(
              box().triangles.begin(), box().triangles.end(),
              [](const Triangle& t) { return std::find(t.begin(), t.end(), 7) != t.end(); })));
    CHECK(nan.mesh.triangles.size() + nan.dropped_nonfinite == 12);
    CHECK(has_finding(nan, "triangles_not_finite"));

    broken.vertices[7] = Vec3(1e30, 0, 0);
    const Soup far = read_text("a.obj", obj_of(broken));
    CHECK(keeps_promises(far));
    CHECK(far.dropped_out_of_range == nan.dropped_nonfinite);
    TriMesh all_far = box();
    for (Vec3& v : all_far.vertices) {
        v.array() += 1e30;
    }
    check_sentence(refusal([&] { return read_text("a.obj", obj_of(all_far)); }));
}

TEST_CASE("only points, only lines, or nothing is refused as no surface") {
    for (const char* text :
         {"v 0 0 0\nv 1 1 1\np 1 2\n", "v 0 0 0\nv 1 1 1\nl 1 2\n", "# nothing\n", "v 0 0 0\n"}) {
        CAPTURE(text);
        check_sentence(refusal([&] { return read_text("a.obj", text); }));
    }
    check_sentence(refusal([&] { return read_text("a.off", "OFF\n0 0 0\n"); }));
    check_sentence(refusal([&] {
        return read_text("a.ply",
                         "ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty "
                         "float y\nproperty float z\n"
                         "end_header\n0 0 0\n");
    }));
}
