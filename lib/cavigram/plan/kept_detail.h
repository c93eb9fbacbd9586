// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstddef>
#include <memory>
#include <utility>
#include <vector>

#include "cavigram/core/run_context.h"

namespace cavigram::detail {

// What was computed once and is read by many. Its address is its identity: a key that holds it also
// keeps it alive, so no other value can come to stand at that address.
template <class Value>
using Shared = std::shared_ptr<const Value>;

// The last values that were made of a Key, so that what is asked for again is not computed again.
//
// A Key is all that a computation reads: values compared by ==, and results of other computations
// by identity. It computes by its own const member `make`, which sees nothing but the key, so that
// a result can't rest on anything that its key leaves out. What throws leaves all as it was.
template <class Key>
class Kept {
  public:
    using Value = decltype(std::declval<const Key&>().make(std::declval<const RunContext&>()));

    // `most` values are kept, those asked for last.
    explicit Kept(std::size_t most = 1) : most_(most) {}

    Shared<Value> get(Key key, const RunContext& context) {
        for (std::size_t i = 0; i < entries_.size(); ++i) {
            if (entries_[i].first == key) {
                // The one asked for last stands last.
                std::rotate(entries_.begin() + static_cast<std::ptrdiff_t>(i),
                            entries_.begin() + static_cast<std::ptrdiff_t>(i) + 1, entries_.end());
                return entries_.back().second;
            }
        }
        Shared<Value> value = std::make_shared<const Value>(key.make(context));
        ++made_;
        if (entries_.size() == most_) {
            entries_.erase(entries_.begin());
        }
        entries_.emplace_back(std::move(key), value);
        return value;
    }

    // How often a value was computed.
    [[nodiscard]] std::size_t made() const { return made_; }

    // Lets go of all values.
    void clear() { entries_.clear(); }

  private:
    std::size_t most_;
    std::size_t made_ = 0;
    std::vector<std::pair<Key, Shared<Value>>> entries_;
};

}  // namespace cavigram::detail
