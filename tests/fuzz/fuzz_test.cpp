// SPDX-License-Identifier: GPL-3.0-or-later
// Every door through which bytes of others come in, with a fixed number of damaged inputs each:
// they end in a result that keeps its promises or in a sentence. tests/fuzz/run.sh searches
// further.
#include <cstring>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "mutation.h"
#include "seeds.h"

namespace {

// In a buffer of its own and of its own size, so that sanitizers see a step past its end.
void run(const fuzz::Target& target, const std::string& bytes) {
    const std::vector<char> exact(bytes.begin(), bytes.end());
    INFO(target.name << ": " << fuzz::hex_of(bytes));
    CHECK_NOTHROW(target.run(std::as_bytes(std::span(exact))));
}

}  // namespace

TEST_CASE("what is damaged ends in a result that keeps its promises, or in a sentence") {
    for (const fuzz::Target& target : fuzz::targets()) {
        SUBCASE(target.name) {
            const std::vector<std::string> seeds = target.seeds();
            for (const std::string& seed : seeds) {
                run(target, seed);
            }
            run(target, "");
            const std::vector<std::string> words = fuzz::words_of(target);
            std::mt19937 random(18);  // NOLINT: a fixed seed, so that a failure comes back
            for (int round = 0; round < target.rounds; ++round) {
                run(target, fuzz::mutated(seeds, words, random));
            }
        }
    }
    fuzz::end();
}
