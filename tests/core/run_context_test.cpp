// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/run_context.h"

#include <string>

#include <doctest/doctest.h>

#include "cavigram/core/error.h"

using namespace cavigram;

TEST_CASE(
    "progress reaches the listener, and a stop asked for there is noticed at the next report") {
    std::stop_source source;
    RunContext context;
    context.stop = source.get_token();
    std::string heard;
    context.progress = [&](std::string_view phase, double share) {
        heard += std::string(phase) + (share == 1.0 ? "!" : " ");
        source.request_stop();
    };
    context.report("weld", 1.0);
    CHECK(heard == "weld!");
    CHECK_THROWS_AS(context.report("fill", 0.0), Cancelled);
    CHECK(heard == "weld!");
}

TEST_CASE("without a listener nothing happens") {
    const RunContext context;
    CHECK_NOTHROW(context.report("weld", 0.5));
}
