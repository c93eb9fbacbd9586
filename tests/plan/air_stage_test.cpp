// SPDX-License-Identifier: GPL-3.0-or-later
#include <numbers>

#include <doctest/doctest.h>

#include "cavigram/core/error.h"
#include "cavigram/core/told.h"
#include "cavigram/foam/kinetics.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/plan/air_foam_detail.h"
#include "cavigram/plan/air_stage_detail.h"
#include "cavigram/plan/hole_findings_detail.h"
#include "cavigram/venting/vent_flow.h"

#include "support/findings.h"
#include "support/near.h"
#include "support/refusal.h"
#include "venting/shapes.h"

using namespace cavigram;
using detail::AirConditions;
using detail::AirStage;

namespace {

constexpr double kRate_mm3_s = 1000.0;

// What `plan` would tell the stage of this part.
AirConditions conditions_of(const TriMesh& mesh) {
    const MassProperties mass = mass_properties(mesh);
    AirConditions conditions;
    conditions.volume_mm3 = mass.volume_mm3;
    conditions.rate_mm3_s = kRate_mm3_s;
    conditions.frame = place_frame(mass, Vec3::UnitZ());
    return conditions;
}

// With what `plan` says of the holes before the stage speaks.
AirStage stage_of(const AirTreeBuilder& solid, const AirOptions& options,
                  const AirConditions& conditions) {
    const HoleRules rules = detail::hole_rules(options, conditions);
    const PlacedHoles holes = placed_holes(solid, solid.build(options.up), rules);
    // The caller's own, which outlive the stage.
    const detail::Shared<AirTreeBuilder> shared_solid(detail::Shared<void>(), &solid);
    const detail::Shared<PlacedHoles> shared_holes(detail::Shared<void>(), &holes);
    detail::AirNodes nodes;
    AirStage stage = air_stage(shared_solid, shared_holes, options, conditions, nodes, {});
    for (const auto& findings :
         {detail::pour_hole_findings(holes, rules), detail::hole_findings(holes, rules)}) {
        stage.findings.insert(stage.findings.end(), findings.begin(), findings.end());
    }
    return stage;
}

AirStage stage_of(const TriMesh& mesh, const AirOptions& options = {}) {
    return stage_of(AirTreeBuilder(mesh), options, conditions_of(mesh));
}

const Finding* found(const AirStage& stage, FindingCode code) {
    return finding_of(stage.findings, code);
}

AirOptions options_with(PourHoleAfter after, int most_vents = 3) {
    AirOptions options;
    options.pour_hole_after = after;
    options.most_vents = most_vents;
    return options;
}

// Ten times as large, so that a cube of the shapes is 1 cm3.
TriMesh tenfold(const TriMesh& mesh) {
    return transformed(mesh, 10.0, Vec3::Zero());
}

std::string refusal(const AirOptions& options, std::optional<PourMethod> method) {
    return refusal_of([&] { return detail::settled_pour_hole(options, method); });
}

}  // namespace

// By counting: of 10 cm3 the lower tower's 3 stay, unless it has a vent.
TEST_CASE("air_stays: only where air stays that matters") {
    const TriMesh towers = tenfold(two_towers().mesh);
    const AirStage none = stage_of(towers, options_with(PourHoleAfter::vented, 0));
    REQUIRE(found(none, "air_stays") != nullptr);
    CHECK(found(none, "air_stays")->severity == Severity::warning);
    CHECK(rendered(found(none, "air_stays")->text)
              .find("with 0 vents, 3.00 cm3 of air stays (30 %") != std::string::npos);
    CHECK_NEAR(none.block.trapped_vented_mm3, 3000.0, 1e-12);
    const AirStage one = stage_of(towers, options_with(PourHoleAfter::vented, 1));
    CHECK(found(one, "air_stays") == nullptr);
    CHECK(one.block.trapped_vented_mm3 == 0.0);
}

// Two boxes of 40 mm that share 20 x 20 x 20: the surface's tree counts these 8 cm3 twice.
TEST_CASE("air_methods_differ: where the surface crosses itself, not on a sound part") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    const TriMesh crossing = joined(box, transformed(box, 1.0, Vec3(20, 20, 20)));
    const AirStage two = stage_of(crossing);
    REQUIRE(found(two, "air_methods_differ") != nullptr);
    CHECK(std::abs(-two.block.second.volume_difference_mm3 - 8000.0) < 0.02 * 128000.0);
    CHECK(found(stage_of(box), "air_methods_differ") == nullptr);
}

// Towers of 5 x 5 mm, 20 and 12 high, on a base; a neck of 1 x 1 under the lower one's top. Closed,
// it keeps the 5 x 5 x 7 mm3 above the base.
TEST_CASE("narrow_necks: only where a closed neck keeps air that matters") {
    const TriMesh mesh = blocks(13, 5, 20, [](int x, int y, int z) {
                             const bool neck = x >= 5 && x < 8 && y == 1 && z == 11;
                             return z < 5 || x < 5 || (x >= 8 && z < 12) || neck;
                         }).mesh;
    AirOptions options;
    options.neck_mm = 2.0;
    const AirStage closed = stage_of(mesh, options);
    REQUIRE(found(closed, "narrow_necks") != nullptr);
    CHECK(found(closed, "narrow_necks")->at_mm.size() == 1);
    CHECK(closed.block.necks->more_mm3() >= 174.0);
    options.neck_mm = 0.5;
    CHECK(found(stage_of(mesh, options), "narrow_necks") == nullptr);
    options.neck_mm = 0.0;
    CHECK_FALSE(stage_of(mesh, options).block.necks);
}

TEST_CASE("nothing_shown: where no surface lies on the show side") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    AirOptions options;
    options.show = ShowSide{.box_mm = Box3{Vec3(100, 100, 100), Vec3(110, 110, 110)}};
    const AirStage off = stage_of(box, options);
    REQUIRE(found(off, "nothing_shown") != nullptr);
    CHECK(found(off, "nothing_shown")->severity == Severity::note);
    options.show = ShowSide{.toward = Vec3(0, 0, -1)};
    CHECK(found(stage_of(box, options), "nothing_shown") == nullptr);
}

TEST_CASE("a box in the three states: drill sizes, vents, air") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    const double drill = vent_size(1, {.growth_ml_s = kRate_mm3_s / 1000.0}).drill_mm;
    const AirStage vented = stage_of(box);
    CHECK(vented.block.vents.empty());
    CHECK(vented.block.cover_drill_mm == drill);
    CHECK(vented.block.unvented.total_mm3 == 0.0);
    CHECK_FALSE(vented.block.no_opening);
    CHECK(vented.block.pools.landing_mm.has_value());

    const AirStage none = stage_of(box, options_with(PourHoleAfter::none));
    CHECK(none.block.openings.empty());
    CHECK(none.block.no_opening);
    CHECK(none.block.cover_drill_mm == 0.0);
    CHECK_NEAR(none.block.unvented.total_mm3, 64000.0, 1e-12);
    REQUIRE(none.block.vents.size() == 1);
    CHECK_NEAR(none.block.vents[0].frees_mm3, 64000.0, 1e-12);
    CHECK(none.block.vents[0].diameter_mm == drill);
    CHECK((none.block.vents[0].at_mm - Vec3(20, 20, 40)).norm() < 1e-12);
    CHECK(none.block.trapped_vented_mm3 == 0.0);
    CHECK_FALSE(none.block.pools.landing_mm.has_value());
    CHECK(none.findings.empty());

    // Plugged, the hole is drilled all the same: beside the vent, not in it.
    const AirStage plugged = stage_of(box, options_with(PourHoleAfter::plugged));
    REQUIRE(plugged.block.vents.size() == 1);
    REQUIRE(plugged.block.openings.size() == 1);
    CHECK_FALSE(plugged.block.openings[0].opening.lets_air_out);
    CHECK_FALSE(plugged.block.openings[0].opening.given);
    CHECK(plugged.block.cover_drill_mm == 0.0);
    CHECK(plugged.block.openings[0].opening.height_mm == 40.0);
    CHECK((plugged.block.openings[0].opening.place_mm - plugged.block.vents[0].at_mm).norm() >=
          0.5 * (15.0 + drill) + HoleRules{}.least_wall_mm);
    CHECK((plugged.block.vents[0].at_mm - Vec3(20, 20, 40)).norm() < 1e-12);
    CHECK(plugged.block.trapped_vented_mm3 == 0.0);
    CHECK(plugged.block.pools.landing_mm.has_value());
    CHECK(plugged.findings.empty());
}

TEST_CASE("a plugged pour hole that is given a place keeps the vents off it") {
    // A ball R 30: from the plug's edge down its top's air stays, a cap whose height is the sagitta
    // of the vent's distance d, d^2/(2R), of volume pi h^2 (3R - h)/3.
    const TriMesh ball = sphere_solid(30, 96).mesh;
    AirOptions options = options_with(PourHoleAfter::plugged);
    options.pour_hole_at_mm = Vec3(0, 0, 30);
    options.smallest_pocket_mm3 = 1.0;
    const AirStage stage = stage_of(ball, options);
    REQUIRE(stage.block.vents.size() == 1);
    const double apart =
        0.5 * (15.0 + stage.block.vents[0].diameter_mm) + HoleRules{}.least_wall_mm;
    const double d = (stage.block.vents[0].at_mm - Vec3(0, 0, 30)).norm();
    CHECK(d >= apart - 1e-9);
    CHECK(d < apart + 2.5);  // to the next of 96 flat sides
    const double h = d * d / 60.0;
    CHECK(stage.block.trapped_vented_mm3 ==
          doctest::Approx(std::numbers::pi * h * h * (90.0 - h) / 3.0).epsilon(0.02));
    CHECK(found(stage, "vent_in_pour_hole") == nullptr);
    // A vent that is given in the plug is said.
    options.vents_at_mm = {Vec3(0, 0, 30)};
    CHECK(found(stage_of(ball, options), "vent_in_pour_hole") != nullptr);
}

TEST_CASE("the show side is kept free in the three states") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    AirOptions options;
    options.show = ShowSide{.toward = Vec3::UnitZ()};
    options.pour_hole_after = PourHoleAfter::none;
    const AirStage none = stage_of(box, options);
    REQUIRE(none.block.vents.size() == 1);
    const double radius = 0.5 * none.block.vents[0].diameter_mm;
    // By counting: 40 x 40 mm2 times the vent's radius stay above a vent in the side.
    CHECK(std::abs(none.block.trapped_vented_mm3 - 1600.0 * radius) < 1600.0 * 0.02);
    CHECK(std::abs(none.block.show->cost_mm3 - 1600.0 * radius) < 1600.0 * 0.02);
    options.pour_hole_after = PourHoleAfter::plugged;
    const AirStage plugged = stage_of(box, options);
    REQUIRE(plugged.block.openings.size() == 1);
    CHECK(plugged.block.openings[0].opening.place_mm.z() <= 40.0 - 7.5);
    CHECK(plugged.block.show->holes_on_it == 0);
    CHECK(found(plugged, "hole_on_show_side") == nullptr);
    CHECK(found(plugged, "vent_in_pour_hole") == nullptr);
    options.pour_hole_at_mm = Vec3(20, 20, 40);
    CHECK(found(stage_of(box, options), "hole_on_show_side") != nullptr);
}

TEST_CASE("no_opening: a mold without any opening is a stop, one with a vent is not") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    for (const PourHoleAfter after : {PourHoleAfter::plugged, PourHoleAfter::none}) {
        const AirStage shut = stage_of(box, options_with(after, 0));
        REQUIRE(found(shut, "no_opening") != nullptr);
        CHECK(found(shut, "no_opening")->severity == Severity::stop);
        CHECK(found(shut, "air_stays") == nullptr);
        CHECK(found(stage_of(box, options_with(after, 1)), "no_opening") == nullptr);
    }
    CHECK(found(stage_of(box, options_with(PourHoleAfter::vented, 0)), "no_opening") == nullptr);
    // Two solids need two vents.
    const TriMesh two = joined(box, transformed(box, 1.0, Vec3(100, 0, 0)));
    CHECK(found(stage_of(two, options_with(PourHoleAfter::none, 1)), "no_opening") != nullptr);
    const AirStage open = stage_of(two, options_with(PourHoleAfter::none, 2));
    CHECK(found(open, "no_opening") == nullptr);
    CHECK(found(open, "several_solids")->text.find("an open half and a vent") != std::string::npos);
    const AirStage plugged = stage_of(two, options_with(PourHoleAfter::plugged, 2));
    CHECK(plugged.block.openings.size() == 2);
    CHECK(plugged.block.vents.size() == 2);
    CHECK(found(plugged, "vent_in_pour_hole") == nullptr);
}

TEST_CASE("pour_hole_narrow_for_air: a cover can't hold a hole wider than itself") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    AirConditions conditions = conditions_of(box);
    const AirTreeBuilder solid(box);
    CHECK(found(stage_of(solid, {}, conditions), "pour_hole_narrow_for_air") == nullptr);
    conditions.pour_hole_width_mm = 1.0;
    CHECK(found(stage_of(solid, {}, conditions), "pour_hole_narrow_for_air") != nullptr);
    CHECK(found(stage_of(solid, options_with(PourHoleAfter::plugged), conditions),
                "pour_hole_narrow_for_air") == nullptr);
}

TEST_CASE("what becomes of the pour hole follows the method; contradictions are refused") {
    AirOptions options;
    const auto settled = [&](std::optional<PourMethod> method) {
        return detail::settled_pour_hole(options, method);
    };
    CHECK(settled({}) == PourHoleAfter::vented);
    CHECK(settled(PourMethod::through_hole) == PourHoleAfter::vented);
    CHECK(settled(PourMethod::open_half_and_turn) == PourHoleAfter::none);
    CHECK(settled(PourMethod::brush_first) == PourHoleAfter::none);
    options.pour_hole_at_mm = Vec3(1, 2, 3);
    CHECK(settled(PourMethod::open_half_and_turn) == PourHoleAfter::vented);
    options.pour_hole_after = PourHoleAfter::plugged;
    CHECK(settled(PourMethod::brush_first) == PourHoleAfter::plugged);
    options.pour_hole_after = PourHoleAfter::none;
    CHECK(refusal(options, {}).find("leave one of them out") != std::string::npos);
    options.pour_hole_at_mm.reset();
    CHECK(refusal(options, PourMethod::through_hole).find("needs a pour hole") !=
          std::string::npos);
    CHECK(refusal(options, PourMethod::brush_first) == "accepted");
    options.weights = parse_way_weights("path=1", "--weights");
    CHECK(refusal(options, {}).find("leave path out") != std::string::npos);
    const OrientationOptions search = detail::orientation_options(
        options_with(PourHoleAfter::none), conditions_of(box_solid(40, 40, 40).mesh));
    CHECK(search.pour_hole_after == PourHoleAfter::none);
    CHECK(search.holes->given.pour_hole_after == PourHoleAfter::none);
}

// The steepest of the rise within the cavity, by trying 200,000 moments.
TEST_CASE("the air's rate is the steepest of the rise while the cavity is not full") {
    // FM6 [D]: b 2.132 504 1 and c 0.051 769 284 for 30 and 120 s; then packed to 1.15 it is c P/e.
    const double expansion = std::exp(2.1325041);
    CHECK_NEAR(detail::air_rate_share_per_s(expansion, 90.0, 1.15),
               0.051769284 * 1.15 / std::numbers::e, 1e-7);
    for (const double e : {1.5, 2.5, 8.436, 30.0}) {
        for (const double packing : {0.99, 1.0, 1.15, 2.5, 3.5, 8.0}) {
            const GompertzRise rise(e, 90.0);
            double steepest = 0.0;
            for (int i = 0; i < 200'000; ++i) {
                const double t = 0.001 * i;
                const double share = rise.filled_share(t);
                // The cavity holds 1/P of what the foam would grow to, and is full from there on.
                if (share <= std::max(1.0 / packing, 1.0 / e)) {
                    steepest = std::max(steepest, packing * share * rise.growth_per_s(t));
                }
            }
            CAPTURE(e);
            CAPTURE(packing);
            CHECK_NEAR(detail::air_rate_share_per_s(e, 90.0, packing), steepest, 1e-3);
        }
    }
}

TEST_CASE("rate, pressure and liquid follow card, density and temperature") {
    const FoamCard card = load_card("generic-firm");
    const double free_rise = card.density_kg_m3.value;
    const auto foam = [&](FoamOptions options = {}, std::optional<double> celsius = {}) {
        options.mix = card.mix;  // a density would choose another
        const detail::FoamChoice choice = detail::choose_foam(options, detail::family_of(options));
        detail::refuse_unfit(choice);
        return detail::air_foam_of(choice, options.air_kpa, celsius);
    };
    const detail::AirFoam plain = foam();
    CHECK(plain.basis.card == "generic-firm");
    CHECK(plain.basis.temperature_c == card.at_c);
    CHECK_NEAR(plain.basis.packing_factor, 1.15, 1e-12);
    CHECK_NEAR(plain.basis.free_rise_kg_m3, free_rise, 1e-12);
    // 8 lb/ft3 packed to 1.15 (foam_model.md 3); gas is squeezed by Boyle's law.
    CHECK_NEAR(plain.pressure_kpa, 17.549964, 1e-6);
    // 10 K colder takes as much longer as the card's own rule says.
    const double slower = time_at_temperature_s(1.0, card.at_c, card.at_c - 10.0, card.rule);
    CHECK(slower > 1.5);
    CHECK_NEAR(foam({}, card.at_c - 10.0).rate_share_per_s, plain.rate_share_per_s / slower, 1e-12);
    // A denser goal packs the same mix more.
    FoamOptions dense;
    dense.density_kg_m3 = 1.3 * free_rise;
    CHECK_NEAR(foam(dense).basis.packing_factor, 1.3, 1e-12);
    CHECK_NEAR(foam(dense).liquid_share, plain.liquid_share * 1.3 / 1.15, 1e-12);
    CHECK_NEAR(foam(dense).pressure_kpa, 35.822760, 1e-6);
    // A free rise of one's own stands in the card's place.
    FoamOptions lighter;
    lighter.density_kg_m3 = 100.0;
    lighter.basis = DensityBasis::free_rise;
    lighter.overpack = 1.2;
    CHECK(foam(lighter).basis.free_rise_kg_m3 == 100.0);
    CHECK_NEAR(foam(lighter).basis.packing_factor, 1.2, 1e-12);

    FoamOptions wrong;
    wrong.density_kg_m3 = 0.5 * free_rise;
    CHECK_THROWS_AS(static_cast<void>(foam(wrong)), InvalidInput);
    wrong.density_kg_m3 = card.skin_density_kg_m3.value;
    CHECK_THROWS_AS(static_cast<void>(foam(wrong)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(foam({}, card.at_c + 20.0)), InvalidInput);
    FoamCard early = card;
    early.rise_time_s = early.work_time_s;
    CHECK_THROWS_AS(static_cast<void>(detail::air_foam(
                        early, {.mean_kg_m3 = 150, .free_rise_kg_m3 = 130, .temperature_c = {}})),
                    InvalidInput);
}
