// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/side_by_side.h"

#include <atomic>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include <doctest/doctest.h>

#include "cavigram/core/error.h"

using namespace cavigram;

namespace {

RunContext on(int threads) {
    RunContext context;
    context.threads = threads;
    return context;
}

[[noreturn]] void fail(const char* words) {
    throw std::runtime_error(words);
}

}  // namespace

TEST_CASE("both are made, with no more threads than the context has") {
    for (const int threads : {1, 2, 3, 8}) {
        int first = 0;
        int second = 0;
        side_by_side(
            on(threads), [&](const RunContext& c) { first = c.threads; },
            [&](const RunContext& c) { second = c.threads; });
        CHECK(first >= 1);
        CHECK(second >= 1);
        CHECK((threads == 1 ? first == 1 && second == 1 : first + second == threads));
    }
}

TEST_CASE("with one thread they follow each other on the caller's") {
    std::vector<std::thread::id> made;
    const auto note = [&](const RunContext& /*context*/) {
        made.push_back(std::this_thread::get_id());
    };
    side_by_side(on(1), note, note);
    CHECK(made == std::vector(2, std::this_thread::get_id()));
}

TEST_CASE("with two threads they are under way at once") {
    // Each waits for the other: one after the other would never end.
    std::atomic<int> under_way{0};
    const auto meet = [&](const RunContext& /*context*/) {
        ++under_way;
        while (under_way < 2) {
            std::this_thread::yield();
        }
    };
    side_by_side(on(2), meet, meet);
    CHECK(under_way == 2);
}

TEST_CASE("what the first throws comes first, for any number of threads, and both end") {
    for (const int threads : {1, 2, 5}) {
        std::atomic<bool> ended{false};
        const auto second = [&](const RunContext& /*context*/) {
            ended = true;
            fail("second");
        };
        CHECK_THROWS_WITH(
            side_by_side(
                on(threads), [](const RunContext& /*context*/) { fail("first"); }, second),
            "first");
        CHECK(ended == (threads > 1));
        CHECK_THROWS_WITH(side_by_side(
                              on(threads), [](const RunContext& /*context*/) {}, second),
                          "second");
    }
}

TEST_CASE("a stop reaches both, and progress is heard on the caller's thread alone") {
    std::stop_source source;
    RunContext context = on(2);
    context.stop = source.get_token();
    std::vector<std::string> heard;
    const std::thread::id caller = std::this_thread::get_id();
    context.progress = [&](std::string_view phase, double /*share*/) {
        CHECK(std::this_thread::get_id() == caller);
        heard.emplace_back(phase);
    };
    CHECK_THROWS_AS(side_by_side(
                        context,
                        [](const RunContext& c) {
                            c.report("beside", 0.0);
                            while (true) {
                                c.check_stop();
                            }
                        },
                        [&](const RunContext& c) {
                            c.report("here", 0.0);
                            source.request_stop();
                            c.check_stop();
                        }),
                    Cancelled);
    CHECK(heard == std::vector<std::string>{"here"});
    CHECK_THROWS_AS(side_by_side(
                        context, [](const RunContext& /*c*/) { FAIL("made after a stop"); },
                        [](const RunContext& /*c*/) {}),
                    Cancelled);
}
