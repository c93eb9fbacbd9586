// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/union_find.h"

#include <random>

#include <doctest/doctest.h>

using namespace cavigram;

TEST_CASE("sets that join, against relabeling all members one by one") {
    std::mt19937 bits(5);  // fixed seed
    constexpr std::size_t kMembers = 200;
    UnionFind sets(kMembers);
    std::vector<std::int32_t> label(kMembers);
    for (std::size_t i = 0; i < kMembers; ++i) {
        label[i] = static_cast<std::int32_t>(i);
    }
    for (int round = 0; round < 300; ++round) {
        const auto a = static_cast<std::int32_t>(bits() % kMembers);
        const auto b = static_cast<std::int32_t>(bits() % kMembers);
        const std::int32_t of_a = label[static_cast<std::size_t>(a)];
        const std::int32_t of_b = label[static_cast<std::size_t>(b)];
        CHECK(sets.join(a, b) == (of_a != of_b));
        for (std::int32_t& one : label) {
            one = one == std::max(of_a, of_b) ? std::min(of_a, of_b) : one;
        }
    }
    for (std::size_t i = 0; i < kMembers; ++i) {
        CHECK(sets.find(static_cast<std::int32_t>(i)) == label[i]);
    }
    const std::vector<std::int32_t> numbered = sets.numbered();
    for (std::size_t i = 0; i < kMembers; ++i) {
        for (std::size_t k = 0; k < kMembers; ++k) {
            CHECK((numbered[i] == numbered[k]) == (label[i] == label[k]));
        }
    }
}

TEST_CASE("a member that is added stands alone, and one set may be put under another's leader") {
    UnionFind sets(3);
    CHECK(sets.add() == 3);
    CHECK(sets.find(3) == 3);
    sets.join(0, 1);
    sets.join_under(3, 0);
    CHECK(sets.find(0) == 3);
    CHECK(sets.find(1) == 3);
    CHECK(sets.find(2) == 2);
}
