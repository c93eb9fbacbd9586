// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <atomic>
#include <cstddef>
#include <limits>
#include <memory>

namespace cavigram::serve {

/// Counts what is there at once, of connections or of anything, and lets in only so many. Outlives
/// the places that it gives. May be used from any thread.
class Places {
  public:
    /// Leaves when it is destroyed.
    struct Leave {
        void operator()(Places* of) const { --of->taken_; }
    };
    using Place = std::unique_ptr<Places, Leave>;

    explicit Places(std::size_t most = std::numeric_limits<std::size_t>::max()) : most_(most) {}

    /// A place, or null where all are taken.
    [[nodiscard]] Place take() {
        Place place(++taken_ <= most_ ? this : nullptr);
        if (!place) {
            --taken_;
        }
        return place;
    }
    [[nodiscard]] std::size_t taken() const { return taken_; }

  private:
    const std::size_t most_;
    std::atomic<std::size_t> taken_{0};
};

}  // namespace cavigram::serve
