// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <string>
#include <unistd.h>

#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/plan/cautions.h"
#include "cavigram/plan/session.h"

#include "support/findings.h"
#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

// A part in a file of its own, held in the hand.
class Held {
  public:
    explicit Held(const TriMesh& mesh)
        : file_(std::filesystem::temp_directory_path() /
                ("cavigram_handle_" + std::to_string(::getpid()) + "_" + std::to_string(made_++) +
                 ".stl")) {
        std::ofstream(file_, std::ios::binary) << stl_bytes(mesh);
        request.part.file = file_;
        request.part.units = LengthUnit{};
    }
    ~Held() { std::filesystem::remove(file_); }
    Held(const Held&) = delete;
    Held& operator=(const Held&) = delete;

    [[nodiscard]] Plan plan() { return session_.plan(request, {.foam = true, .handle = true}); }

    PlanRequest request;

  private:
    static inline int made_ = 0;
    Session session_;
    std::filesystem::path file_;
};

TriMesh bar() {
    return cylinder_solid(20, 375, 128).mesh;
}

}  // namespace

TEST_CASE("a bar with a measured core, held at one end: B1's law with a skin, from the file on") {
    Held held(bar());
    held.request.handle.grips_mm = {Vec3(0, 0, 0)};
    held.request.handle.foam_modulus_kpa = 500.0;
    held.request.foam.density_kg_m3 = 160.0;
    const Plan plan = held.plan();
    const HandleBlock& hand = *plan.handle;
    REQUIRE(hand.spans.size() == 1);
    CHECK(hand.straight);
    CHECK(hand.modulus_given);
    // EI by hand: core, and a skin of the chain's thickness whose modulus is the core's times the
    // square of their densities' ratio.
    const FoamMass& mass = plan.foam->mass;
    const double ratio = mass.skin_density_kg_m3 / mass.core_density_kg_m3;
    const double inner = std::pow(20.0 - mass.skin_thickness_mm, 4);
    const double ei = 0.5 * pi / 4 * (inner + ratio * ratio * (160000.0 - inner));
    const double w = mass.part_mass_g * 1e-3 * 9.80665 / 375.0;
    const double small = w * std::pow(375.0, 4) / (8 * ei);
    CHECK_NEAR(hand.spans[0].likely.linear_droop_mm, small, 0.02);
    // Measured: no range but the creep.
    CHECK_NEAR(hand.spans[0].low_mm, hand.spans[0].likely.droop_mm, 1e-12);
    CHECK(hand.spans[0].high_mm > 1.3 * hand.spans[0].likely.droop_mm);
    CHECK(hand.spans[0].high_mm < 1.5 * hand.spans[0].likely.droop_mm * (1 + 1e-9));
    CHECK_NEAR(hand.part_mass_g, mass.part_mass_g, 1e-12);
    CHECK_NEAR(hand.balance_mm, 187.5, 1e-3);
}

TEST_CASE(
    "G7: in the hand the denser mix is the softer one, and the range is as wide as foams are") {
    Held held(bar());
    const HandleBlock firm = *held.plan().handle;
    held.request.foam.card = "generic-soft";
    const HandleBlock soft = *held.plan().handle;
    CHECK(soft.core_modulus_mpa.value < firm.core_modulus_mpa.value);
    CHECK_NEAR(firm.core_modulus_mpa.low, 0.5 * firm.core_modulus_mpa.value, 1e-12);
    CHECK_NEAR(firm.core_modulus_mpa.high, 5.0 * firm.core_modulus_mpa.value, 1e-12);
    REQUIRE(firm.spans.size() == 2);
    CHECK(firm.spans[0].low_mm < firm.spans[0].likely.droop_mm);
    CHECK(firm.spans[0].likely.droop_mm < firm.spans[0].high_mm);
    // The skin's 400 kg/m3 and more lie beyond the law (docs/checks.md G6), which is told.
    CHECK(firm.outside_law);
    CHECK_FALSE(firm.grips.front().given);
    CHECK((firm.grips.front().at_mm - Vec3(0, 0, 187.5)).norm() < 1e-6);
}

TEST_CASE("a rod takes its volume from the foam, and masses close") {
    Held held(bar());
    const Plan bare = held.plan();
    held.request.handle.armature = Rod{RodMaterial::steel, 4.0};
    const Plan rodded = held.plan();
    const HandleBlock& hand = *rodded.handle;
    REQUIRE(hand.rod);
    CHECK_FALSE(has_finding(rodded.findings, "armature_unfit"));
    const double taken = hand.rod->volume_mm3;
    CHECK_NEAR(taken, 4 * pi * hand.rod->path.length_mm, 1e-12);
    CHECK_NEAR(rodded.foam->rod_mm3, taken, 1e-9);  // the difference of two volumes
    const double volume = bare.measures.mass.volume_mm3;
    const double density = rodded.foam->mass.molded_density_kg_m3;
    CHECK_NEAR(density, bare.foam->mass.molded_density_kg_m3, 1e-12);
    CHECK_NEAR(rodded.foam->mass.part_mass_g,
               bare.foam->mass.part_mass_g * (volume - taken) / volume, 1e-12);
    CHECK_NEAR(hand.foam_displaced_g, density * taken * 1e-6, 1e-12);
    CHECK_NEAR(hand.part_mass_g, rodded.foam->mass.part_mass_g + hand.rod->mass_g, 1e-12);
    CHECK(rodded.foam->batch.part_a_g <= bare.foam->batch.part_a_g);
    CHECK(hand.hold == Hold::holds);
    CHECK(hand.spans[0].high_mm < hand.spans[0].bare_mm);
    CHECK(hand.choices.empty());
}

TEST_CASE("proposals: each keeps the droop for the softest foam, and is the least of its stock") {
    Held held(bar());
    held.request.handle.grips_mm = {Vec3(0, 0, 60)};
    const Plan plan = held.plan();
    REQUIRE(plan.handle->hold != Hold::holds);
    REQUIRE(plan.handle->choices.size() == 4);
    for (const RodChoice& choice : plan.handle->choices) {
        REQUIRE(choice.laid);
        CHECK(choice.enough);
        CHECK(choice.share <= 0.03);
        // Given by the person it does as proposed.
        held.request.handle.armature = choice.laid->rod;
        const HandleBlock given = *held.plan().handle;
        CHECK(given.hold == Hold::holds);
        CHECK_NEAR(given.spans[given.worst].high_mm, choice.droop_mm, 0.01);
    }
    held.request.handle.armature.reset();
    held.request.handle.no_armature = true;
    CHECK(held.plan().handle->choices.empty());
}

TEST_CASE("refusals and stops say what to do") {
    Held held(bar());
    held.request.handle.grips_mm = {Vec3(0, 60, 100)};
    CHECK(refusal_of([&] { return held.plan(); }).find("lies 40 mm") != std::string::npos);
    held.request.handle.grips_mm = {Vec3(0, 0, 100), Vec3(5, 0, 100)};
    CHECK(refusal_of([&] { return held.plan(); }).find("two places farther apart") !=
          std::string::npos);
    held.request.handle.grips_mm.clear();
    held.request.handle.armature = Rod{RodMaterial::birch, 35.0};
    const Plan thick = held.plan();
    const Finding* const unfit = finding_of(thick.findings, "armature_unfit");
    REQUIRE(unfit != nullptr);
    CHECK(unfit->severity == Severity::stop);
    CHECK(unfit->text.find("the thickest that does") != std::string::npos);
    CHECK_FALSE(thick.handle->rod);
    CHECK(thick.foam->rod_mm3 == 0.0);
    held.request.handle.rod_cover_mm = 25.0;
    CHECK(finding_of(held.plan().findings, "armature_unfit")->text.find("none does") !=
          std::string::npos);

    Held apart(joined(box_solid(80, 30, 30).mesh,
                      transformed(box_solid(80, 30, 30).mesh, 1.0, Vec3(120, 0, 0))));
    const Plan pieces = apart.plan();
    CHECK(has_finding(pieces.findings, "no_beam"));
    CHECK(pieces.handle->spans.empty());
    CHECK(pieces.handle->part_mass_g > 0.0);
}

TEST_CASE("two hands: the part hangs between them") {
    Held held(bar());
    held.request.handle.grips_mm = {Vec3(0, 0, 5), Vec3(0, 0, 370)};
    const HandleBlock hand = *held.plan().handle;
    REQUIRE(hand.grips.size() == 2);
    const auto between =
        std::find_if(hand.spans.begin(), hand.spans.end(),
                     [](const HandleSpan& s) { return s.likely.is == DroopSpan::Is::between; });
    REQUIRE(between != hand.spans.end());
    CHECK_NEAR(between->at_mm.z(), 187.5, 0.05);
    held.request.handle.grips_mm = {Vec3(0, 0, 5)};
    const HandleBlock one_hand = *held.plan().handle;
    CHECK(between->likely.droop_mm < 0.2 * one_hand.spans[one_hand.worst].likely.droop_mm);
}

TEST_CASE("cautions of the part in the hand") {
    std::string all;
    for (const std::string& caution : handling_cautions()) {
        all += caution;
    }
    for (const char* word : {"can still hurt", "trained", "rehearsed", "local rules", "file",
                             "spike", "swinging", "blows"}) {
        CHECK_MESSAGE(all.find(word) != std::string::npos, word);
    }
}
