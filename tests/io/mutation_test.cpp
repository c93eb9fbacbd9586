// SPDX-License-Identifier: GPL-3.0-or-later
#include <cstring>
#include <random>
#include <set>

#include "cavigram/io/gltf_reader.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/io/obj_reader.h"
#include "cavigram/io/ply_reader.h"
#include "cavigram/io/stl_reader.h"
#include "cavigram/io/threemf_reader.h"
#include "cavigram/mesh/solids.h"

#include "gltf_packed_tools.h"
#include "io_tools.h"
#include "ply_tools.h"

using namespace io_test;

namespace {

using Random = std::mt19937;

// One of several kinds of damage: bytes changed, bits flipped, cut, a piece doubled or taken out,
// numbers blown up.
std::string damaged(std::string bytes, Random& random) {
    const auto place = [&] { return static_cast<std::size_t>(random()) % bytes.size(); };
    switch (random() % 7) {
        case 0:
            for (unsigned i = 0; i <= random() % 8; ++i) {
                bytes[place()] = static_cast<char>(random());
            }
            break;
        case 1:
            for (unsigned i = 0; i <= random() % 4; ++i) {
                bytes[place()] ^= static_cast<char>(1U << (random() % 8));
            }
            break;
        case 2:
            bytes.resize(place());
            break;
        case 3: {
            const std::size_t at = place();
            bytes.insert(at, bytes.substr(at, random() % 200));
            break;
        }
        case 4:
            bytes.erase(place(), random() % 200);
            break;
        case 5: {  // A number of four bytes becomes huge, or negative.
            const std::size_t at = place();
            for (std::size_t i = at; i < std::min(at + 4, bytes.size()); ++i) {
                bytes[i] = static_cast<char>(random() % 2 == 0 ? 0xFF : 0x7F);
            }
            break;
        }
        default: {  // A written number becomes huge.
            std::size_t at = bytes.find_first_of("0123456789", place());
            if (at != bytes.npos) {
                bytes.insert(at, random() % 2 == 0 ? "9999999" : "-4294967295");
            }
            break;
        }
    }
    return bytes;
}

// A number of the header, or a type, becomes another one: sizes, negative counts, lists of lists.
std::string damaged_header(std::string bytes, Random& random) {
    static const std::vector<std::string> kWords = {"4294967295",
                                                    "-1",
                                                    "0",
                                                    "18446744073709551615",
                                                    "1e9",
                                                    "list",
                                                    "uchar",
                                                    "double",
                                                    "int",
                                                    "char",
                                                    "element",
                                                    "face",
                                                    "vertex",
                                                    "tristrips",
                                                    "list uchar list",
                                                    "\n",
                                                    "end_header",
                                                    "binary_big_endian"};
    const std::size_t end = bytes.find("end_header");
    for (unsigned i = 0; i <= random() % 3; ++i) {
        const std::size_t begin = bytes.find_first_of(" \n", random() % end);
        const std::size_t stop = bytes.find_first_of(" \n", begin + 1);
        if (begin != bytes.npos && stop != bytes.npos) {
            bytes.replace(begin + 1, stop - begin - 1, kWords[random() % kWords.size()]);
        }
    }
    return bytes;
}

// A torus as one list of strips, the vertices behind it, in the byte order that machines have not.
std::string strips_ply() {
    PlyData data(PlyData::Kind::big);
    std::vector<std::int32_t> all;
    for (const auto& strip : torus_strips(12)) {
        all.insert(all.end(), strip.begin(), strip.end());
        all.push_back(-1);
    }
    data.value(static_cast<std::int32_t>(all.size()));
    for (const std::int32_t i : all) {
        data.value(i);
    }
    for (const Vec3& v : torus_grid(30, 10, 12).vertices) {
        for (int k = 0; k < 3; ++k) {
            data.value(v[k]);
        }
    }
    return "ply\n" + data.format_line() +
           "element tristrips 1\nproperty list int int vertex_indices\nelement vertex 72\n"
           "property double x\nproperty double y\nproperty double z\nend_header\n" +
           data.bytes();
}

std::string two_part_3mf(const TriMesh& mesh) {
    const char* const head =
        "<model xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\" "
        "xmlns:p=\"http://schemas.microsoft.com/3dmanufacturing/production/2015/06\" "
        "requiredextensions=\"p\"><resources>";
    return threemf_package(
        {{"3D/3dmodel.model",
          head + std::string("<object id=\"2\"><components><component p:path=\"/3D/a.model\" "
                             "objectid=\"1\"/></components></object></resources><build><item "
                             "objectid=\"2\"/></build></model>")},
         {"3D/a.model", head + ("<object id=\"1\">" + threemf_mesh(mesh)) +
                            "</object></resources><build/></model>"}},
        false);
}

enum class Outcome { soup, refused, wrong };

template <class Read>
Outcome outcome(const Read& read) {
    try {
        return keeps_promises(read()) ? Outcome::soup : Outcome::wrong;
    } catch (const UnusableInput& error) {
        check_sentence(error.what());
        return Outcome::refused;
    }
}

}  // namespace

TEST_CASE("damaged files of every kind end in a sound soup or a sentence, never in a crash") {
    const Folder folder;
    const TriMesh mesh = torus_solid(30, 10, 12).mesh;
    const std::vector<std::pair<std::string, std::string>> kinds = {
        {"a.stl", stl_of(mesh)},
        {"b.stl", stl_text_of(mesh)},
        {"c.obj", obj_of(mesh)},
        {"d.ply", ply_text_of(mesh)},
        {"e.ply", ply_bytes(mesh)},
        {"f.off", off_of(mesh)},
        {"g.glb", glb_bytes(mesh)},
        {"h.3mf", threemf_of(mesh)},
        {"i.3mf", threemf_of(mesh, "inch", {""}, false)},
        {"j.ply", strips_ply()},
        {"k.3mf", two_part_3mf(mesh)},
        {"l.glb", meshopt_glb(mesh)},
        {"m.glb", draco_file(mesh, draco_bytes(mesh, true)).glb()}};
    ReadOptions limits;
    limits.memory_limit_bytes = std::uint64_t{1} << 30;
    limits.time_limit_s = 20.0;
    for (std::size_t kind = 0; kind < kinds.size(); ++kind) {
        const std::string& name = kinds[kind].first;
        const std::string& good = kinds[kind].second;
        CAPTURE(name);
        Random random(static_cast<unsigned>(
            100 + kind));  // NOLINT: fixed seeds, so that a failure comes back
        std::set<Outcome> seen;
        for (int i = 0; i < 40; ++i) {
            CAPTURE(i);
            const bool header = name.ends_with(".ply") && i % 2 == 1;
            const auto path =
                folder.file(name, header ? damaged_header(good, random) : damaged(good, random));
            const Outcome end = outcome([&] { return read_mesh(path, limits); });
            CHECK(end != Outcome::wrong);
            seen.insert(end);
        }
        CHECK(seen.size() >= 1);
    }
}

TEST_CASE("our own readers bear any damage, without a guard") {
    const TriMesh mesh = torus_solid(30, 10, 8).mesh;
    using Parse = Soup (*)(std::string_view);
    const std::vector<std::pair<std::string, Parse>> kinds = {
        {ply_text_of(mesh), [](std::string_view b) { return parse_ply(b, "a"); }},
        {strips_ply(), [](std::string_view b) { return parse_ply(b, "a", true); }},
        {obj_of(mesh), [](std::string_view b) { return parse_obj(b, "a"); }},
        {two_part_3mf(mesh), [](std::string_view b) { return parse_threemf(b, "a"); }},
        {gltf_of(mesh).glb(),
         [](std::string_view b) {
             auto soup = parse_gltf(b, ".", "a");
             if (!soup) {
                 throw UnusableInput("It is glTF 1, which is another format; so be it.");
             }
             return std::move(*soup);
         }},
    };
    Random random(6);  // NOLINT: a fixed seed
    for (const auto& [good, parse] : kinds) {
        const Parse parser = parse;
        for (int i = 0; i < 1500; ++i) {
            const bool header = good.starts_with("ply") && i % 2 == 1;
            std::string bytes = header ? damaged_header(good, random) : damaged(good, random);
            if (i % 3 == 0 && !bytes.empty()) {
                bytes = damaged(bytes, random);
            }
            const std::vector<char> exact(bytes.begin(), bytes.end());
            const Outcome end = outcome([&] { return parser({exact.data(), exact.size()}); });
            CHECK(end != Outcome::wrong);
        }
    }
}

TEST_CASE("the STL reader itself bears any damage, without a guard") {
    const TriMesh mesh = torus_solid(30, 10, 8).mesh;
    Random random(5);  // NOLINT: a fixed seed
    for (const std::string& good : {stl_of(mesh), stl_text_of(mesh), stl_of(mesh, 7, "solid x")}) {
        for (int i = 0; i < 3000; ++i) {
            std::string bytes = damaged(good, random);
            if (i % 3 == 0 && !bytes.empty()) {
                bytes = damaged(bytes, random);
            }
            // In a buffer of its own and of its own size, so that a step past the end is seen by
            // the sanitizers.
            const std::vector<char> exact(bytes.begin(), bytes.end());
            const Outcome end = outcome([&] { return parse_stl({exact.data(), exact.size()}); });
            CHECK(end != Outcome::wrong);
        }
    }
}
