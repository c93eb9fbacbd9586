// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/union_find.h"

#include <algorithm>
#include <numeric>

namespace cavigram {

UnionFind::UnionFind(std::size_t n) : up_(n) {
    std::iota(up_.begin(), up_.end(), 0);
}

std::int32_t UnionFind::add() {
    up_.push_back(static_cast<std::int32_t>(up_.size()));
    return up_.back();
}

std::int32_t UnionFind::find(std::int32_t i) {
    while (up_[static_cast<std::size_t>(i)] != i) {
        std::int32_t& above = up_[static_cast<std::size_t>(i)];
        above = up_[static_cast<std::size_t>(above)];
        i = above;
    }
    return i;
}

bool UnionFind::join(std::int32_t a, std::int32_t b) {
    a = find(a);
    b = find(b);
    up_[static_cast<std::size_t>(std::max(a, b))] = std::min(a, b);
    return a != b;
}

void UnionFind::join_under(std::int32_t leader, std::int32_t other) {
    up_[static_cast<std::size_t>(find(other))] = leader;
}

std::vector<std::int32_t> UnionFind::numbered() {
    std::int32_t next = 0;
    std::vector<std::int32_t> number(up_.size());
    for (std::size_t i = 0; i < up_.size(); ++i) {
        if (up_[i] == static_cast<std::int32_t>(i)) {
            number[i] = next++;
        }
    }
    for (std::size_t i = 0; i < up_.size(); ++i) {
        number[i] = number[static_cast<std::size_t>(find(static_cast<std::int32_t>(i)))];
    }
    return number;
}

}  // namespace cavigram
