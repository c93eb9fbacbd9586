// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/mesh_reader.h"

#include <set>
#include <stop_token>
#include <sys/stat.h>

#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"

#include "io_tools.h"
#include "support/near.h"

using namespace io_test;

TEST_CASE("a file read in a child is the same as one read here") {
    const Folder folder;
    const TriMesh mesh = torus_solid(30.0, 10.0, 24).mesh;
    const std::vector<std::pair<std::string, std::string>> files = {
        {"a.stl", stl_of(mesh)},        {"b.stl", stl_text_of(mesh)},
        {"c.obj", obj_of(mesh)},        {"d.ply", ply_text_of(mesh)},
        {"e.off", off_of(mesh)},        {"f.glb", glb_bytes(mesh)},
        {"g.3mf", threemf_of(mesh)},    {"h.stl", stl_of(mesh, 0, "solid x")},
        {"no_extension", stl_of(mesh)}, {"OBJ in capitals.OBJ", obj_of(mesh)}};
    ReadOptions here;
    here.guarded = false;
    for (const auto& named : files) {
        const std::string& name = named.first;
        CAPTURE(name);
        const auto path = folder.file(name, named.second);
        const Soup a = read_mesh(path);
        const Soup b = read_mesh(path, here);
        CHECK(a.mesh.vertices == b.mesh.vertices);
        CHECK(a.mesh.triangles == b.mesh.triangles);
        CHECK(a.format == b.format);
        CHECK(a.unit_mm == b.unit_mm);
        CHECK(a.findings.size() == b.findings.size());
        CHECK(a.triangles_in_file == mesh.triangles.size());
        CHECK(keeps_promises(a));
    }
}

TEST_CASE("a misleading name is no obstacle and is mentioned") {
    const Folder folder;
    const TriMesh box = box_solid(2, 3, 4).mesh;
    const Soup soup = read_mesh(folder.file("part.obj", stl_of(box)));
    CHECK(soup.format == "stl-binary");
    CHECK(has_finding(soup, "extension_misleads"));
    CHECK(read_mesh(folder.file("part.stl", ply_bytes(box))).format == "ply");
    CHECK_FALSE(
        has_finding(read_mesh(folder.file("part.data", obj_of(box))), "extension_misleads"));
}

TEST_CASE("what is wrong with the file is one plain sentence with a remedy") {
    const Folder folder;
    std::vector<std::pair<std::string, std::filesystem::path>> rows = {
        {"missing", folder.path() / "missing.stl"},
        {"in a folder that is missing", folder.path() / "no" / "missing.stl"},
        {"below a file", folder.file("a.stl", "x") / "b.stl"},
        {"a folder", folder.path()},
        {"empty", folder.file("empty.stl", "")},
        {"empty OBJ", folder.file("empty.obj", "")},
        {"no mesh", folder.file("letter.txt", "Dear reader, this is no mesh.\n")},
        {"no mesh but called STL", folder.file("letter.stl", "Dear reader, this is no mesh.\n")},
        {"no mesh but called OBJ", folder.file("letter.obj", "Dear reader, this is no mesh.\n")},
        {"no mesh but called PLY", folder.file("letter.ply", "Dear reader, this is no mesh.\n")},
        {"no mesh but called 3MF", folder.file("letter.3mf", "Dear reader, this is no mesh.\n")},
        {"no mesh but called GLB", folder.file("letter.glb", "Dear reader, this is no mesh.\n")},
        {"no triangles", folder.file("none.stl", "solid none\nendsolid none\n")},
        {"a picture", folder.file("picture.png", "\x89PNG\r\n\x1a\n and so on")},
        {"an archive of something else", folder.file("letter.zip", zip_of({{"letter.txt", "x"}}))},
    };
    REQUIRE(::mkfifo((folder.path() / "pipe.stl").c_str(), 0600) == 0);
    rows.emplace_back("a pipe", folder.path() / "pipe.stl");
    std::set<std::string> seen;
    for (const auto& row : rows) {
        const std::string& what = row.first;
        const std::filesystem::path& path = row.second;
        CAPTURE(what);
        const std::string text = refusal([&] { return read_mesh(path); });
        check_sentence(text);
        CHECK(text.find(path.string()) != text.npos);
        seen.insert(text);
    }
    CHECK(seen.size() == rows.size());
    if (::geteuid() != 0) {  // Root may read everything.
        const auto secret = folder.file("secret.stl", "x");
        std::filesystem::permissions(secret, std::filesystem::perms::none);
        check_sentence(refusal([&] { return read_mesh(secret); }));
    }
}

TEST_CASE("limits of memory and time become sentences, and the program goes on") {
    const Folder folder;
    const TriMesh mesh = subdivided(sphere_solid(50.0, 32).mesh, 4);  // 245,760 triangles or so
    const auto path = folder.file("big.obj", obj_of(mesh));
    // The parent's free memory is the child's too, so it is the answer of 4.4 MB that meets the
    // limit.
    const std::string memory =
        refusal([&] { return read_mesh(path, {.memory_limit_bytes = std::uint64_t{2} << 20}); });
    check_sentence(memory);
    CHECK(memory.find("memory") != memory.npos);
    ReadOptions brief;
    brief.time_limit_s = 1e-3;
    const std::string time = refusal([&] { return read_mesh(path, brief); });
    check_sentence(time);
    CHECK(time.find("longer than") != time.npos);
    CHECK(read_mesh(path).mesh.triangles.size() == mesh.triangles.size());
    CHECK_THROWS_AS(static_cast<void>(read_mesh(path, {.memory_limit_bytes = 0})), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(read_mesh(path, {.time_limit_s = -1.0})), InvalidInput);
}

TEST_CASE("a stop is heard, and progress told") {
    const Folder folder;
    const auto path = folder.file("a.stl", stl_of(box_solid(1, 1, 1).mesh));
    std::stop_source source;
    RunContext context;
    context.stop = source.get_token();
    double last = -1.0;
    context.progress = [&](std::string_view phase, double share) {
        CHECK(phase == "read");
        CHECK(share >= last);
        last = share;
    };
    CHECK(read_mesh(path, {}, context).mesh.triangles.size() == 12);
    CHECK(last == 1.0);
    source.request_stop();
    CHECK_THROWS_AS(static_cast<void>(read_mesh(path, {}, context)), Cancelled);
}
