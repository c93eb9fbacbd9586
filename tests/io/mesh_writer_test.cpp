// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/mesh_writer.h"

#include <cstring>
#include <limits>

#include <nlohmann/json.hpp>

#include "cavigram/io/mesh_reader.h"
#include "cavigram/io/stl_reader.h"
#include "cavigram/mesh/solids.h"

#include "io_tools.h"
#include "support/near.h"

using namespace io_test;

namespace {

std::uint32_t word(const std::string& bytes, std::size_t at) {
    std::uint32_t value = 0;
    std::memcpy(&value, bytes.data() + at, sizeof value);
    return value;
}

struct Glb {
    nlohmann::json json;
    std::string binary;
};

// Takes a GLB apart by the layout in glTF 2.0, section 4.4, checking it on the way.
Glb taken_apart(const std::string& bytes) {
    REQUIRE(bytes.size() > 28);
    CHECK(bytes.starts_with("glTF"));
    CHECK(word(bytes, 4) == 2);
    CHECK(word(bytes, 8) == bytes.size());
    const std::size_t json_bytes = word(bytes, 12);
    CHECK(json_bytes % 4 == 0);
    CHECK(bytes.substr(16, 4) == "JSON");
    const std::size_t at = 20 + json_bytes;
    REQUIRE(at + 8 <= bytes.size());
    CHECK(word(bytes, at) == bytes.size() - at - 8);
    CHECK(word(bytes, at) % 4 == 0);
    CHECK(bytes.substr(at + 4, 4) == std::string("BIN\0", 4));
    return {nlohmann::json::parse(bytes.substr(20, json_bytes)), bytes.substr(at + 8)};
}

std::vector<Rgb> some_colors(const TriMesh& mesh) {
    std::vector<Rgb> colors;
    for (std::size_t i = 0; i < mesh.vertices.size(); ++i) {
        colors.push_back(
            {static_cast<std::uint8_t>(i), static_cast<std::uint8_t>(255 - i % 256), 128});
    }
    return colors;
}

void check_same(const TriMesh& a, const TriMesh& b, double largest_difference) {
    REQUIRE(a.triangles.size() == b.triangles.size());
    double worst = 0.0;
    for (std::size_t t = 0; t < a.triangles.size(); ++t) {
        for (int i = 0; i < 3; ++i) {
            worst = std::max(worst, (a.corner(t, i) - b.corner(t, i)).norm());
        }
    }
    CHECK(worst <= largest_difference);
}

}  // namespace

TEST_CASE("STL: layout, normals, and the same triangles back") {
    const TriMesh box = box_solid(2, 3, 4).mesh;
    const std::string bytes = stl_bytes(box);
    CHECK(bytes.size() == 84 + 50 * 12);
    CHECK_FALSE(bytes.starts_with("solid"));
    CHECK(word(bytes, 80) == 12);
    // The first triangle of the box lies in its bottom: normal 0 0 -1.
    CHECK(word(bytes, 84) == 0);
    CHECK(word(bytes, 88) == 0);
    CHECK(word(bytes, 92) == 0xBF800000U);
    const Soup back = parse_stl(bytes);
    CHECK(back.findings.empty());
    check_same(back.mesh, box, 0.0);
    const TriMesh torus = torus_solid(30, 10, 48).mesh;
    check_same(parse_stl(stl_bytes(torus)).mesh, torus,
               40.0 * 1.1e-7);  // half a step of float32 in each coordinate
    TriMesh flat = box;
    flat.triangles = {{0, 1, 1}};
    CHECK(word(stl_bytes(flat), 84) == 0);  // no area: normal 0 0 0
    CHECK(stl_bytes(TriMesh()).size() == 84);
}

TEST_CASE("PLY: float where nothing is lost, else double, and colors") {
    const Folder folder;
    const TriMesh box = box_solid(2, 3, 4).mesh;
    CHECK(ply_bytes(box).find("property float x") != std::string::npos);
    check_same(read_mesh(folder.file("a.ply", ply_bytes(box))).mesh, box, 0.0);
    const TriMesh torus = torus_solid(30, 10, 48).mesh;
    const auto colors = some_colors(torus);
    const std::string bytes = ply_bytes(torus, colors);
    CHECK(bytes.find("property double z\nproperty uchar red") != std::string::npos);
    const Soup back = read_mesh(folder.file("b.ply", bytes));
    CHECK(back.format == "ply");
    check_same(back.mesh, torus, 40.0 * 1.1e-7);  // Assimp narrows to float32 on reading
    // The doubles themselves: first vertex behind the header, 27 bytes a vertex.
    const std::size_t body = bytes.find("end_header\n") + 11;
    CHECK(bytes.size() == body + 27 * torus.vertices.size() + 13 * torus.triangles.size());
    for (const std::size_t i : {std::size_t{0}, torus.vertices.size() - 1}) {
        CHECK(std::memcmp(bytes.data() + body + 27 * i, torus.vertices[i].data(), 24) == 0);
        CHECK(std::memcmp(bytes.data() + body + 27 * i + 24, colors[i].data(), 3) == 0);
    }
}

TEST_CASE("GLB: valid by the rules of glTF 2.0, and the same part back") {
    const TriMesh torus = torus_solid(30, 10, 48).mesh;
    const auto colors = some_colors(torus);
    const std::string name = "a \"part\" \xFF of \xC3\xA9";
    const Glb glb = taken_apart(glb_bytes(torus, colors, name));
    CHECK(glb.json["asset"]["version"] == "2.0");
    CHECK(glb.json["buffers"][0]["byteLength"] == glb.binary.size());
    const auto& primitive = glb.json["meshes"][0]["primitives"][0];
    const auto accessor = [&](const nlohmann::json& number) {
        return glb.json["accessors"][number.get<std::size_t>()];
    };
    std::size_t expected_at = 0;
    for (const auto& view : glb.json["bufferViews"]) {
        CHECK(view["byteOffset"].get<std::size_t>() == expected_at);
        CHECK(expected_at % 4 == 0);
        expected_at += view["byteLength"].get<std::size_t>();
    }
    CHECK(expected_at == glb.binary.size());

    const auto positions = accessor(primitive["attributes"]["POSITION"]);
    CHECK(positions["count"] == torus.vertices.size());
    CHECK(positions["componentType"] == 5126);
    CHECK(positions["type"] == "VEC3");
    // min and max must be those of the stored floats, to the last bit.
    std::array<double, 3> low{1e9, 1e9, 1e9};
    std::array<double, 3> high{-1e9, -1e9, -1e9};
    for (std::size_t i = 0; i < torus.vertices.size(); ++i) {
        for (std::size_t k = 0; k < 3; ++k) {
            float value = 0.0F;
            std::memcpy(&value, glb.binary.data() + 12 * i + 4 * k, sizeof value);
            low[k] = std::min(low[k], static_cast<double>(value));
            high[k] = std::max(high[k], static_cast<double>(value));
        }
    }
    for (std::size_t k = 0; k < 3; ++k) {
        CHECK(static_cast<float>(positions["min"][k].get<double>()) == static_cast<float>(low[k]));
        CHECK(static_cast<float>(positions["max"][k].get<double>()) == static_cast<float>(high[k]));
    }
    CHECK_NEAR(high[0], 0.040, 1e-6);  // meters

    const auto paint = accessor(primitive["attributes"]["COLOR_0"]);
    CHECK(paint["componentType"] == 5121);
    CHECK(paint["type"] == "VEC4");
    CHECK(paint["normalized"] == true);
    // sRGB 128 is 0.2159 in linear light (IEC 61966-2-1), 55 of 255; 255 stays and 0 stays.
    const auto* stored =
        reinterpret_cast<const std::uint8_t*>(glb.binary.data()) + 12 * torus.vertices.size();
    CHECK(stored[0] == 0);
    CHECK(stored[1] == 255);
    CHECK(stored[2] == 55);
    CHECK(stored[3] == 255);

    const auto indices = accessor(primitive["indices"]);
    CHECK(indices["componentType"] == 5125);
    CHECK(indices["count"] == 3 * torus.triangles.size());
    const auto rotation = glb.json["nodes"][0]["rotation"].get<std::vector<double>>();
    CHECK_NEAR(Eigen::Vector4d(rotation.data()).norm(), 1.0, 1e-15);
    // z, up here, must come to y, up there.
    const Eigen::Quaterniond turn(rotation[3], rotation[0], rotation[1], rotation[2]);
    CHECK((turn * Vec3::UnitZ() - Vec3::UnitY()).norm() < 1e-15);

    const Folder folder;
    const Soup back = read_mesh(folder.file("a.glb", glb_bytes(torus, colors, name)));
    REQUIRE(back.unit_mm == 1000.0);
    check_same(transformed(back.mesh, *back.unit_mm, Vec3::Zero()), torus, 1e-5);
}

TEST_CASE("writers refuse what the formats can't hold") {
    TriMesh box = box_solid(1, 1, 1).mesh;
    const std::vector<Rgb> few(3);
    CHECK_THROWS_AS(static_cast<void>(ply_bytes(box, few)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(glb_bytes(box, few)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(glb_bytes(TriMesh())), InvalidInput);
    box.vertices[2][1] = 1e39;  // beyond float32 but not beyond double
    CHECK_THROWS_AS(static_cast<void>(stl_bytes(box)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(glb_bytes(box)), InvalidInput);
    CHECK(ply_bytes(box).find("double") != std::string::npos);
    box.vertices[2][1] = std::numeric_limits<double>::quiet_NaN();
    CHECK_THROWS_AS(static_cast<void>(stl_bytes(box)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(ply_bytes(box)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(glb_bytes(box)), InvalidInput);
}
