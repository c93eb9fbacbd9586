// SPDX-License-Identifier: GPL-3.0-or-later
#include <filesystem>
#include <fstream>

#include <fmt/core.h>

#include "cavigram/io/mesh_reader.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/weld.h"

#include "corruption_run.h"

using namespace corruption;
namespace fs = std::filesystem;

namespace {

std::string numbers(const Vec3& p) {
    return fmt::format("{:.17g} {:.17g} {:.17g}", p.x(), p.y(), p.z());
}

// Text formats by their own rules; the binary ones by lib's writers.
std::string bytes_in(const TriMesh& mesh, const std::string& format) {
    if (format == "stl") {
        return cavigram::stl_bytes(mesh);
    }
    if (format == "ply") {
        return cavigram::ply_bytes(mesh);
    }
    if (format == "glb") {
        return cavigram::glb_bytes(mesh);
    }
    std::string text;
    const bool off = format == "off";
    if (off) {
        text = "OFF\n" + std::to_string(mesh.vertices.size()) + " " +
               std::to_string(mesh.triangles.size()) + " 0\n";
    }
    for (const Vec3& v : mesh.vertices) {
        text += (off ? "" : "v ") + numbers(v) + "\n";
    }
    for (const cavigram::Triangle& t : mesh.triangles) {
        const int first = off ? 0 : 1;
        text += off ? "3" : "f";
        for (const std::int32_t v : t) {
            text += " " + std::to_string(v + first);
        }
        text += "\n";
    }
    return text;
}

// Through a file in turn of each format.
std::string through_file(TriMesh& mesh, std::size_t turn) {
    static const std::vector<std::string> kFormats = {"stl", "ply", "obj", "off", "glb"};
    const std::string& format = kFormats[turn % kFormats.size()];
    const fs::path path = fs::temp_directory_path() / ("corruption_bench." + format);
    {
        std::ofstream out(path, std::ios::binary);
        out << bytes_in(mesh, format);
    }
    mesh = cavigram::read_mesh(path).mesh;
    fs::remove(path);
    if (format == "glb") {  // in meters
        mesh = transformed(std::move(mesh), 1000.0, Vec3::Zero());
    }
    return format;
}

}  // namespace

TEST_CASE("the corruption bench: exact solids and closed scans, five seeds") {
    std::vector<Body> bodies = exact_bodies();
    const fs::path data = CAVIGRAM_REFERENCE_DATA;
    for (const char* name :
         {"libcgal-demo/data/meshes/bear.off", "libcgal-demo/data/meshes/camel.off",
          "libcgal-demo/data/meshes/man.off", "bunny/bunny.off"}) {
        if (!fs::exists(data / name)) {
            MESSAGE("left out, not there: " << std::string(name));
            continue;
        }
        TriMesh mesh = cavigram::weld_exact(cavigram::read_mesh(data / name).mesh).mesh;
        mesh = transformed(std::move(mesh), 100.0 / bounds(mesh).sizes().maxCoeff(), Vec3::Zero());
        const bool sound = oracle::is_halfedge_mesh(mesh) && oracle::cgal_is_closed(mesh) &&
                           oracle::cgal_self_intersections(mesh).empty();
        if (!sound || oracle::cgal_volume(mesh) <= 0.0) {
            MESSAGE("left out, not sound to begin with: " << std::string(name));
            continue;
        }
        bodies.push_back({fs::path(name).stem().string(), mesh, oracle::cgal_volume(mesh), false});
    }
    const Row total = run(bodies, 5, through_file);
    CHECK(total.mended >= 0.99 * total.cases);
    CHECK(median(total.errors) < 0.01);
    CHECK(total.held >= 0.98 * total.cases);
}
