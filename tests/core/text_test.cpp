// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/text.h"

#include <doctest/doctest.h>
#include <fmt/core.h>

using namespace cavigram;

TEST_CASE("significant digits, as a person would write them") {
    CHECK(significant(12345.678, 3) == "12300");
    CHECK(significant(9.996, 3) == "10.0");
    CHECK(significant(0.0012345, 2) == "0.0012");
    CHECK(significant(-53.03808, 4) == "-53.04");
    CHECK(significant(1.0, 3) == "1.00");
    CHECK(significant(0.0, 3) == "0");
    CHECK(significant(999.9, 3) == "1000");
}

TEST_CASE("the nearest known word") {
    const std::vector<std::string> known = {"--density", "--units", "--longest", "--foam"};
    CHECK(nearest_word("--denisty", known) == "--density");
    CHECK(nearest_word("--unit", known) == "--units");
    CHECK(nearest_word("--threads", known).empty());
}

TEST_CASE("format grows with its text") {
    CHECK(fmt::format("{} {:.1f}", std::string(5000, 'x'), 2.5).size() == 5004);
    CHECK(fmt::format("{}", "").empty());
}
