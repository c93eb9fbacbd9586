// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/duplicates.h"

#include <algorithm>
#include <array>
#include <numeric>

namespace cavigram {

namespace {

// The triangle's vertices in rising order, and whether that order runs its way.
struct Key {
    std::array<std::int32_t, 3> sorted{};
    bool even = true;
};

Key key_of(const Triangle& t) {
    Key key{{t[0], t[1], t[2]}, true};
    for (const auto& [i, j] : {std::pair(0, 1), std::pair(1, 2), std::pair(0, 1)}) {
        auto& a = key.sorted[static_cast<std::size_t>(i)];
        auto& b = key.sorted[static_cast<std::size_t>(j)];
        if (a > b) {
            std::swap(a, b);
            key.even = !key.even;
        }
    }
    return key;
}

}  // namespace

DuplicateRemoval remove_duplicates(const TriMesh& mesh) {
    const std::size_t n = mesh.triangles.size();
    std::vector<Key> keys(n);
    std::transform(mesh.triangles.begin(), mesh.triangles.end(), keys.begin(), key_of);
    std::vector<std::int32_t> order(n);
    std::iota(order.begin(), order.end(), 0);
    const auto key = [&](std::int32_t t) -> const Key& {
        return keys[static_cast<std::size_t>(t)];
    };
    std::sort(order.begin(), order.end(), [&](std::int32_t s, std::int32_t t) {
        return std::pair(key(s).sorted, s) < std::pair(key(t).sorted, t);
    });
    DuplicateRemoval result;
    std::vector<bool> drop(n, false);
    for (std::size_t begin = 0, end = 0; begin < n; begin = end) {
        int balance = 0;
        for (end = begin; end < n && key(order[end]).sorted == key(order[begin]).sorted; ++end) {
            balance += key(order[end]).even ? 1 : -1;
        }
        if (end - begin == 1) {
            continue;
        }
        // The first triangle that runs the way of the majority stays, unless the two ways cancel.
        bool stays = balance == 0;
        for (std::size_t i = begin; i < end; ++i) {
            const std::int32_t t = order[i];
            if (!stays && key(t).even == (balance > 0)) {
                stays = true;
                continue;
            }
            drop[static_cast<std::size_t>(t)] = true;
            (balance == 0 ? result.folded : result.repeated).push_back(t);
        }
    }
    std::sort(result.repeated.begin(), result.repeated.end());
    std::sort(result.folded.begin(), result.folded.end());
    result.mesh.vertices = mesh.vertices;
    for (std::size_t t = 0; t < n; ++t) {
        if (!drop[t]) {
            result.mesh.triangles.push_back(mesh.triangles[t]);
        }
    }
    return result;
}

}  // namespace cavigram
