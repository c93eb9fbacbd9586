// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/handling/armature.h"

#include <cmath>
#include <numbers>
#include <string>

#include "cavigram/mesh/solids.h"

#include "support/near.h"
#include "support/refusal.h"
#include "support/swept.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

constexpr double kYoung_mpa = 0.5;
constexpr double kDensity_kg_m3 = 160.0;

StiffLayers plain() {
    StiffLayers foam;
    foam.layers = {SkinProfile::step, 0.0, kDensity_kg_m3, kDensity_kg_m3};
    foam.solid_mpa = kYoung_mpa * std::pow(kSolidPolyurethane_kg_m3 / kDensity_kg_m3, 2);
    return foam;
}

struct Made {
    TriangleBvh surface;
    Beam beam;
    RodRoom room;

    explicit Made(const TriMesh& mesh)
        : surface(mesh),
          beam(cavigram::beam(mesh, surface, mass_properties(mesh), plain(),
                              mass_properties(mesh).volume_mm3 * kDensity_kg_m3 * 1e-6)),
          room(beam, surface) {}

    [[nodiscard]] std::size_t end_at(const Vec3& at) const {
        const std::size_t last = beam.elements.size();
        return (beam.node_mm(0) - at).norm() < (beam.node_mm(last) - at).norm() ? 0 : last;
    }
};

const TriMesh& cylinder() {
    static const TriMesh mesh = cylinder_solid(20, 375, 128).mesh;
    return mesh;
}

}  // namespace

TEST_CASE("the generic stocks: textbook figures, words that read back") {
    for (const RodStock& stock : rod_stocks()) {
        CHECK(stock_of(stock.material).young_mpa == stock.young_mpa);
        CHECK(std::is_sorted(stock.diameters_mm.begin(), stock.diameters_mm.end()));
        const Rod rod = parse_rod(std::string(to_text(stock.material)) + ":4mm", "rod");
        CHECK(rod.material == stock.material);
        CHECK(rod.diameter_mm == 4.0);
    }
    CHECK_NEAR(parse_rod("birch:1/4in", "rod").diameter_mm, 6.35, 1e-12);
    CHECK(refusal_of([] { return parse_rod("steel", "--armature"); }) ==
          "--armature is \"steel\"; give a material and a diameter such as steel:3mm.");
    CHECK(refusal_of([] {
              return parse_rod("oak:3mm", "--armature");
          }).find("steel, aluminum, birch or glass_fiber") != std::string::npos);
    CHECK(refusal_of([] { return parse_rod("steel:3g", "--armature"); }) != "accepted");
    CHECK(refusal_of([] { return parse_rod("steel:80mm", "--armature"); }) != "accepted");
}

TEST_CASE("a rod in a round bar lies in its middle, as far as the cover lets it") {
    const Made made(cylinder());
    const std::size_t grips[] = {made.end_at(Vec3::Zero())};
    const auto laid = made.room.lay({RodMaterial::steel, 3.0}, grips);
    REQUIRE(laid);
    CHECK(laid->path.bends_deg.empty());
    for (const Vec3& corner : laid->path.corners_mm) {
        CHECK(std::hypot(corner.x(), corner.y()) < 0.01);
        // 6 mm of foam, half the rod, and no more than an element (6.25 mm) away from that.
        CHECK(std::min(corner.z(), 375.0 - corner.z()) >= 7.5);
        CHECK(std::min(corner.z(), 375.0 - corner.z()) <= 7.5 + 0.5 + 6.25);
    }
    CHECK(laid->path.cover_mm >= 6.0);
    CHECK_NEAR(laid->volume_mm3, pi / 4 * 9 * laid->path.length_mm, 1e-12);
    CHECK_NEAR(laid->mass_g, laid->volume_mm3 * 7850e-6, 1e-12);
    // The thickest: 20 mm less the cover on each side; between samples 375/200 mm apart half of
    // that is not counted on.
    CHECK(made.room.thickest_mm(RodMaterial::steel, grips) <= 28.0);
    CHECK(made.room.thickest_mm(RodMaterial::steel, grips) >= 26.0);
    CHECK_FALSE(made.room.lay({RodMaterial::steel, 29.0}, grips));
}

TEST_CASE("B6: droop with that rod, and masses that close") {
    const Made made(cylinder());
    const std::size_t grips[] = {made.end_at(Vec3::Zero())};
    const auto laid = made.room.lay({RodMaterial::steel, 3.0}, grips);
    REQUIRE(laid);
    const std::vector<BeamElement> elements =
        with_rod(made.beam, *laid, kYoung_mpa, kDensity_kg_m3);
    DroopOptions held;
    held.grip = grips[0];
    const double with = droop(elements, Vec3::UnitX(), held).spans[0].droop_mm;
    // B6 has the rod from end to end. Here up to three elements of 6.25 mm at the root are foam
    // alone: what B2's moment bends them, times the length beyond, comes on top.
    const double foam_ei = kYoung_mpa * pi / 4 * 160000;
    CHECK(with > 7.216045);
    CHECK(with < 7.216045 + 3 * 6.25 * 138.638 / foam_ei * 375.0);
    // The hand at the end holds the rod too: then it is B6 but for what lies behind that.
    const DroopOptions on_rod = hands_on_rod(held, *laid);
    CHECK((made.beam.node_mm(on_rod.grip) - made.beam.node_mm(held.grip)).norm() < 20.0);
    double most = 0.0;
    for (const DroopSpan& span : droop(elements, Vec3::UnitX(), on_rod).spans) {
        most = std::max(most, span.droop_mm);
    }
    CHECK(most < 7.216045);
    CHECK(most > 7.216045 * std::pow(1.0 - 20.0 / 375.0, 4));
    double sum = 0.0;
    for (const BeamElement& e : elements) {
        sum += e.mass_g;
    }
    double foam = 0.0;
    for (const BeamElement& e : made.beam.elements) {
        foam += e.mass_g;
    }
    CHECK_NEAR(sum, foam + laid->mass_g - laid->volume_mm3 * kDensity_kg_m3 * 1e-6, 1e-12);
}

TEST_CASE("B10: the least steel that keeps two hundredths") {
    // Held in the middle each arm is half as long. Long arms: the bar four times as long, so that
    // the ends without a rod do not matter. wL^3/(8 0.02) of B10 scales with the cube.
    const TriMesh bar = cylinder_solid(20, 1500, 64).mesh;
    const Made made(bar);
    DroopOptions held;
    held.grip = made.beam.elements.size() / 2;
    ArmatureOptions options;
    options.most_share = 0.02;
    const std::vector<RodChoice> choices =
        least_rods(made.beam, made.room, Vec3::UnitX(), held, kYoung_mpa, kDensity_kg_m3, options);
    REQUIRE(choices.size() == 4);
    const auto needed = [&](double rod_kg_m3, double diameter) {
        const double area = pi / 4 * diameter * diameter;
        const double w =
            9.80665e-9 * (kDensity_kg_m3 * pi * 400 + (rod_kg_m3 - kDensity_kg_m3) * area);
        return w * std::pow(750.0, 3) / (8 * options.most_share);
    };
    for (const RodChoice& choice : choices) {
        REQUIRE(choice.laid);
        const RodStock& stock = stock_of(choice.material);
        const auto has = [&](double d) {
            return kYoung_mpa * pi / 4 * 160000 + stock.young_mpa * pi / 64 * std::pow(d, 4);
        };
        // By hand: the first of the stock whose EI is enough, its own weight counted.
        double by_hand = 0.0;
        for (const double d : stock.diameters_mm) {
            if (has(d) >= needed(stock.density_kg_m3, d)) {
                by_hand = d;
                break;
            }
        }
        CHECK(choice.enough == (by_hand > 0.0));
        if (choice.enough) {
            CHECK(choice.laid->rod.diameter_mm == by_hand);
            CHECK(choice.share <= options.most_share);
        }
    }
    // B10 itself, without the rod's weight: 2.780776 mm of steel for 375 mm.
    const double ei = 1.971744e-3 * std::pow(375.0, 3) / (8 * 0.02);
    const double d = std::pow((ei - kYoung_mpa * pi / 4 * 160000) / (200e3 * pi / 64), 0.25);
    CHECK_NEAR(ei * 1e-6, 0.6498668, 1e-6);
    CHECK_NEAR(d, 2.780776, 1e-6);
}

TEST_CASE("an elbow: steel bends once and passes the corner, a dowel does not") {
    const Made made(swept::elbow(220, 180, 40));
    REQUIRE_FALSE(made.beam.straight);
    const std::size_t grips[] = {made.end_at(Vec3::Zero()) == 0 ? 10U
                                                                : made.beam.elements.size() - 10U};
    const auto steel = made.room.lay({RodMaterial::steel, 4.0}, grips);
    REQUIRE(steel);
    CHECK(steel->path.bends_deg.size() >= 1);
    CHECK(steel->path.bends_deg.size() <= 3);
    double turned = 0.0;
    for (const double bend : steel->path.bends_deg) {
        turned += bend;
    }
    CHECK(turned > 75.0);
    CHECK(turned < 100.0);
    CHECK(steel->path.length_mm > 330.0);
    // All of it inside, with its cover: sampled independently of how it was found.
    for (std::size_t i = 1; i < steel->path.corners_mm.size(); ++i) {
        for (int k = 0; k <= 1000; ++k) {
            const Vec3 p = steel->path.corners_mm[i - 1] +
                           k / 1000.0 * (steel->path.corners_mm[i] - steel->path.corners_mm[i - 1]);
            CHECK(winding_number(swept::elbow(220, 180, 40), p) > 0.5);
            CHECK(made.surface.nearest(p).distance_mm >= 8.0);
        }
    }
    const auto dowel = made.room.lay({RodMaterial::birch, 6.0}, grips);
    if (dowel) {
        CHECK(dowel->path.bends_deg.empty());
        CHECK(dowel->path.length_mm < 260.0);
    }
}

TEST_CASE("where no rod fits") {
    const Made plate(box_solid(300, 60, 12).mesh);
    const std::size_t grips[] = {30};
    CHECK_FALSE(plate.room.lay({RodMaterial::steel, 2.0}, grips));
    CHECK(plate.room.thickest_mm(RodMaterial::steel, grips) == 0.0);
    ArmatureOptions less;
    less.cover_mm = 3.0;
    CHECK(plate.room.lay({RodMaterial::steel, 2.0}, grips, less));
    DroopOptions held;
    held.grip = 30;
    for (const RodChoice& choice :
         least_rods(plate.beam, plate.room, Vec3::UnitZ(), held, kYoung_mpa, kDensity_kg_m3)) {
        CHECK_FALSE(choice.laid);
        CHECK_FALSE(choice.enough);
    }
}
