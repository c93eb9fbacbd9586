// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/way_weights.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>
#include <string>

#include <fmt/core.h>

#include "cavigram/core/error.h"

namespace cavigram {

namespace {

constexpr std::array kWords = {"air", "show", "vents", "height", "footprint", "path", "arrival"};
static_assert(kWords.size() == kWayMeasures);

[[noreturn]] void refuse(std::string_view text, std::string_view name, const std::string& why) {
    throw InvalidInput(
        fmt::format("{} is \"{}\"; {}. Give weights such as air=1,vents=2,height=0.5, "
                    "from air, show, vents, height, footprint, path and arrival.",
                    std::string(name), std::string(text), why));
}

}  // namespace

const char* to_text(WayMeasure measure) {
    return kWords[static_cast<std::size_t>(measure)];
}

WayWeights parse_way_weights(std::string_view text, std::string_view name) {
    WayWeights result;
    std::array<bool, kWayMeasures> given = {};
    double sum = 0.0;
    for (std::size_t begin = 0; begin <= text.size();) {
        const std::size_t end = std::min(text.find(',', begin), text.size());
        const std::string_view part = text.substr(begin, end - begin);
        begin = end + 1;
        const std::size_t equals = std::min(part.find('='), part.size());
        const std::string_view word = part.substr(0, equals);
        const auto known = std::find(kWords.begin(), kWords.end(), word);
        if (known == kWords.end()) {
            refuse(text, name, "\"" + std::string(word) + "\" is nothing that ways up are told by");
        }
        const auto index = static_cast<std::size_t>(known - kWords.begin());
        if (given[index]) {
            refuse(text, name, std::string(word) + " is given twice");
        }
        given[index] = true;
        const char* const first = part.data() + std::min(equals + 1, part.size());
        const char* const last = part.data() + part.size();
        double weight = 0.0;
        const auto [rest, error] = std::from_chars(first, last, weight);
        if (error != std::errc() || rest != last || !std::isfinite(weight) || weight < 0.0) {
            refuse(text, name, std::string(word) + " needs a number that is not negative");
        }
        result.weights[index] = weight;
        sum += weight;
    }
    if (!(sum > 0.0) || !std::isfinite(sum)) {
        refuse(text, name, "no weight is above 0");
    }
    return result;
}

WayScale::WayScale() : least(), most() {
    least.fill(std::numeric_limits<double>::infinity());
    most.fill(-std::numeric_limits<double>::infinity());
}

void WayScale::take(const WayValues& values) {
    for (std::size_t i = 0; i < kWayMeasures; ++i) {
        least[i] = std::min(least[i], values[i]);
        most[i] = std::max(most[i], values[i]);
    }
}

double weighted_score(const WayValues& values, const WayWeights& weights, const WayScale& scale) {
    double sum = 0.0;
    double all = 0.0;
    for (std::size_t i = 0; i < kWayMeasures; ++i) {
        const double range = scale.most[i] - scale.least[i];
        all += weights.weights[i];
        sum += range > 0.0 ? weights.weights[i] * (values[i] - scale.least[i]) / range : 0.0;
    }
    return sum / all;
}

}  // namespace cavigram
