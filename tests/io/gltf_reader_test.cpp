// SPDX-License-Identifier: GPL-3.0-or-later
// Expected readings follow the glTF 2.0 specification (ISO/IEC 12113:2022; sections are named) and
// the Khronos registry's texts of the extensions. Streams are packed by the libraries' own
// encoders.
#include "cavigram/io/gltf_reader.h"

#include <set>
#include <sys/stat.h>

#include "cavigram/geom/vector.h"
#include "cavigram/io/assimp_reader_detail.h"
#include "cavigram/io/draco_mesh_detail.h"
#include "cavigram/io/gltf_data_detail.h"
#include "cavigram/io/mesh_format.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"

#include "gltf_packed_tools.h"
#include "gltf_tools.h"
#include "ply_tools.h"
#include "support/near.h"

using namespace io_test;
using nlohmann::json;

namespace {

const TriMesh& box() {
    static const TriMesh mesh = box_solid(2, 3, 4).mesh;  // volume 24
    return mesh;
}

Soup read(Gltf& g) {
    auto soup = parse_gltf(g.glb(), ".", "a.glb");
    REQUIRE(soup.has_value());
    CHECK(keeps_promises(*soup));
    return std::move(*soup);
}

std::string refused(Gltf& g) {
    const std::string text = refusal([&] { return parse_gltf(g.glb(), ".", "a.glb"); });
    check_sentence(text);
    return text;
}

bool says(const std::string& text, std::string_view what) {
    return text.find(what) != std::string::npos;
}

// The volume of the mesh as float32 has it. By way of the bytes: g++ 12 with -O2 leaves out casts
// to float and back of neighbors in a vector.
double float_volume(TriMesh mesh) {
    const std::string bytes = Gltf::floats(mesh.vertices);
    for (std::size_t i = 0; i < mesh.vertices.size(); ++i) {
        for (std::size_t k = 0; k < 3; ++k) {
            float number = 0.0F;
            std::memcpy(&number, bytes.data() + 12 * i + 4 * k, sizeof number);
            mesh.vertices[i][static_cast<int>(k)] = static_cast<double>(number);
        }
    }
    return plain_volume(mesh);
}

}  // namespace

TEST_CASE("glTF: lists, strips and fans, with indices of each size and without") {
    // Section 3.7.2.1. Octahedron |x| + |y| + |z| <= 2: volume 4/3 2^3, area 4 sqrt(3) 2^2.
    TriMesh eight;
    eight.vertices = {{2, 0, 0}, {0, 2, 0}, {-2, 0, 0}, {0, -2, 0}, {0, 0, 2}, {0, 0, -2}};
    Gltf fans;
    const int position = fans.positions(eight);
    const int over = fans.indices<std::uint8_t>({4, 0, 1, 2, 3, 0}, 5121);
    const int under = fans.indices<std::uint16_t>({5, 0, 3, 2, 1, 0}, 5123);
    fans.node({{"mesh", fans.mesh(position, over, 6)}});
    fans.node({{"mesh", fans.mesh(position, under, 6)}});
    const Soup octahedron = read(fans);
    CHECK(octahedron.mesh.triangles.size() == 8);
    CHECK_NEAR(plain_volume(octahedron.mesh), 32.0 / 3.0, 1e-14);
    CHECK_NEAR(plain_area(octahedron.mesh), 16.0 * std::sqrt(3.0), 1e-14);
    CHECK(octahedron.unit_mm == 1000.0);
    CHECK(has_finding(octahedron, "turned_z_up"));

    constexpr std::int32_t kColumns = 24;
    const Solid torus = torus_solid(30, 10, kColumns);
    Gltf strips;
    const TriMesh grid = torus_grid(30, 10, kColumns);
    const int ring = strips.positions(grid);
    for (const auto& strip : torus_strips(kColumns)) {
        strips.node({{"mesh", strips.mesh(ring, strips.indices<std::uint32_t>(strip, 5125), 5)}});
    }
    const Soup stripped = read(strips);
    CHECK(stripped.mesh.triangles.size() == torus.mesh.triangles.size());
    CHECK_NEAR(plain_volume(stripped.mesh), torus.volume_mm3, 1e-6);

    Gltf loose;
    TriMesh apart;
    for (const std::int32_t i : Gltf::corners(box())) {
        apart.vertices.push_back(box().vertices[static_cast<std::size_t>(i)]);
    }
    loose.node({{"mesh", loose.mesh(loose.positions(apart))}});
    loose.node({{"mesh", loose.mesh(0, -1, 0)}});  // points
    loose.node({{"mesh", loose.mesh(0, -1, 3)}});  // a line
    CHECK_NEAR(plain_volume(read(loose).mesh), 24.0, 1e-14);
}

TEST_CASE("glTF: plain files agree with Assimp's reader") {
    const std::string bytes = glb_bytes(torus_solid(30, 10, 24).mesh);
    const Soup ours = *parse_gltf(bytes, ".");
    const Soup other = read_with_assimp(bytes, *format_of(bytes, ".glb"), ".", "a.glb");
    CHECK(ours.mesh.triangles.size() == other.mesh.triangles.size());
    CHECK_NEAR(plain_volume(ours.mesh), plain_volume(other.mesh), 1e-6);
    CHECK((bounds(ours.mesh).max() - bounds(other.mesh).max()).norm() < 1e-8);
}

TEST_CASE("glTF: KHR_mesh_quantization, whole and normalized numbers of one and two bytes") {
    // Section 3.6.2.2 and the extension: c / 127, / 255, / 32767, / 65535. The node's scale brings
    // the box of 2 x 3 x 4 back.
    const auto file = [&](auto zero, int type, bool normalized, double scale) {
        Gltf g;
        g.require("KHR_mesh_quantization");
        std::string bytes;
        for (const Vec3& v : box().vertices) {
            for (int k = 0; k < 3; ++k) {
                put(bytes, static_cast<decltype(zero)>(v[k] * 10.0));
            }
            bytes.resize((bytes.size() + 3) / 4 * 4, '\0');
        }
        const int stride = static_cast<int>(bytes.size() / box().vertices.size());
        const int position = g.accessor(g.view(bytes, stride), type, 8, "VEC3", normalized);
        g.node({{"mesh", g.mesh(position, g.indices<std::uint16_t>(Gltf::corners(box()), 5123))},
                {"scale", {scale / 10.0, scale / 10.0, scale / 10.0}}});
        return g;
    };
    for (Gltf g :
         {file(std::int8_t{}, 5120, false, 1.0), file(std::uint8_t{}, 5121, false, 1.0),
          file(std::int16_t{}, 5122, false, 1.0), file(std::uint16_t{}, 5123, false, 1.0),
          file(std::int8_t{}, 5120, true, 127.0), file(std::uint8_t{}, 5121, true, 255.0),
          file(std::int16_t{}, 5122, true, 32767.0), file(std::uint16_t{}, 5123, true, 65535.0)}) {
        CHECK_NEAR(plain_volume(read(g).mesh), 24.0, 1e-14);
    }
}

TEST_CASE("glTF: sparse accessors, over zeros and over a view") {
    // Section 3.6.2.3: without a view the accessor is all zeros before the values are put in.
    for (const bool over_view : {false, true}) {
        Gltf g;
        TriMesh wrong = box();
        for (const std::size_t i : {1, 3, 6}) {
            wrong.vertices[i] = Vec3(9, 9, 9);
        }
        std::string places;
        std::vector<Vec3> values;
        for (std::size_t i = 0; i < 8; ++i) {
            if (!over_view || wrong.vertices[i] != box().vertices[i]) {
                put(places, static_cast<std::uint16_t>(i));
                values.push_back(box().vertices[i]);
            }
        }
        const int base = over_view ? g.view(Gltf::floats(wrong.vertices)) : -1;
        const int position = g.accessor(base, 5126, 8, "VEC3");
        g.json["accessors"][static_cast<std::size_t>(position)]["sparse"] = {
            {"count", values.size()},
            {"indices", {{"bufferView", g.view(places)}, {"componentType", 5123}}},
            {"values", {{"bufferView", g.view(Gltf::floats(values))}}}};
        g.node({{"mesh", g.mesh(position, g.indices<std::uint8_t>(Gltf::corners(box()), 5121))}});
        CHECK_NEAR(plain_volume(read(g).mesh), 24.0, 1e-14);
        g.json["accessors"][0]["sparse"]["count"] = 9;
        refused(g);
        g.json["accessors"][0]["sparse"]["count"] = 1 << 30;
        refused(g);
    }
}

TEST_CASE("glTF: nested and mirrored nodes, matrices, quaternions, copies") {
    // Section 3.5.3. A quarter turn about y as a quaternion that is not of length one.
    Gltf g = gltf_of(box(), {{"translation", {10, 0, 0}}});
    g.node({{"children", {0}}, {"scale", {-2, 2, 2}}});
    g.node({{"children", {1}}, {"rotation", {0, 2, 0, 2}}});
    g.node({{"children", {2}}, {"matrix", {1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 5, 0, 1}}});
    g.node({{"mesh", 0}, {"translation", {0, -100, 0}}});
    g.json["scenes"] = {{{"nodes", {4}}}, {{"nodes", {3, 4}}}};
    g.json["scene"] = 1;
    const Soup both = read(g);
    CHECK(both.mesh.triangles.size() == 24);
    CHECK_NEAR(plain_volume(both.mesh), 8.0 * 24.0 + 24.0, 1e-14);
    // The first box: x 10 to 12 becomes -24 to -20, after the turn z 20 to 24, and z up there is -y
    // here; y 0 to 3 becomes 5 to 11, which is z here.
    CHECK_NEAR(bounds(both.mesh).min().y(), -24.0, 1e-14);
    CHECK_NEAR(bounds(both.mesh).max().z(), 11.0, 1e-14);
    CHECK_NEAR(bounds(both.mesh).min().z(), -100.0, 1e-14);
    g.json["scene"] = 0;
    CHECK_NEAR(plain_volume(read(g).mesh), 24.0, 1e-14);
    g.json["scene"] = 7;
    refused(g);

    // EXT_mesh_gpu_instancing: three copies, the second doubled, the third turned.
    Gltf copies = gltf_of(box(), {{"scale", {1, 1, 1}}});
    copies.require("EXT_mesh_gpu_instancing");
    std::string turns;
    for (const float c : {0.F, 0.F, 0.F, 1.F, 0.F, 0.F, 0.F, 1.F, 0.F, 0.F, 1.F, 0.F}) {
        put(turns, c);
    }
    const int t = copies.accessor(copies.view(Gltf::floats({{0, 0, 0}, {100, 0, 0}, {200, 0, 0}})),
                                  5126, 3, "VEC3");
    const int r = copies.accessor(copies.view(turns), 5126, 3, "VEC4");
    const int s = copies.accessor(copies.view(Gltf::floats({{1, 1, 1}, {2, 2, 2}, {1, 1, 1}})),
                                  5126, 3, "VEC3");
    copies.json["nodes"][0]["extensions"]["EXT_mesh_gpu_instancing"]["attributes"] = {
        {"TRANSLATION", t}, {"ROTATION", r}, {"SCALE", s}};
    const Soup three = read(copies);
    CHECK(three.mesh.triangles.size() == 36);
    CHECK_NEAR(plain_volume(three.mesh), 10.0 * 24.0, 1e-14);
    CHECK_NEAR(bounds(three.mesh).max().x(), 200.0, 1e-14);  // half a turn about z: x 198 to 200
    copies.json["accessors"][static_cast<std::size_t>(s)]["count"] = 2;
    refused(copies);
}

TEST_CASE("glTF: EXT_meshopt_compression, all modes that meshes use") {
    const TriMesh mesh = torus_solid(30, 10, 24).mesh;
    const std::vector<std::int32_t> corners = Gltf::corners(mesh);
    const std::vector<std::uint32_t> indices(corners.begin(), corners.end());
    const std::string raw = Gltf::floats(mesh.vertices);
    const auto file = [&](const std::string& vertices, const char* filter, bool sequence) {
        Gltf g;
        g.require("EXT_meshopt_compression");
        const int position =
            g.accessor(meshopt_view(g, vertices, 12, mesh.vertices.size(), "ATTRIBUTES", filter),
                       5126, mesh.vertices.size(), "VEC3");
        std::string packed = packed_triangles(indices, mesh.vertices.size());
        if (sequence) {
            packed.resize(meshopt_encodeIndexSequenceBound(indices.size(), mesh.vertices.size()));
            packed.resize(
                meshopt_encodeIndexSequence(reinterpret_cast<unsigned char*>(packed.data()),
                                            packed.size(), indices.data(), indices.size()));
        }
        const int corner = g.accessor(
            meshopt_view(g, packed, 4, indices.size(), sequence ? "INDICES" : "TRIANGLES"), 5125,
            indices.size(), "SCALAR");
        g.node({{"mesh", g.mesh(position, corner)}});
        return g;
    };
    for (const bool sequence : {false, true}) {
        Gltf g = file(packed_vertices(raw, 12), "NONE", sequence);
        const auto soup = parse_gltf(glb_with_fallback(g), ".", "a.glb");
        REQUIRE(soup.has_value());
        CHECK(soup->mesh.triangles.size() == mesh.triangles.size());
        CHECK_NEAR(plain_volume(soup->mesh), float_volume(mesh), 1e-13);
    }
    // The exponential filter with 24 bits keeps a float32's digits, with 15 it is 2^-15 off.
    std::vector<float> numbers(raw.size() / 4);
    std::memcpy(numbers.data(), raw.data(), raw.size());
    std::string filtered(raw.size(), '\0');
    meshopt_encodeFilterExp(filtered.data(), mesh.vertices.size(), 12, 24, numbers.data());
    Gltf g = file(packed_vertices(filtered, 12), "EXPONENTIAL", false);
    CHECK_NEAR(plain_volume(parse_gltf(glb_with_fallback(g), ".")->mesh), float_volume(mesh), 1e-5);
    // Damage: cut, changed, sizes that the stream can't fill, filters that do not fit.
    const std::string packed = packed_vertices(raw, 12);
    std::set<std::string> seen;
    for (const std::string& bad :
         {packed.substr(0, packed.size() / 2), packed.substr(0, 3), "\x01" + packed.substr(1)}) {
        Gltf cut = file(bad, "NONE", false);
        seen.insert(refusal([&] { return parse_gltf(glb_with_fallback(cut), ".", "a.glb"); }));
    }
    for (const auto& [key, value] :
         std::vector<std::pair<const char*, json>>{{"count", 4'000'000'000U},
                                                   {"byteStride", 0},
                                                   {"byteStride", 300},
                                                   {"byteStride", 6},
                                                   {"mode", "OTHER"},
                                                   {"filter", "OTHER"},
                                                   {"filter", "OCTAHEDRAL"}}) {
        CAPTURE(key);
        Gltf odd = file(packed, "NONE", false);
        odd.json["bufferViews"][0]["extensions"]["EXT_meshopt_compression"][key] = value;
        seen.insert(refusal([&] { return parse_gltf(glb_with_fallback(odd), ".", "a.glb"); }));
    }
    CHECK(seen.size() == 1);
    check_sentence(*seen.begin());
    CHECK(says(*seen.begin(), "EXT_meshopt_compression"));
}

TEST_CASE("glTF: KHR_draco_mesh_compression") {
    const TriMesh mesh = torus_solid(30, 10, 24).mesh;
    Gltf plain = draco_file(mesh, draco_bytes(mesh, false));
    const Soup soup = read(plain);
    CHECK(soup.mesh.triangles.size() == mesh.triangles.size());
    CHECK_NEAR(plain_volume(soup.mesh), float_volume(mesh), 1e-13);
    // 16 bits of 80 mm: steps of 0.0012.
    Gltf quantized = draco_file(mesh, draco_bytes(mesh, true));
    CHECK_NEAR(plain_volume(read(quantized).mesh), float_volume(mesh), 1e-4);
    const std::string packed = draco_bytes(mesh, true);
    for (std::size_t size = 0; size < packed.size(); size += 7) {
        Gltf cut = draco_file(mesh, packed.substr(0, size));
        const std::string text = refused(cut);
        CAPTURE(text);
        CHECK(says(text, size == 0 ? "it names" : "KHR_draco_mesh_compression"));
    }
    Gltf other = draco_file(mesh, packed);
    other.json["meshes"][0]["primitives"][0]["extensions"]["KHR_draco_mesh_compression"]
              ["attributes"]["POSITION"] = 5;
    refused(other);
}

TEST_CASE("glTF: required extensions that are not known are refused by their name") {
    Gltf g = gltf_of(box());
    g.require("KHR_materials_unlit");
    g.json["extensionsUsed"].push_back("ACME_clouds");
    CHECK_NEAR(plain_volume(read(g).mesh), 24.0, 1e-14);
    for (const char* extension :
         {"KHR_meshopt_compression", "ACME_clouds", "KHR_implicit_shapes"}) {
        Gltf other = gltf_of(box());
        other.require(extension);
        CHECK(says(refused(other), extension));
    }
    Gltf newer = gltf_of(box());
    newer.json["asset"] = {{"version", "3.0"}};
    CHECK(says(refused(newer), "3.0"));
    newer.json["asset"] = {{"version", "2.1"}, {"minVersion", "2.1"}};
    CHECK(says(refused(newer), "2.1"));
    // glTF 1 is another format.
    CHECK_FALSE(parse_gltf("{\"asset\":{\"version\":\"1.0\"},\"meshes\":{}}", ".").has_value());
    Gltf posed = gltf_of(box(), {{"skin", 0}});
    CHECK(has_finding(read(posed), "pose_ignored"));
}

TEST_CASE("glTF: buffers by name, as data, and from nowhere else") {
    const Folder folder;
    std::filesystem::create_directories(folder.path() / "home" / "below");
    Gltf g = gltf_of(box());
    static_cast<void>(folder.file("home/near by.bin", g.bin));
    static_cast<void>(folder.file("home/below/near.bin", g.bin));
    static_cast<void>(folder.file("outside.bin", g.bin));
    static_cast<void>(folder.file("home/short.bin", g.bin.substr(1)));
    std::filesystem::create_symlink(folder.path() / "outside.bin",
                                    folder.path() / "home" / "link.bin");
    REQUIRE(::mkfifo((folder.path() / "home" / "pipe.bin").c_str(), 0600) == 0);
    const auto read_from = [&](const std::string& uri) {
        g.json["buffers"] = {{{"uri", uri}, {"byteLength", g.bin.size()}}};
        return parse_gltf(g.json.dump(), folder.path() / "home", "a.gltf");
    };
    std::string base64;
    constexpr std::string_view kLetters =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string padded = g.bin;
    padded.resize((padded.size() + 2) / 3 * 3, '\0');
    for (std::size_t i = 0; i < padded.size(); i += 3) {
        const auto byte = [&](std::size_t k) {
            return static_cast<std::uint32_t>(static_cast<unsigned char>(padded[i + k]));
        };
        const std::uint32_t bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for (int shift = 18; shift >= 0; shift -= 6) {
            base64 += kLetters[bits >> shift & 63U];
        }
    }
    for (const std::string& uri :
         {std::string("near by.bin"), std::string("near%20by.bin"), std::string("below/near.bin"),
          std::string("./below/near.bin"), "data:application/octet-stream;base64," + base64}) {
        CAPTURE(uri.substr(0, 60));
        const auto soup = read_from(uri);
        REQUIRE(soup.has_value());
        CHECK_NEAR(plain_volume(soup->mesh), 24.0, 1e-14);
        CHECK(soup->format == "gltf");
    }
    for (const std::string& uri : {std::string("../outside.bin"),
                                   std::string("below/../../outside.bin"),
                                   std::string("%2e%2e/outside.bin"),
                                   std::string("%2E%2E%2Foutside.bin"),
                                   std::string("..\\outside.bin"),
                                   (folder.path() / "outside.bin").string(),
                                   std::string("link.bin"),
                                   std::string("pipe.bin"),
                                   std::string("below"),
                                   std::string("missing.bin"),
                                   std::string("/dev/zero"),
                                   std::string("/proc/self/environ"),
                                   std::string("http://example.org/near.bin"),
                                   std::string("file:near.bin"),
                                   std::string("//example.org/near.bin"),
                                   std::string(""),
                                   std::string("short.bin"),
                                   std::string("near%00.bin"),
                                   std::string("data:text/plain,abc"),
                                   std::string("data:;base64,a*b"),
                                   std::string("data:;base64,AAAA")}) {
        CAPTURE(uri);
        check_sentence(refusal([&] { return read_from(uri); }));
    }
}

TEST_CASE("glTF: circles, false sizes and depths are bounded before they happen") {
    const auto broken = [&](const auto& change) {
        Gltf g = gltf_of(box());
        change(g.json);
        const std::string text = refused(g);
        CAPTURE(text);
        return text;
    };
    CHECK(says(broken([](json& j) {
                   j["nodes"][0]["children"] = {0};
                   j["scenes"] = {{{"nodes", {0}}}};
               }),
               "circle"));
    CHECK(says(broken([](json& j) {
                   j["nodes"].push_back({{"children", {0}}});
                   j["nodes"].push_back({{"children", {0}}});
               }),
               "circle"));
    CHECK(says(broken([](json& j) { j["nodes"][0]["children"] = {9}; }), "one is missing"));
    broken([](json& j) { j["nodes"][0]["mesh"] = 5; });
    broken([](json& j) { j["nodes"][0]["mesh"] = -1; });
    broken([](json& j) { j["nodes"][0]["mesh"] = "0"; });
    broken([](json& j) { j["nodes"][0]["scale"] = {1, 2}; });
    broken([](json& j) { j["nodes"][0]["matrix"] = {1, "x"}; });
    broken([](json& j) { j["nodes"] = 5; });
    broken([](json& j) { j["nodes"][0] = {5}; });
    broken([](json& j) { j["meshes"][0]["primitives"][0]["mode"] = 9; });
    broken([](json& j) { j["meshes"][0]["primitives"][0].erase("attributes"); });
    broken([](json& j) { j["meshes"][0]["primitives"][0]["indices"] = 0; });
    broken([](json& j) { j["meshes"][0]["primitives"][0]["attributes"]["POSITION"] = 1; });
    broken([](json& j) { j["accessors"][0]["count"] = 4'000'000'000U; });
    broken([](json& j) { j["accessors"][0]["count"] = 9; });
    broken([](json& j) { j["accessors"][0]["count"] = 7; });
    broken([](json& j) { j["accessors"][0]["count"] = 1e300; });
    broken([](json& j) { j["accessors"][0]["count"] = 0; });
    broken([](json& j) { j["accessors"][0]["byteOffset"] = 9'000'000'000'000'000U; });
    broken([](json& j) { j["accessors"][0]["componentType"] = 5127; });
    broken([](json& j) { j["accessors"][0]["type"] = "VEC9"; });
    broken([](json& j) {
        j["accessors"][0].erase("bufferView");
        j["accessors"][0]["count"] = 4'000'000'000U;
    });
    broken([](json& j) { j["accessors"][1]["count"] = 35; });
    broken([](json& j) { j["bufferViews"][0]["byteStride"] = 1 << 30; });
    broken([](json& j) { j["bufferViews"][0]["byteStride"] = 4; });
    broken([](json& j) { j["bufferViews"][0]["byteLength"] = 1 << 30; });
    broken([](json& j) { j["bufferViews"][0]["buffer"] = 1; });
    broken([](json& j) { j["buffers"] = {{{"byteLength", 1 << 30}}}; });
    broken([](json& j) { j["nodes"] = json::array(); });
    // Many copies of one mesh, without a number behind them.
    CHECK(says(
        broken([](json& j) {
            j["accessors"].push_back(
                {{"componentType", 5126}, {"count", 40'000'000}, {"type", "VEC3"}});
            j["nodes"][0]["extensions"]["EXT_mesh_gpu_instancing"]["attributes"]["TRANSLATION"] = 2;
        }),
        "with all its copies"));
    const std::string deep =
        "{\"asset\":{\"version\":\"2.0\"},\"x\":" + std::string(1'000'000, '[');
    CHECK(says(refusal([&] { return parse_gltf(deep, ".", "a.gltf"); }), "nested too deep"));
    check_sentence(refusal([&] { return parse_gltf("{\"asset\":", ".", "a.gltf"); }));
    // A GLB that is cut says how long it should be; every cut is a sentence.
    Gltf g = gltf_of(box());
    const std::string whole = g.glb();
    for (std::size_t size = 4; size < whole.size(); size += 5) {
        const std::string text =
            refusal([&] { return parse_gltf(whole.substr(0, size), ".", "a.glb"); });
        check_sentence(text);
        if (size >= 20) {
            CHECK(says(text, std::to_string(whole.size())));
        }
    }
}
