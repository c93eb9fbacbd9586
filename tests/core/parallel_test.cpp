// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/parallel.h"

#include <cmath>
#include <stdexcept>

#include <doctest/doctest.h>

#include "cavigram/core/error.h"

using namespace cavigram;

namespace {

double sum_of_roots(int threads) {
    RunContext context;
    context.threads = threads;
    double total = 0.0;
    for (const double part : map_blocks<double>(100000, 777, context, [](const Block& block) {
             double sum = 0.0;
             for (std::size_t i = block.begin; i < block.end; ++i) {
                 sum += std::sqrt(static_cast<double>(i));
             }
             return sum;
         })) {
        total += part;
    }
    return total;
}

}  // namespace

TEST_CASE("sums over blocks are the same bytes for any number of threads") {
    const double one = sum_of_roots(1);
    for (const int threads : {2, 3, 5, 7, 0}) {
        CHECK(sum_of_roots(threads) == one);
    }
}

TEST_CASE("every index is in exactly one block") {
    std::vector<int> seen(1001, 0);
    for_blocks(seen.size(), 10, {}, [&](const Block& block) {
        CHECK(block.begin == block.block * 10);
        for (std::size_t i = block.begin; i < block.end; ++i) {
            ++seen[i];
        }
    });
    for (const int count : seen) {
        REQUIRE(count == 1);
    }
    for_blocks(0, 10, {}, [](const Block&) { FAIL("no block for no indices"); });
}

TEST_CASE("an exception and a stop end the loop") {
    CHECK_THROWS_AS(for_blocks(100, 1, {}, [](const Block&) { throw std::runtime_error("x"); }),
                    std::runtime_error);
    std::stop_source source;
    RunContext context;
    context.threads = 1;
    context.stop = source.get_token();
    int blocks = 0;
    CHECK_THROWS_AS(for_blocks(100, 1, context,
                               [&](const Block&) {
                                   if (++blocks == 3) {
                                       source.request_stop();
                                   }
                               }),
                    Cancelled);
    CHECK(blocks == 3);
}
