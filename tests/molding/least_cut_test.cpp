// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/least_cut.h"

#include <algorithm>
#include <random>

#include "support/near.h"

using namespace cavigram;

namespace {

std::vector<bool> bits(unsigned all, std::size_t count) {
    std::vector<bool> upper(count);
    for (std::size_t i = 0; i < count; ++i) {
        upper[i] = ((all >> i) & 1U) != 0;
    }
    return upper;
}

}  // namespace

TEST_CASE("prices on graphs of up to 20 things, against every choice there is") {
    std::mt19937 random(11);
    std::uniform_real_distribution<double> price(0.0, 1.0);
    for (int round = 0; round < 12; ++round) {
        const std::size_t count = round < 10 ? 12 : 20;
        std::vector<SidePrice> prices(count);
        for (SidePrice& p : prices) {
            p = {price(random), price(random)};
            p.upper = random() % 4 == 0 ? 0.0 : p.upper;
        }
        // As faces: three neighbors each, or so.
        std::vector<CutLink> links;
        for (std::size_t i = 0; i < count * 3 / 2; ++i) {
            const auto a = static_cast<std::int32_t>(random() % count);
            const auto b = static_cast<std::int32_t>(random() % count);
            if (a != b) {
                links.push_back({a, b, 0.5 * price(random)});
            }
        }
        const double found = cut_price(least_cut(prices, links), prices, links);
        double best = 1e300;
        for (unsigned all = 0; all < (1U << count); ++all) {
            best = std::min(best, cut_price(bits(all, count), prices, links));
        }
        CHECK_NEAR(found, best, 1e-12);
    }
}

TEST_CASE("a chain by hand, and ties go to the lower side") {
    // Ends pull apart; the weakest link gives way.
    const std::vector<SidePrice> prices = {{0, 9}, {0, 0}, {0, 0}, {9, 0}};
    const std::vector<CutLink> links = {{0, 1, 3}, {1, 2, 1}, {2, 3, 2}};
    CHECK(least_cut(prices, links) == std::vector<bool>{true, true, false, false});
    CHECK(cut_price({true, true, false, false}, prices, links) == 1.0);
    CHECK(least_cut({{1, 1}, {0, 0}}, {{0, 1, 1}}) == std::vector<bool>{false, false});
    CHECK(least_cut({}, {}).empty());
}
