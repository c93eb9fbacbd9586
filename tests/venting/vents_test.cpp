// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/vents.h"

#include <algorithm>
#include <set>

#include "cavigram/core/error.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

const VentOptions kAll{.min_gain_mm3 = 0.0};

// A comb: a plate with teeth of the given heights, each 1 x 1, between gaps.
Solid comb(const std::vector<int>& teeth) {
    const int tallest = *std::max_element(teeth.begin(), teeth.end());
    return blocks(2 * static_cast<int>(teeth.size()), 1, tallest + 1, [&](int x, int, int z) {
        return z == 0 || (x % 2 == 0 && z <= teeth[std::size_t(x / 2)]);
    });
}

// Least air that any k peaks leave, by trying all of them: an arc is freed when a chosen peak or
// the root's own lies in it or above it.
double best_by_trial(const AirTree& tree, const std::vector<std::int32_t>& leaves, std::size_t k) {
    double best = tree.volume_mm3;
    for (std::uint32_t choice = 0; choice < (1U << leaves.size()); ++choice) {
        if (static_cast<std::size_t>(std::popcount(choice)) != std::min(k, leaves.size())) {
            continue;
        }
        std::set<std::int32_t> freed;
        const auto free = [&](std::int32_t arc) {
            for (; arc >= 0; arc = tree.arcs[std::size_t(arc)].parent) {
                freed.insert(arc);
            }
        };
        for (const std::int32_t root : tree.roots) {
            free(tree.arc_of_vertex[std::size_t(tree.arcs[std::size_t(root)].peak_vertex)]);
        }
        for (std::size_t i = 0; i < leaves.size(); ++i) {
            if ((choice >> i & 1U) != 0) {
                free(leaves[i]);
            }
        }
        double left = 0.0;
        for (std::size_t a = 0; a < tree.arcs.size(); ++a) {
            left += freed.count(static_cast<std::int32_t>(a)) != 0 ? 0.0 : tree.arcs[a].own_mm3;
        }
        best = std::min(best, left);
    }
    return best;
}

}  // namespace

TEST_CASE("a comb of m teeth needs m openings up and one down") {
    // algorithms.md section d: "comb with m teeth (m vents for zero residual when up, 1 when
    // down)"; one of them is the pour hole.
    const Solid teeth = comb({7, 5, 6, 3});
    const AirTreeBuilder solid(teeth.mesh);
    const VentPlan up = vent_plan(solid, solid.build(Vec3::UnitZ()), kAll);
    REQUIRE(up.vents.size() == 3);
    CHECK_NEAR(up.trapped_mm3, 14.0, 1e-12);
    const std::vector<double> gains{6, 5, 3};
    const std::vector<double> places{4.5, 2.5, 6.5};
    double left = 14.0;
    for (std::size_t i = 0; i < 3; ++i) {
        left -= gains[i];
        CHECK_NEAR(up.vents[i].gain_mm3, gains[i], 1e-12);
        CHECK(std::abs(up.vents[i].residual_mm3 - left) < 1e-11);
        CHECK((up.vents[i].place_mm - Vec3(places[i], 0.5, gains[i] + 1)).norm() < 1e-13);
    }
    CHECK(vents_needed(up.gains_mm3, 0.0) == 3);
    CHECK(vents_needed(up.gains_mm3, 2.9) == 3);
    CHECK(vents_needed(up.gains_mm3, 3.1) == 2);
    CHECK(vents_needed(up.gains_mm3, 8.1) == 1);
    CHECK(vents_needed(up.gains_mm3, 14.1) == 0);
    const VentPlan down = vent_plan(solid, solid.build(-Vec3::UnitZ()), kAll);
    CHECK(down.vents.empty());
    CHECK(down.trapped_mm3 == 0.0);
}

TEST_CASE("vents are ranked by the air that they free, not by height") {
    // A tall thin tower and a lower wide one; the pour hole is on a third, the tallest.
    const Solid solid_shape = blocks(9, 3, 9, [](int x, int y, int z) {
        return z == 0 || (x == 0 && y == 0) || (x == 2 && y == 0 && z < 8) ||
               (x >= 4 && x < 8 && z < 3);
    });
    const AirTreeBuilder solid(solid_shape.mesh);
    const VentPlan plan = vent_plan(solid, solid.build(Vec3::UnitZ()), kAll);
    REQUIRE(plan.vents.size() == 2);
    CHECK_NEAR(plan.vents[0].gain_mm3, 24.0, 1e-12);
    CHECK(plan.vents[0].height_mm == 3.0);
    CHECK((plan.vents[0].place_mm - Vec3(6, 1.5, 3)).norm() < 1e-13);
    CHECK_NEAR(plan.vents[1].gain_mm3, 7.0, 1e-12);
    CHECK(plan.vents[1].height_mm == 8.0);
}

TEST_CASE("greedy is as good as trying all choices, for every k") {
    int tried = 0;
    for (std::uint32_t seed = 0; seed < 40; ++seed) {
        const TriMesh mesh = bumpy_ball(50, 3, 5, 0.35, 0.02 + 0.002 * (seed % 7), seed);
        const AirTreeBuilder solid(mesh);
        for (const Vec3& up : sphere_directions(4)) {
            const AirTree tree = solid.build(up);
            std::vector<char> inner(tree.arcs.size(), 0);
            for (const AirTree::Arc& arc : tree.arcs) {
                if (arc.parent >= 0) {
                    inner[std::size_t(arc.parent)] = 1;
                }
            }
            std::vector<std::int32_t> leaves;
            for (std::size_t a = 0; a < inner.size(); ++a) {
                if (inner[a] == 0) {
                    leaves.push_back(static_cast<std::int32_t>(a));
                }
            }
            if (leaves.size() < 4 || leaves.size() > 12) {
                continue;
            }
            ++tried;
            const VentPlan plan = vent_plan(solid, tree, kAll);
            CHECK(plan.vents.size() + 1 <= leaves.size());
            const std::vector<double> gains = vent_gains_mm3(tree);
            REQUIRE(gains.size() == plan.vents.size());
            for (std::size_t k = 0; k <= plan.vents.size(); ++k) {
                const double left = k == 0 ? plan.trapped_mm3 : plan.vents[k - 1].residual_mm3;
                CHECK(std::abs(left - best_by_trial(tree, leaves, k)) < 1e-9 * tree.volume_mm3);
                if (k > 0) {
                    CHECK_NEAR(gains[k - 1], plan.vents[k - 1].gain_mm3, 1e-12);
                }
            }
            // The air that the pockets say stays with the first vents really is what the plan says.
            Openings chosen;
            for (std::size_t k = 0; k < plan.vents.size() && k < 3; ++k) {
                chosen.vents_mm.push_back(plan.vents[k].place_mm);
                const double left =
                    air_pockets(solid, tree, chosen, {.min_volume_mm3 = 0.0}).vented.total_mm3;
                CHECK(std::abs(left - plan.vents[k].residual_mm3) < 1e-9 * tree.volume_mm3);
            }
        }
    }
    CHECK(tried > 20);
}

TEST_CASE("existing openings are built on") {
    const Solid teeth = comb({7, 5, 6, 3});
    const AirTreeBuilder solid(teeth.mesh);
    const AirTree tree = solid.build(Vec3::UnitZ());
    VentOptions options = kAll;
    // Pour hole on the second tooth, a vent in the third's side at half its height.
    options.openings = {{Vec3(2.5, 0.5, 6)}, {Vec3(4, 0.5, 4)}};
    const VentPlan plan = vent_plan(solid, tree, options);
    CHECK_NEAR(plan.trapped_mm3, 7.0 + 3.0 + 3.0, 1e-12);
    REQUIRE(plan.vents.size() == 3);
    CHECK_NEAR(plan.vents[0].gain_mm3, 7.0, 1e-12);
    CHECK_NEAR(plan.vents[1].gain_mm3, 3.0, 1e-12);
    CHECK_NEAR(plan.vents[2].gain_mm3, 3.0, 1e-12);
    // Small gains are counted with their total.
    options.min_gain_mm3 = 5.0;
    const VentPlan few = vent_plan(solid, tree, options);
    CHECK(few.vents.size() == 1);
    CHECK(few.hidden_count == 2);
    CHECK_NEAR(few.hidden_mm3, 6.0, 1e-12);
    CHECK_NEAR(few.vents[0].residual_mm3, 6.0, 1e-12);
    options.min_gain_mm3 = -1.0;
    CHECK_THROWS_AS(static_cast<void>(vent_plan(solid, tree, options)), InvalidInput);
    CHECK(vent_plan(part_from_closed(teeth.mesh), Vec3::UnitZ(), kAll).vents.size() == 3);
}

TEST_CASE("vents closer than a hole's width are one") {
    // Teeth of 6 and 5, a millimeter apart, and one of 7 far off with the pour hole.
    const Solid teeth = blocks(12, 1, 8, [](int x, int, int z) {
        return z == 0 || (x == 0 && z <= 7) || (x == 8 && z <= 6) || (x == 10 && z <= 6) ||
               (x == 2 && z <= 2);
    });
    const AirTreeBuilder solid(teeth.mesh);
    const AirTree tree = solid.build(Vec3::UnitZ());
    VentOptions options = kAll;
    CHECK(vent_plan(solid, tree, options).vents.size() == 3);
    options.width_mm = 2.5;
    const VentPlan merged = vent_plan(solid, tree, options);
    REQUIRE(merged.vents.size() == 2);
    CHECK_NEAR(merged.vents[0].gain_mm3, 12.0, 1e-12);
    CHECK(merged.vents[0].merged == 1);
    CHECK_NEAR(merged.vents[0].residual_mm3, 2.0, 1e-12);
    CHECK(merged.vents[1].merged == 0);
    CHECK(std::abs(merged.vents[1].residual_mm3) < 1e-11);
    // A wide pour hole takes the place of the vent beside it.
    options.width_mm = 5.5;
    const VentPlan wide = vent_plan(solid, tree, options);
    CHECK(wide.vents.size() == 1);
    CHECK_NEAR(wide.trapped_mm3, 12.0, 1e-12);
}

// By counting: a U of arms 10 and 7 (2 x 3 across, base 6 x 3 x 1) holds 18 + 54 + 36 mm3.
TEST_CASE("where the pour hole lets no air out the first vent frees what it would have") {
    const AirTreeBuilder solid(u_arms().mesh);
    const AirTree tree = solid.build(Vec3::UnitZ());
    for (const PourHoleAfter after : {PourHoleAfter::plugged, PourHoleAfter::none}) {
        VentOptions options = kAll;
        options.openings.pour_hole_after = after;
        options.width_mm = 1.0;  // the plugged hole on the higher arm takes no vent's place
        const VentPlan plan = vent_plan(solid, tree, options);
        CHECK(plan.openings.size() == (after == PourHoleAfter::none ? 0 : 1));
        CHECK_NEAR(plan.trapped_mm3, 108.0, 1e-12);
        REQUIRE(plan.vents.size() == 2);
        CHECK_NEAR(plan.vents[0].gain_mm3, 72.0, 1e-12);
        CHECK((plan.vents[0].place_mm - Vec3(1, 1.5, 10)).norm() < 1e-13);
        CHECK_NEAR(plan.vents[0].residual_mm3, 36.0, 1e-12);
        CHECK_NEAR(plan.vents[1].gain_mm3, 36.0, 1e-12);
        CHECK(std::abs(plan.vents[1].residual_mm3) < 1e-12);
        const std::vector<double> gains = vent_gains_mm3(tree, after);
        REQUIRE(gains.size() == 2);
        CHECK_NEAR(gains[0], 72.0, 1e-12);
        CHECK_NEAR(gains[1], 36.0, 1e-12);
        CHECK(vents_needed(gains, 1.0) == 2);
    }
    const std::vector<double> vented = vent_gains_mm3(tree, PourHoleAfter::vented);
    REQUIRE(vented.size() == 1);
    CHECK_NEAR(vented[0], 36.0, 1e-12);
    // Two solids: each needs a vent of its own.
    const AirTreeBuilder pair(
        joined(u_arms().mesh, transformed(box_solid(4, 4, 4).mesh, 1.0, Vec3(20, 0, 0))));
    const std::vector<double> both = vent_gains_mm3(pair.build(Vec3::UnitZ()), PourHoleAfter::none);
    REQUIRE(both.size() == 3);
    CHECK_NEAR(both[0] + both[1] + both[2], 108.0 + 64.0, 1e-12);
}

TEST_CASE("without a pour hole greedy is as good as trying all choices") {
    // The air left with any k vents is what air_pockets says of these very vents; tried for all
    // pairs of peaks on wavy balls.
    int tried = 0;
    for (std::uint32_t seed = 0; seed < 12; ++seed) {
        const AirTreeBuilder solid(bumpy_ball(50, 3, 5, 0.35, 0.02, seed));
        const AirTree tree = solid.build(Vec3(0.1, 0.2, 1));
        VentOptions options = kAll;
        options.openings.pour_hole_after = PourHoleAfter::none;
        const VentPlan plan = vent_plan(solid, tree, options);
        if (plan.vents.size() < 3 || plan.vents.size() > 12) {
            continue;
        }
        ++tried;
        for (std::size_t k = 1; k <= 2; ++k) {
            double best = tree.volume_mm3;
            for (std::size_t i = 0; i < plan.vents.size(); ++i) {
                for (std::size_t j = i; j < (k == 1 ? i + 1 : plan.vents.size()); ++j) {
                    const Openings made{
                        {}, {plan.vents[i].place_mm, plan.vents[j].place_mm}, PourHoleAfter::none};
                    best = std::min(best, air_pockets(solid, tree, made).vented.total_mm3);
                }
            }
            CHECK(std::abs(plan.vents[k - 1].residual_mm3 - best) < 1e-9 * tree.volume_mm3);
        }
    }
    CHECK(tried > 3);
}
