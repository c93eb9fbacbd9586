// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <atomic>
#include <chrono>
#include <stop_token>
#include <string>
#include <string_view>
#include <thread>

#include "cavigram/core/run_context.h"

namespace cavigram::program {

/// Ctrl-C, termination and the closing of the terminal (not under nohup) for the length of a
/// command: asks the work to stop, and ends the process with status 130 if it has not ended within
/// 0.8 s (some library calls can't be interrupted). Unfinished files are removed either way.
class StopWatch {
  public:
    /// Must come before any other thread is made, since threads inherit which signals are held
    /// back.
    StopWatch();
    ~StopWatch();
    StopWatch(const StopWatch&) = delete;
    StopWatch& operator=(const StopWatch&) = delete;
    [[nodiscard]] std::stop_token token() const { return source_.get_token(); }

  private:
    std::stop_source source_;
    std::atomic<bool> done_{false};
    std::thread watcher_;
};

/// One line on standard error that tells what is going on; gone when it ends.
class ProgressLine {
  public:
    explicit ProgressLine(bool shown) : shown_(shown) {}
    ~ProgressLine() { clear(); }
    ProgressLine(const ProgressLine&) = delete;
    ProgressLine& operator=(const ProgressLine&) = delete;
    void show(std::string_view phase, double share);
    void clear();

  private:
    bool shown_ = false;
    bool drawn_ = false;
    std::string phase_;
    std::chrono::steady_clock::time_point last_{};
};

}  // namespace cavigram::program
