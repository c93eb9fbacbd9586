// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/view.h"

#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

namespace {

void check_frame(const View& view) {
    CHECK(view.right.norm() == doctest::Approx(1.0));
    CHECK(view.up.norm() == doctest::Approx(1.0));
    CHECK((view.right.cross(view.up) - view.toward).norm() < 1e-12);
}

}  // namespace

TEST_CASE("a view is right-handed, and up points up as well as it can") {
    for (const Vec3& toward : {Vec3(0, -3, 0), Vec3(1, 2, 3), Vec3(0, 0, 1), Vec3(0, 0, -1)}) {
        const View view = view_from(toward, Vec3(0, 0, 5));
        check_frame(view);
        CHECK(view.toward.dot(toward.normalized()) == doctest::Approx(1.0));
        CHECK(view.up.z() >= 0.0);
    }
    // Seen from the front (-y), x is to the right and z up.
    const View front = view_from(-Vec3::UnitY(), Vec3::UnitZ());
    CHECK(front.on_paper(Vec3(3, 9, 4)) == Vec2(3, 4));
    CHECK(front.nearness_mm(Vec3(3, 9, 4)) == -9);
}

TEST_CASE("the widest view of a box across each of its axes") {
    const TriMesh box = box_solid(100, 60, 40).mesh;
    // Across z, the widest shadow of 100 x 60 is along the diagonal, atan(60/100) = 31 degrees off;
    // in steps of 5 degrees 30 is the nearest.
    const auto width = [&](const View& view) {
        double low = 1e300;
        double high = -1e300;
        for (const Vec3& p : box.vertices) {
            low = std::min(low, view.on_paper(p).x());
            high = std::max(high, view.on_paper(p).x());
        }
        return high - low;
    };
    const View view = widest_view(box, Vec3(0, 0, 2));
    check_frame(view);
    CHECK(view.up == Vec3::UnitZ());
    CHECK(width(view) > 0.999 * std::hypot(100, 60));
    CHECK(width(quarter_turned(view)) < width(view));
    check_frame(quarter_turned(view));
    // What was at the right is in front after a quarter turn.
    CHECK(quarter_turned(view).toward == view.right);
}

TEST_CASE("a part that is as wide all around is seen from the front") {
    const View view = widest_view(cylinder_solid(20, 50, 72).mesh, Vec3::UnitZ());
    CHECK((view.toward + Vec3::UnitY()).norm() < 1e-12);
}
