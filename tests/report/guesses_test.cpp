// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/guesses.h"

#include <algorithm>

#include <doctest/doctest.h>

#include "support/kept_plan.h"

using namespace cavigram;

namespace {

PlanRequest cleat() {
    PlanRequest request;
    request.part.file = "sample_meshes/mooring_cleat.stl";
    request.part.units = parse_length_unit("mm");
    return request;
}

std::vector<Guess> guesses(const PlanRequest& request) {
    return guesses_of(kept_plan(request, {.foam = true}));
}

bool names(const std::vector<Guess>& list, const char* option) {
    return std::any_of(list.begin(), list.end(), [&](const Guess& guess) {
        return guess.replace_with.find(option) != std::string::npos;
    });
}

}  // namespace

TEST_CASE("every guess is gone once the option that it names is given") {
    const std::vector<Guess> all = guesses(cleat());
    const std::vector<const char*> options = {
        "--foam",  "--skin-density", "--overpack",  "--mold-holds",
        "--waste", "--cup-residue",  "--mold-wall",
    };
    for (const char* const option : options) {
        CHECK_MESSAGE(names(all, option), option);
    }
    PlanRequest known = cleat();
    known.foam.skin_density_kg_m3 = 420.0;
    known.foam.overpack = 1.2;
    known.foam.mold_holds_kpa = 40.0;
    known.foam.waste_share = 0.08;
    known.foam.cup_residue_g = 0.3;
    known.foam.mold_wall_mm = 12.0;
    const std::vector<Guess> left = guesses(known);
    REQUIRE(left.size() == 1);  // the card itself
    CHECK(left[0].replace_with.find("--foam") != std::string::npos);
}

TEST_CASE("a density with a fixed mix rests on no packing, and nothing is guessed without foam") {
    PlanRequest request = cleat();
    request.foam.density_kg_m3 = 150.0;
    CHECK(names(guesses(request), "--overpack"));  // it chose the mix
    request.foam.mix = MixRatio{50, 100};
    CHECK_FALSE(names(guesses(request), "--overpack"));
    CHECK(guesses_of(kept_plan(cleat(), {})).empty());
}
