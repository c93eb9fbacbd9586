// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/spatial/vicinity.h"

#include <limits>
#include <random>

#include "cavigram/geom/directions.h"
#include "cavigram/mesh/solids.h"

#include "spatial/all_triangles.h"
#include "support/near.h"

using namespace cavigram;

namespace {

// Balls within balls around `p`, as cells that are halved; each time nearest points in them are
// held against all triangles, one after the other.
void check_narrowing(const TriMesh& mesh, Vec3 p, double radius_mm, std::mt19937& random) {
    constexpr double kNone = std::numeric_limits<double>::infinity();
    std::normal_distribution<double> normal;
    std::uniform_real_distribution<double> share(0.0, 1.0);
    const auto in_ball = [&] {
        const Vec3 d(normal(random), normal(random), normal(random));
        return Vec3(p + share(random) * radius_mm * d.normalized());
    };
    const TriangleBvh bvh(mesh);
    Vicinity around(bvh);
    for (int level = 0; level < 8; ++level) {
        around = around.within(p, brute_nearest(mesh, p, kNone).distance_mm, radius_mm);
        for (int i = 0; i < 6; ++i) {
            const Vec3 q = i == 0 ? p : in_ball();
            const NearestPoint expected = brute_nearest(mesh, q, kNone);
            const auto hint = static_cast<std::int32_t>(random() % mesh.triangles.size());
            const NearestPoint found = around.nearest(q, i % 2 == 0 ? -1 : hint);
            CHECK(found.triangle == expected.triangle);
            CHECK(found.point_mm == expected.point_mm);
            CHECK(found.distance_mm == expected.distance_mm);
        }
        const Vec3 next = in_ball();
        radius_mm = std::max(0.0, 0.999 * (radius_mm - (next - p).norm()));
        p = next;
    }
}

}  // namespace

TEST_CASE("a vicinity gives the very nearest point that all triangles give, ties included") {
    std::mt19937 random(31);  // fixed seed
    std::uniform_real_distribution<double> coordinate(-14.0, 14.0);
    for (const bool whole : {false, true}) {
        for (const int count : {1, 3, 9, 60, 700}) {
            const TriMesh mesh = tangle(count, 4, whole);
            for (int round = 0; round < 12; ++round) {
                Vec3 p(coordinate(random), coordinate(random), coordinate(random));
                if (whole) {
                    p = p.array().round();
                }
                check_narrowing(mesh, p, round % 2 == 0 ? 20.0 : 1.5, random);
            }
        }
    }
}

TEST_CASE("long triangles, the middle of a ball, and a part far from the origin") {
    std::mt19937 random(32);  // fixed seed
    const TriMesh ball = sphere_solid(20.0, 24).mesh;
    for (int round = 0; round < 8; ++round) {
        check_narrowing(cylinder_solid(20, 375, 64).mesh, Vec3(2, 3, 40.0 * round), 15.0, random);
        check_narrowing(ball, Vec3(0, 0, 0.01 * round), 4.0, random);
        const Vec3 shift(100000.0, -70000.0, 30000.0);
        check_narrowing(transformed(ball, 1.0, shift), shift + Vec3(0, 0, 5.0 * round), 8.0,
                        random);
    }
}

TEST_CASE("of an empty index nothing is near") {
    const TriangleBvh none;
    const Vicinity all(none);
    CHECK(all.nearest(Vec3::Zero()).triangle == -1);
    CHECK(all.within(Vec3::Zero(), 1.0, 1.0).nearest(Vec3::Zero()).triangle == -1);
}
