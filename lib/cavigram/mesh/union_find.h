// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace cavigram {

/// Things 0 to n-1 in sets that only ever join (union-find with path halving: Tarjan & van
/// Leeuwen, "Worst-case analysis of set union algorithms", J. ACM 31 (1984)).
///
/// join() makes the smaller leader lead both sets, so that answers do not depend on the order in
/// which sets were joined. Amortized O(log n) a call.
class UnionFind {
  public:
    UnionFind() = default;
    /// Each by itself.
    ///
    /// \pre n below 2^31
    explicit UnionFind(std::size_t n);

    /// How many elements.
    [[nodiscard]] std::size_t size() const { return up_.size(); }
    /// One more, by itself; gives back its number.
    std::int32_t add();
    /// The leader of the set of `i`: its smallest member, where only join() was used.
    [[nodiscard]] std::int32_t find(std::int32_t i);
    /// Makes one set of two. False if they were one before.
    bool join(std::int32_t a, std::int32_t b);
    /// As join, but `leader` goes on leading its set, whatever its number.
    ///
    /// \pre `leader` leads
    void join_under(std::int32_t leader, std::int32_t other);
    /// A number for each set, by rising leaders, for every member.
    [[nodiscard]] std::vector<std::int32_t> numbered();

  private:
    std::vector<std::int32_t> up_;
};

}  // namespace cavigram
