// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/finding.h"

#include <algorithm>
#include <string>

#include <doctest/doctest.h>

using namespace cavigram;

// The words are those of docs/json.md, which programs of others read.
TEST_CASE("severities and codes have the words that the JSON documents") {
    CHECK(std::string(to_text(Severity::note)) == "note");
    CHECK(std::string(to_text(Severity::warning)) == "warning");
    CHECK(std::string(to_text(Severity::stop)) == "stop");
    // What is read back by a search in halves must be sorted, each once.
    CHECK(std::adjacent_find(kFindingCodes.begin(), kFindingCodes.end(),
                             [](auto a, auto b) { return a >= b; }) == kFindingCodes.end());
    for (const std::string_view word : kFindingCodes) {
        const auto code = FindingCode::parse(word);
        REQUIRE(code);
        CHECK(to_text(*code) == word);
    }
    CHECK_FALSE(FindingCode::parse("air_stay"));
    CHECK_FALSE(FindingCode::parse(""));
}
