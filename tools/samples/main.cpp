// SPDX-License-Identifier: GPL-3.0-or-later
// Writes sample_meshes/: the parts of the harbor play, each in another format and unit.
#include <cstdio>
#include <filesystem>
#include <string>

#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/weld.h"

#include "shapes.h"

namespace {

using namespace cavigram;

std::string obj_bytes(const TriMesh& mesh) {
    std::string text = "# the figurehead fragment, as scanned; millimeters\n";
    for (const Vec3& v : mesh.vertices) {
        text += fmt::format("v {:.3f} {:.3f} {:.3f}\n", v.x(), v.y(), v.z());
    }
    for (const Triangle& t : mesh.triangles) {
        text += fmt::format("f {} {} {}\n", t[0] + 1, t[1] + 1, t[2] + 1);
    }
    return text;
}

double volume_mm3(const TriMesh& mesh) {
    double six = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        six += mesh.corner(t, 0).dot(mesh.corner(t, 1).cross(mesh.corner(t, 2)));
    }
    return six / 6.0;
}

// Vertices that no triangle uses stay out of the file.
TriMesh used_only(const TriMesh& mesh) {
    return weld_exact(mesh).mesh;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc != 2) {
        std::fputs("usage: cavigram_samples FOLDER\n", stderr);
        return 2;
    }
    try {
        const std::filesystem::path folder(argv[1]);
        make_folder(folder);
        const auto write = [&](const char* name, const TriMesh& mesh, const std::string& bytes) {
            write_file(folder / name, bytes);
            std::printf("%-22s %6zu triangles, %.1f cm3, %zu KiB\n", name, mesh.triangles.size(),
                        volume_mm3(mesh) / 1000.0, bytes.size() / 1024);
        };
        const TriMesh cleat = samples::mooring_cleat();
        write("mooring_cleat.stl", cleat, stl_bytes(cleat));
        const TriMesh lantern = samples::hand_lantern();
        write("hand_lantern.glb", lantern, glb_bytes(lantern, {}, "hand lantern"));
        const Solid bell = samples::ships_bell();
        write("ships_bell.ply", bell.mesh, ply_bytes(bell.mesh));
        const TriMesh rope = samples::rope_coil();
        write("rope_coil_inches.stl", rope, stl_bytes(transformed(rope, 1.0 / 25.4, Vec3::Zero())));
        const samples::Scan head = samples::figurehead();
        const TriMesh scan = used_only(head.scan);
        write("figurehead_scan.obj", head.truth, obj_bytes(scan));
        std::printf("  as scanned: %zu triangles; the volume above is the carving's own\n",
                    scan.triangles.size());
    } catch (const Error& error) {
        std::fprintf(stderr, "cavigram_samples: %s\n", error.what());
        return 3;
    }
    return 0;
}
