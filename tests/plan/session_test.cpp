// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/session.h"

#include <utility>

#include "plan/session_changes.h"
#include "support/near.h"

TEST_CASE("any sequence of changes, refusals and stops gives the bytes of a fresh plan") {
    const Parts parts;
    for (const std::uint32_t seed : {1U, 2U}) {
        follow(parts, seed, 6);
    }
}

TEST_CASE("only what depends on a change is computed again") {
    const Parts parts;
    PlanRequest request = small_request(parts.file("u.stl"));
    request.air.neck_mm = 2.0;
    request.air.up_given = false;
    Stages stages = kWholePlan;
    stages.rise = false;
    Session session;
    SessionCounts before;
    // How much more was computed for a request than before.
    const auto more = [&](const PlanRequest& wanted) {
        static_cast<void>(session.plan(wanted, stages));
        const SessionCounts now = session.counts();
        const SessionCounts last = std::exchange(before, now);
        return [now, last](std::size_t SessionCounts::*count) { return now.*count - last.*count; };
    };
    using Counts = SessionCounts;
    const auto first = more(request);
    for (const auto count : {&Counts::read, &Counts::mended, &Counts::indexed, &Counts::skin_depths,
                             &Counts::air_builders, &Counts::way_searches, &Counts::splits}) {
        CHECK(first(count) == 1);
    }

    const SessionCounts last = before;
    static_cast<void>(more(request));
    CHECK(before == last);  // the same again: nothing

    // Where the vents stay as wide, all that is kept stands.
    request.bench.temperature_c = 24.0;
    static_cast<void>(more(request));
    CHECK(before == last);

    // A narrower pour hole is drilled in what was found.
    request.bench.pour_hole_width_mm = 9.0;
    const auto hole = more(request);
    CHECK(hole(&Counts::way_rankings) == 1);
    CHECK(hole(&Counts::placed_holes) == 1);
    for (const auto count : {&Counts::indexed, &Counts::skin_depths, &Counts::air_builders,
                             &Counts::way_searches, &Counts::thin_places, &Counts::pictures}) {
        CHECK(hole(count) == 0);
    }

    // A density moves the skin, and what rests on it; the shape stands.
    request.foam.density_kg_m3 = 170.0;
    const auto density = more(request);
    for (const auto count : {&Counts::skin_depths, &Counts::density_maps, &Counts::in_the_hand}) {
        CHECK(density(count) == 1);
    }
    for (const auto count :
         {&Counts::indexed, &Counts::air_builders, &Counts::air_trees, &Counts::way_searches,
          &Counts::splits, &Counts::mold_shapes, &Counts::pictures}) {
        CHECK(density(count) == 0);
    }

    // Another way up takes new trees, and ranks again; the search and the foam stand. And back
    // again there is no new tree.
    PlanRequest turned = request;
    turned.air.up = Vec3(1, 0, 0);
    turned.air.up_given = true;
    const auto up = more(turned);
    CHECK(up(&Counts::air_trees) == 2);
    CHECK(up(&Counts::way_rankings) == 1);
    for (const auto count : {&Counts::way_searches, &Counts::air_builders, &Counts::skin_depths,
                             &Counts::thin_places, &Counts::in_the_hand}) {
        CHECK(up(count) == 0);
    }
    CHECK(more(request)(&Counts::air_trees) == 0);

    // The unit: all but reading.
    request.part.units = parse_length_unit("cm");
    const auto unit = more(request);
    CHECK(unit(&Counts::read) == 0);
    for (const auto count : {&Counts::mended, &Counts::air_builders, &Counts::way_searches}) {
        CHECK(unit(count) == 1);
    }

    // The file was written anew: all of it.
    parts.write("u.stl", box_solid(50, 40, 30).mesh, 0.1);
    const Plan plan = session.plan(request, {});
    CHECK_NEAR(plan.measures.mass.volume_mm3, 60'000.0, 1e-6);
    CHECK(session.counts().read == 2);
}

TEST_CASE("a stop in the middle keeps what was done, and the rest is done the next time") {
    const Parts parts;
    const PlanRequest request = small_request(parts.file("u.stl"));
    const Stages stages{.foam = true, .air = true, .orient = true};
    Session session;
    RunContext context;
    std::stop_source source;
    context.stop = source.get_token();
    context.progress = [&](std::string_view phase, double /*share*/) {
        if (phase == "turning") {
            source.request_stop();
        }
    };
    CHECK_THROWS_AS(static_cast<void>(session.plan(request, stages, context)), Cancelled);
    const SessionCounts stopped = session.counts();
    CHECK(stopped.skin_depths == 1);
    CHECK(stopped.air_builders == 1);
    CHECK(stopped.way_searches == 0);
    CHECK(told_of(session.plan(request, stages)) == told_of(make_plan(request, stages)));
    CHECK(session.counts().skin_depths == 1);
    CHECK(session.counts().air_builders == 1);
    CHECK(session.counts().way_searches == 1);
}

TEST_CASE("a mesh stands in for the file") {
    const Parts parts;
    PlanRequest request = small_request(parts.file("u.stl"));
    Soup soup = read_mesh(request.part.file);
    const std::string from_file = told_of(make_plan(request, {.foam = true}));
    request.part.file = "elsewhere/u.stl";
    Session session(std::move(soup));
    CHECK(told_of(session.plan(request, {.foam = true})) == from_file);
}

TEST_CASE("turned in the hand, the air is that of a plan, and its pockets can be drawn") {
    const Parts parts;
    PlanRequest request = small_request(parts.file("u.stl"));
    request.air.most_vents = 0;
    Session session;
    for (const Vec3& up : {Vec3(0, 0, 1), Vec3(0, 0, -1), Vec3(1, 2, 3)}) {
        const TurnedAir turned = session.air(request, up);
        request.air.up = up;
        const Plan plan = session.plan(request, {.foam = true, .air = true});
        CHECK(turned.air.up == plan.air->up);
        CHECK(turned.air.trapped_vented_mm3 == plan.air->trapped_vented_mm3);
        CHECK(turned.air.openings.size() == plan.air->openings.size());
        CHECK(turned.air.vents.size() == plan.air->vents.size());
        CHECK(turned.unvented.size() == plan.air->unvented.pockets.size());
        CHECK(turned.squeezed_mm3 <= turned.air.trapped_vented_mm3);
        for (const PocketShape& shape : turned.left) {
            for (const std::int32_t t : shape.triangles) {
                double top = -1e9;
                for (int corner = 0; corner < 3; ++corner) {
                    top = std::max(top, turned.air.up.dot(plan.part->mesh().corner(
                                            static_cast<std::size_t>(t), corner)));
                }
                CHECK(top > shape.pocket.spill_height_mm);
            }
        }
    }
    // The U of 8 mm cells stands on its base: arms of 10 and 7 on a base of 1, each 2 x 3. The
    // pour hole takes the higher arm; the other keeps its air above the base, 2 x 3 x 6 cells.
    const TurnedAir u = session.air(request, Vec3::UnitZ());
    REQUIRE(u.left.size() == 1);
    const double cell_mm3 = 512.0;
    CHECK_NEAR(u.left[0].pocket.volume_mm3, 36.0 * cell_mm3, 1e-9);
    CHECK_NEAR(u.air.trapped_vented_mm3, 36.0 * cell_mm3, 1e-9);
    // Its four walls, 2 (2 + 3) 6 squares of two triangles each, and its top, 2 x 3 of them.
    CHECK(u.left[0].triangles.size() == 2 * (60 + 6));
    // By docs/checks.md E6's law: all of the air at 101.325 kPa.
    const double squeezed = 36.0 * cell_mm3 * 101.325 / (101.325 + u.air.pressure_kpa);
    CHECK_NEAR(u.squeezed_mm3, squeezed, 1e-9);
    const Plan plan = session.plan(request, {.foam = true});
    CHECK_NEAR(u.squeezed_g, 1e-6 * plan.foam->mass.molded_density_kg_m3 * squeezed, 1e-9);
    // One vent lets it out.
    request.air.most_vents = 1;
    const TurnedAir vented = session.air(request, Vec3::UnitZ());
    CHECK(vented.left.empty());
    CHECK(vented.squeezed_mm3 < 1.0);
    CHECK(vented.air.vents.size() == 1);
}
