// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <deque>
#include <memory>
#include <string>

namespace cavigram::serve {

/// What a listener has still to be told, in order. One that lags too far behind is given up rather
/// than remembered for.
class EventBacklog {
  public:
    explicit EventBacklog(std::size_t most_bytes) : most_bytes_(most_bytes) {}

    /// False: the listener lags too far.
    [[nodiscard]] bool push(std::shared_ptr<const std::string> event) {
        bytes_ += event->size();
        waiting_.push_back(std::move(event));
        return bytes_ <= most_bytes_;
    }
    /// The next to be told. \pre size() > 0
    [[nodiscard]] const std::string& front() const { return *waiting_.front(); }
    /// It was told. \pre size() > 0
    void pop() {
        bytes_ -= waiting_.front()->size();
        waiting_.pop_front();
    }
    [[nodiscard]] std::size_t size() const { return waiting_.size(); }

  private:
    const std::size_t most_bytes_;
    std::size_t bytes_ = 0;
    std::deque<std::shared_ptr<const std::string>> waiting_;
};

}  // namespace cavigram::serve
