// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/casting_doubts.h"

#include <functional>

#include <doctest/doctest.h>

#include "cavigram/core/error.h"

using namespace cavigram;

namespace {

// 8 lb/ft3 (docs/checks.md U2), a tenth more or less, from a liquid of 1,080 kg/m3.
constexpr FoamNorm kFirm{1080.0, 128.147707, 116.497915};

// A cavity of 300 mL: 38.4 g fill it, 12.8 g are a third of that, 324 g its liquid.
Casting casting(double part_g) {
    Casting c;
    c.date = "2026-11-24";
    c.part = "bell.stl";
    c.foam = "generic-firm";
    c.mix = "50:100";
    c.volume_mm3 = 300000;
    c.area_mm2 = 68000;
    c.part_mass_g = part_g;
    c.verdict = "good";
    return c;
}

std::string refusal(const Casting& c) {
    try {
        refuse_impossible(c, kFirm);
    } catch (const InvalidInput& error) {
        return error.what();
    }
    return "accepted";
}

std::string date_refusal(const char* date) {
    try {
        check_date(date, "2026-11-26");
    } catch (const InvalidInput& error) {
        return error.what();
    }
    return "accepted";
}

}  // namespace

TEST_CASE("an entry that no foam can be never reaches the fit; the slip of the unit is named") {
    struct Row {
        const char* what;
        Casting entry;
        const char* says;
    };
    const auto with = [](Casting c, const std::function<void(Casting&)>& change) {
        change(c);
        return c;
    };
    const Row rows[] = {
        {"a usual one", casting(44.0), "accepted"},
        {"a third of free rise, and a little more", casting(12.82), "accepted"},
        {"a little less", casting(12.80), "less than a third"},
        {"as heavy as its liquid", casting(323.9), "accepted"},
        {"heavier", casting(324.1), "heavier than its liquid"},
        {"44 g typed as ounces", casting(44.0 * 28.349523125),
         "the mass was read in grams, not in ounces"},
        {"1.55 oz typed as grams", casting(1.55), "the mass was read in ounces"},
        {"0.097 lb typed as grams", casting(0.097), "the mass was read in pounds"},
        {"a mesh in inches read in millimeters",
         with(casting(44.0), [](Casting& c) { c.volume_mm3 /= 25.4 * 25.4 * 25.4; }),
         "the mesh is in inches"},
        {"a mesh in millimeters read in inches",
         with(casting(44.0), [](Casting& c) { c.volume_mm3 *= 25.4 * 25.4 * 25.4; }),
         "the mesh is in millimeters"},
        {"a short one may be as light as it likes",
         with(casting(5.0), [](Casting& c) { c.verdict = "short"; }), "accepted"},
        {"a lost one", with(casting(5.0), [](Casting& c) { c.verdict = "lost"; }), "accepted"},
        {"flash counts, it was in the mold",
         with(casting(10.0), [](Casting& c) { c.flash_mass_g = 5.0; }), "accepted"},
        {"a cup that rose to a quarter of its card's density",
         with(casting(44.0),
              [](Casting& c) {
                  c.free_rise_mass_g = 8.0;
                  c.free_rise_volume_ml = 250.0;
              }),
         "The freely risen cup"},
        {"a lighter foam by its own cup",
         with(casting(12.0),
              [](Casting& c) {
                  c.free_rise_mass_g = 8.0;
                  c.free_rise_volume_ml = 180.0;
              }),
         "accepted"},
    };
    for (const Row& row : rows) {
        CAPTURE(row.what);
        const std::string said = refusal(row.entry);
        CHECK_MESSAGE(said.find(row.says) != std::string::npos, said);
    }
}

TEST_CASE("a likely slip is asked about, and a usual casting is not") {
    struct Row {
        const char* what;
        std::function<void(Casting&)> change;
        const char* says;  // null: no doubt
    };
    const Row rows[] = {
        {"a usual one", [](Casting&) {}, nullptr},
        {"as light as the foam may rise", [](Casting& c) { c.part_mass_g = 35.0; }, nullptr},
        {"lighter than that", [](Casting& c) { c.part_mass_g = 34.9; }, "was it short?"},
        {"packed to 2", [](Casting& c) { c.part_mass_g = 76.8; }, nullptr},
        {"packed over 2", [](Casting& c) { c.part_mass_g = 77.0; }, "more than 2 times"},
        {"half of the cup gone", [](Casting& c) { c.cup_mass_g = 88.0; }, nullptr},
        {"more than half", [](Casting& c) { c.cup_mass_g = 89.0; }, "found again"},
        {"more flash than part",
         [](Casting& c) {
             c.part_mass_g = 21.0;
             c.flash_mass_g = 22.0;
         },
         "flash weighs more"},
        {"a cup at twice the card's density",
         [](Casting& c) {
             c.part_mass_g.reset();
             c.free_rise_mass_g = 8.0;
             c.free_rise_volume_ml = 31.0;
         },
         "the card says"},
    };
    for (const Row& row : rows) {
        CAPTURE(row.what);
        Casting c = casting(44.0);
        row.change(c);
        const std::vector<std::string> doubts = casting_doubts(c, kFirm);
        CHECK(doubts.size() == (row.says == nullptr ? 0 : 1));
        if (row.says != nullptr && doubts.size() == 1) {
            CHECK_MESSAGE(doubts.front().find(row.says) != std::string::npos, doubts.front());
        }
    }
}

TEST_CASE("dates are days that were (ISO 8601), none in the future") {
    for (const char* fine :
         {"2026-11-26", "2024-02-29", "2026-11-03 14:20", "2026-11-26T23:59", "1999-12-31"}) {
        CAPTURE(fine);
        CHECK(date_refusal(fine) == "accepted");
    }
    for (const char* later : {"2026-11-27", "2027-01-01", "2026-12-01 09:00", "2062-11-24"}) {
        CAPTURE(later);
        CHECK(date_refusal(later).find("in the future") != std::string::npos);
    }
    for (const char* none : {"", "today", "24.11.2026", "2026-13-01", "2025-02-29", "2026-11-31",
                             "2026-11", "2026-11-241", "2026/11/24", "20261124"}) {
        CAPTURE(none);
        CHECK(date_refusal(none).find("year, month and day") != std::string::npos);
    }
}
