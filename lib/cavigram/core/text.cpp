// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/text.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/core.h>

#include "cavigram/core/error.h"

namespace cavigram {

std::string significant(double value, int digits) {
    if (value == 0.0) {
        return "0";
    }
    if (!std::isfinite(value) || std::abs(value) < 1e-4 || std::abs(value) >= 1e15) {
        return fmt::format("{:.{}g}", value, digits);
    }
    // Round first: 9.996 with 3 digits is 10.0, one place fewer behind the point than 9.99.
    const double unit = std::pow(10.0, std::floor(std::log10(std::abs(value))) - digits + 1);
    const double rounded = std::round(value / unit) * unit;
    const int magnitude = static_cast<int>(std::floor(std::log10(std::abs(rounded)) + 1e-9));
    return fmt::format("{:.{}f}", rounded, std::max(0, digits - 1 - magnitude));
}

namespace {

// Optimal string alignment: the edit distance in which a swap of neighbors counts once.
std::size_t edit_distance(std::string_view a, std::string_view b) {
    std::vector<std::vector<std::size_t>> d(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
    for (std::size_t i = 0; i <= a.size(); ++i) {
        for (std::size_t j = 0; j <= b.size(); ++j) {
            if (i == 0 || j == 0) {
                d[i][j] = i + j;
                continue;
            }
            const std::size_t replace = d[i - 1][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
            d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, replace});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
            }
        }
    }
    return d[a.size()][b.size()];
}

}  // namespace

std::string nearest_word(std::string_view word, const std::vector<std::string>& known) {
    std::size_t best = std::numeric_limits<std::size_t>::max();
    std::string nearest;
    for (const std::string& candidate : known) {
        const std::size_t distance = edit_distance(word, candidate);
        const std::size_t limit = std::max<std::size_t>(1, candidate.size() / 3);
        if (distance <= limit && distance < best) {
            best = distance;
            nearest = candidate;
        }
    }
    return nearest;
}

void refuse_choice(std::string_view text, std::string_view name,
                   std::span<const std::string_view> words) {
    std::string all;
    for (std::size_t i = 0; i < words.size(); ++i) {
        const bool last = i > 0 && i + 1 == words.size();
        all.append(i == 0 ? "" : last ? " or " : ", ").append(words[i]);
    }
    throw InvalidInput(fmt::format("{} is \"{}\"; give {}.", name, text, all));
}

}  // namespace cavigram
