// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <chrono>
#include <condition_variable>
#include <exception>
#include <functional>
#include <memory>
#include <mutex>
#include <stop_token>
#include <string>
#include <thread>
#include <vector>

#include "cavigram/core/run_context.h"

namespace cavigram::python {

/// Where a computation is.
struct Progress {
    std::string stage;
    double share = 0.0;  ///< 0 to 1.
};

/// A computation on a thread of its own, so that the caller can look after its signals meanwhile.
///
/// What was asked to stop and does not end at once may be left: it ends by itself at its next look
/// for a stop, and what it computed is dropped.
class Work {
  public:
    /// Begins `work`, which keeps alive all that it uses. `listens`: progress is kept for
    /// wait_for.
    Work(std::function<void(const RunContext&)> work, bool listens);
    /// Leaves it if it has not ended.
    ~Work();
    Work(const Work&) = delete;
    Work& operator=(const Work&) = delete;

    /// Waits until it has ended or told something, at most so long; gives what it told since. Of
    /// one stage only the last is kept.
    [[nodiscard]] std::vector<Progress> wait_for(std::chrono::milliseconds longest);
    [[nodiscard]] bool ended() const;
    void stop();
    /// \pre it has ended \throw what the work threw
    void rethrow() const;

  private:
    struct State;
    std::shared_ptr<State> state_;
    std::thread thread_;
};

/// Waits for what was left; before the process ends.
void wait_for_left_work();

}  // namespace cavigram::python
