// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/parting_field.h"

#include <cmath>
#include <functional>
#include <numbers>

#include "molding/shapes.h"
#include "support/near.h"

using namespace cavigram;

namespace {

struct Marked {
    PartingSurface surface;
    std::vector<bool> upper;
    std::vector<bool> either;
};

// Faces whose middle lies within a band are of either half; the others by the side of its middle.
Marked marked(const TriMesh& mesh, const std::function<double(const Vec3&)>& height, double band) {
    Marked result{parting_surface(mesh), {}, {}};
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const double z = height((mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0);
        result.upper.push_back(z > 0.0);
        result.either.push_back(std::abs(z) < band);
    }
    return result;
}

}  // namespace

// On a tube between two slanted rims the shortest loop is a circle; harmonic functions on the
// unrolled tube carry the slant to the middle with 1 / cosh of half its height over its radius.
TEST_CASE("a slanted band around a cylinder straightens its middle line") {
    const double r = 20;
    const TriMesh tube = subdivided(cylinder_solid(r, 100, 64, 32).mesh, 1);
    const auto height = [&](const Vec3& p) { return p.z() - 50 - 0.5 * p.x(); };
    const Marked all = marked(tube, height, 25.0);
    const auto length = [&](int steps) {
        const PartingLine line = line_across_faces(
            all.surface, parting_field(all.surface, all.upper, all.either, {.steps = steps}),
            Vec3::UnitZ());
        REQUIRE(line.loops.size() == 1);
        CHECK(line.valid);
        return line.loops[0].length_mm;
    };
    const double around = 2 * std::numbers::pi * r * std::sqrt(1 + 0.125 / 2);  // of the slant
    CHECK(length(8) < length(0) + 0.05);
    CHECK(length(0) < around);
    CHECK_NEAR(length(8), 2 * std::numbers::pi * r, 0.01);
}

TEST_CASE("where nothing is free the line runs where the faces meet; all of one side stays so") {
    // A ring of edges lies at half the height.
    const TriMesh tube = cylinder_solid(20, 100, 64, 32).mesh;
    const Marked fixed = marked(
        tube, [](const Vec3& p) { return p.z() - 50; }, 0.0);
    const auto field = parting_field(fixed.surface, fixed.upper, fixed.either);
    const PartingLine line = line_across_faces(fixed.surface, field, Vec3::UnitZ());
    REQUIRE(line.loops.size() == 1);
    const PartingLine edges = line_along_edges(fixed.surface, fixed.upper, Vec3::UnitZ());
    CHECK_NEAR(line.loops[0].length_mm, edges.loops.at(0).length_mm, 1e-3);
    const Marked free = marked(
        tube, [](const Vec3&) { return 1.0; }, 2.0);
    for (const double value : parting_field(free.surface, free.upper, free.either)) {
        CHECK(value > 0.9);
    }
}
