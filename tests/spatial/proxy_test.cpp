// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/spatial/proxy.h"

#include <array>
#include <set>

#include "cavigram/core/error.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

namespace {

// By the divergence theorem, apart from the one in the source.
double volume(const TriMesh& mesh) {
    double sum = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        sum += mesh.corner(t, 0).dot(mesh.corner(t, 1).cross(mesh.corner(t, 2))) / 6.0;
    }
    return sum;
}

// Vertices less half the triangles: 2 for a ball, 0 for a ring.
long euler(const TriMesh& mesh) {
    return static_cast<long>(mesh.vertices.size()) - static_cast<long>(mesh.triangles.size() / 2);
}

}  // namespace

TEST_CASE("a flat-sided box keeps its shape exactly") {
    const TriMesh box = subdivided(box_solid(30, 20, 10).mesh, 6);
    const Proxy proxy = decimated_proxy(box, TriangleBvh(box), {.triangles = 1000});
    CHECK(proxy.decimated);
    CHECK(proxy.mesh.triangles.size() <= 1000);
    CHECK(adjacency(proxy.mesh).closed());
    CHECK(proxy.deviation_mm < 1e-9);
    CHECK_NEAR(volume(proxy.mesh), 6000.0, 1e-9);
}

TEST_CASE("a ring stays a ring, with the deviation that chords have") {
    const TriMesh ring = torus_solid(60, 25, 200).mesh;
    const Proxy proxy = decimated_proxy(ring, TriangleBvh(ring), {.triangles = 4000});
    CHECK(proxy.decimated);
    CHECK(proxy.mesh.triangles.size() <= 4000);
    CHECK(adjacency(proxy.mesh).closed());
    CHECK(euler(ring) == 0);
    CHECK(euler(proxy.mesh) == 0);
    // Even triangles of this count have sides of about sqrt(4 A / (sqrt 3 n)), 3.7 mm, and chords
    // that long lie s^2 / 8r from a circle of 25 mm: 0.07 mm. Uneven ones are some times as far
    // off.
    CHECK(proxy.deviation_mm > 0.01);
    CHECK(proxy.deviation_mm < 0.6);
    CHECK(proxy.mean_deviation_mm < 0.1);
    CHECK_NEAR(volume(proxy.mesh), volume(ring), 0.01);
}

TEST_CASE("shells and hollows survive") {
    TriMesh hollow = joined(
        subdivided(box_solid(30, 30, 30).mesh, 5),
        transformed(flipped(subdivided(box_solid(10, 10, 10).mesh, 5)), 1.0, Vec3(10, 10, 10)));
    const Proxy proxy = decimated_proxy(hollow, TriangleBvh(hollow), {.triangles = 500});
    CHECK(shells(proxy.mesh, adjacency(proxy.mesh)).count == 2);
    CHECK_NEAR(volume(proxy.mesh), 26000.0, 1e-9);
}

TEST_CASE("small meshes come back as they are; the same bytes every time") {
    const TriMesh box = box_solid(1, 2, 3).mesh;
    const Proxy same = decimated_proxy(box, TriangleBvh(box));
    CHECK_FALSE(same.decimated);
    CHECK(same.deviation_mm == 0.0);
    CHECK(same.mesh.triangles == box.triangles);

    const TriMesh ring = torus_solid(60, 25, 100).mesh;
    const TriangleBvh surface(ring);
    RunContext context;
    context.threads = 1;
    const Proxy one = decimated_proxy(ring, surface, {.triangles = 2000}, context);
    context.threads = 5;
    const Proxy five = decimated_proxy(ring, surface, {.triangles = 2000}, context);
    CHECK(one.mesh.triangles == five.mesh.triangles);
    CHECK(one.mesh.vertices == five.mesh.vertices);
    CHECK(one.deviation_mm == five.deviation_mm);
    CHECK(one.mean_deviation_mm == five.mean_deviation_mm);
    CHECK_THROWS_AS(static_cast<void>(decimated_proxy(ring, surface, {.triangles = 10})),
                    InvalidInput);
}

TEST_CASE("what is only looked at leaves corners out and stays near") {
    const TriMesh ring = torus_solid(60, 25, 200).mesh;
    const Proxy shown =
        decimated_proxy(ring, TriangleBvh(ring), {.triangles = 4000, .solid = false});
    CHECK(shown.decimated);
    CHECK(shown.mesh.triangles.size() <= 4000);
    CHECK(shown.deviation_mm < 5e-3 * 240.0);  // the limit beyond which it is made again
    std::set<std::array<double, 3>> corners;
    for (const Vec3& v : ring.vertices) {
        corners.insert({v.x(), v.y(), v.z()});
    }
    for (const Vec3& v : shown.mesh.vertices) {
        CHECK(corners.count({v.x(), v.y(), v.z()}) == 1);
    }
}
