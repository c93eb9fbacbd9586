// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <stop_token>
#include <string_view>

namespace cavigram {

/// How a computation runs: on how many threads, who may stop it, who hears of its progress. Always
/// the last parameter.
///
/// No result depends on it: same input, same bytes, for any number of threads.
struct RunContext {
    int threads = 0;       ///< 0: one for each core. Otherwise 1 or more.
    std::stop_token stop;  ///< Asked between blocks of work; Cancelled is thrown when it fires.
    /// Called from the thread that made the call, with the phase's name and the share of it that is
    /// done, 0 to 1.
    std::function<void(std::string_view phase, double share)> progress;

    /// \throw Cancelled if a stop was asked for.
    void check_stop() const;
    /// Tells the listener, if there is one, and checks for a stop.
    void report(std::string_view phase, double share) const;
};

}  // namespace cavigram
