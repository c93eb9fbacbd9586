// SPDX-License-Identifier: GPL-3.0-or-later
#include <cstring>
#include <random>
#include <set>

#include "cavigram/io/mesh_reader.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/io/stl_reader.h"
#include "cavigram/mesh/solids.h"

#include "io_tools.h"

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
        {"i.3mf", threemf_of(mesh, "inch", {""}, false)}};
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
            const auto path = folder.file(name, damaged(good, random));
            const Outcome end = outcome([&] { return read_mesh(path, limits); });
            CHECK(end != Outcome::wrong);
            seen.insert(end);
        }
        CHECK(seen.size() >= 1);
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
