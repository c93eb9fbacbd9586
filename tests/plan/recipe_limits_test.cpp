// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/recipe_limits.h"

#include <functional>

#include <doctest/doctest.h>

#include "cavigram/core/told.h"

using namespace cavigram;

namespace {

// A pour that nothing speaks against: 100 mL, 40 g in the cup, 18 kPa.
Plan good() {
    Plan plan;
    plan.measures.mass.volume_mm3 = plan.measures.volume_low_mm3 = plan.measures.volume_high_mm3 =
        1e5;
    plan.foam.emplace();
    plan.foam->card.packing = kUsualPacking;
    plan.foam->skin.error_share = 0.003;
    plan.foam->mass.skin_thickness_mm = 0.5;
    plan.foam->skin.depth.cell_mm = 0.1;
    plan.foam->window.pressure_kpa = 18.0;
    plan.foam->window.request.mold_holds_kpa = 30.0;
    plan.foam->window.presses_over_g = 45.0;
    plan.foam->batch.pour_mass_g = 40.0;
    return plan;
}

}  // namespace

TEST_CASE("an impossible answer is no recipe: each stop at its limit, and a remedy that fits") {
    struct Row {
        const char* what_is_lost;
        std::function<void(Plan&)> change;
        const char* code;  // null: no stop
        const char* remedy;
    };
    const Row rows[] = {
        {"nothing", [](Plan&) {}, nullptr, ""},
        // 1.3 / 1.05 = 1.238: packed 1.05 in the larger is packed 1.3 in the smaller.
        {"a pour into a cavity known to 23 %", [](Plan& p) { p.measures.volume_high_mm3 = 1.23e5; },
         nullptr, ""},
        {"a mold burst, or left short, by a volume known to 25 %",
         [](Plan& p) { p.measures.volume_high_mm3 = 1.25e5; }, "volume_unsure", "scan the part"},
        {"a wrap that holds 3.5e-13 to 830 mL",
         [](Plan& p) {
             p.measures.volume_low_mm3 = 3.5e-10;
             p.measures.volume_high_mm3 = 8.3e5;
         },
         "volume_unsure", "from next to nothing to 830 cm3"},
        {"a part of which more than half may not be there, whatever is asked of it",
         [](Plan& p) { p.measures.volume_high_mm3 = 2.1e5; }, "volume_unsure", "no figure here"},
        {"a skin to 9 %", [](Plan& p) { p.foam->skin.error_share = 0.09; }, nullptr, ""},
        {"a skin of 0 g known to 500 %, by cells of 50 mm",
         [](Plan& p) {
             p.foam->skin.error_share = 5.0;
             p.request.foam.cell_mm = 50.0;
         },
         "skin_unsure", "without cell"},
        {"a cup of 1 kg", [](Plan& p) { p.foam->batch.pour_mass_g = 1000.0; }, nullptr, ""},
        {"3.6 kg of foam that rose in the bucket",
         [](Plan& p) { p.foam->batch.pour_mass_g = 3600.0; }, "too_much_at_once", "largest_batch"},
        {"3.6 kg in cups of the person's own size",
         [](Plan& p) {
             p.foam->batch.pour_mass_g = 1800.0;
             p.request.foam.largest_batch_g = 2000.0;
         },
         nullptr, ""},
        {"a mold opened by 760 psi", [](Plan& p) { p.foam->window.pressure_kpa = 5240.0; },
         "bursts_mold", "mold_holds"},
        {"a mold that is built for it",
         [](Plan& p) {
             p.foam->window.pressure_kpa = 200.0;
             p.foam->window.request.mold_holds_kpa = 250.0;
         },
         nullptr, ""},
    };
    for (const Row& row : rows) {
        CAPTURE(row.what_is_lost);
        Plan plan = good();
        row.change(plan);
        std::vector<Finding> findings = measure_findings(plan);
        for (Finding& finding : recipe_findings(plan)) {
            findings.push_back(std::move(finding));
        }
        CHECK(findings.size() == (row.code == nullptr ? 0 : 1));
        if (row.code != nullptr && findings.size() == 1) {
            CHECK(findings.front().code.word() == std::string_view(row.code));
            CHECK(findings.front().severity == Severity::stop);
            const std::string text =
                rendered(findings.front().text, UnitSystem::metric, Settings::members);
            CHECK_MESSAGE(text.find(row.remedy) != std::string::npos, text);
        }
    }
}
