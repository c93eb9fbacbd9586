// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/text.h"

#include <doctest/doctest.h>

#include "support/refusal.h"

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

namespace {

enum class Fruit { apple, pear, plum };

const char* to_text(Fruit fruit) {
    return fruit == Fruit::apple ? "apple" : fruit == Fruit::pear ? "pear" : "plum";
}

}  // namespace

TEST_CASE("a word of a choice is its value; any other is told the words in order") {
    const auto parsed = [](std::string_view text) {
        return parse_choice<Fruit>(text, "--fruit", {Fruit::pear, Fruit::apple, Fruit::plum});
    };
    CHECK(parsed("apple") == Fruit::apple);
    CHECK(parsed("plum") == Fruit::plum);
    CHECK(refusal_of([&] { return parsed("Pear"); }) ==
          "--fruit is \"Pear\"; give pear, apple or plum.");
    CHECK(refusal_of([] {
              return parse_choice<Fruit>("", "it", {Fruit::pear, Fruit::plum});
          }) == "it is \"\"; give pear or plum.");
}
