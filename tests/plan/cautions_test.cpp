// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/cautions.h"

#include <doctest/doctest.h>

using namespace cavigram;

TEST_CASE("the cautions name the dangers and defer (docs/checks.md C1)") {
    std::string all;
    for (const std::string& caution : pouring_cautions()) {
        all += caution;
    }
    for (const char* word :
         {"isocyanates", "Ventilate", "gloves", "eye", "supplier's own safety sheet", "local rules",
          "Never close a container", "strap"}) {
        CHECK_MESSAGE(all.find(word) != std::string::npos, word);
    }
    // No dose is claimed.
    CHECK(all.find("ppm") == std::string::npos);
    CHECK(all.find("mg/m") == std::string::npos);
}

TEST_CASE("the cautions for building the mold name heat, dust and weight and defer") {
    std::string all;
    for (const std::string& caution : molding_cautions()) {
        all += caution;
    }
    for (const char* word : {"burns", "dust", "mask", "ventilation", "gloves", "eye",
                             "safety sheets", "local rules", "lift", "by two"}) {
        CHECK_MESSAGE(all.find(word) != std::string::npos, word);
    }
}
