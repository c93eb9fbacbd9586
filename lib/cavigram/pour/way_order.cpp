// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

#include "cavigram/pour/way_order_detail.h"

namespace cavigram::detail {

namespace {

WayValues values(const WayUp& way) {
    return {way.worst_vented_mm3,
            static_cast<double>(way.holes_on_show),
            static_cast<double>(way.vents_needed),
            way.height_mm,
            way.footing.block_mm2,
            0.0,
            0.0};
}

double path_of(const RankedWayUp& row) {
    return row.path_mm;
}
double arrival_of(const RankedWayUp& row) {
    return row.thin_arrival_share.value_or(0.0);
}

}  // namespace

void WayOrder::scale(const std::vector<WayUp>& seen) {
    for (const WayUp& way : seen) {
        scale_.take(values(way));
    }
}

void WayOrder::scale_rows(const std::vector<RankedWayUp>& rows) {
    for (const auto& [measure, value] :
         {std::pair{WayMeasure::path, &path_of}, std::pair{WayMeasure::arrival, &arrival_of}}) {
        const auto m = static_cast<std::size_t>(measure);
        scale_.least[m] = scale_.most[m] = value(rows.front());
        for (const RankedWayUp& row : rows) {
            scale_.least[m] = std::min(scale_.least[m], value(row));
            scale_.most[m] = std::max(scale_.most[m], value(row));
        }
    }
}

double WayOrder::score(const WayUp& way) const {
    return weights_ ? weighted_score(values(way), *weights_, scale_) : 0.0;
}

double WayOrder::score(const RankedWayUp& row) const {
    WayValues all = values(row.value);
    all[static_cast<std::size_t>(WayMeasure::path)] = path_of(row);
    all[static_cast<std::size_t>(WayMeasure::arrival)] = arrival_of(row);
    return weights_ ? weighted_score(all, *weights_, scale_) : 0.0;
}

std::array<double, 4> WayOrder::key(const WayUp& way) const {
    if (!weights_) {
        return respects(way);
    }
    constexpr double kStep = 1e-4;  // less is no gain
    return {std::round(score(way) / kStep), 0.0, 0.0, 0.0};
}

std::array<double, 4> WayOrder::respects(const WayUp& way) const {
    return {std::floor(way.worst_vented_mm3 / step_mm3_), static_cast<double>(way.holes_on_show),
            static_cast<double>(way.vents_needed), std::round(way.height_mm / kHeightStep_mm)};
}

bool WayOrder::better(const WayUp& a, const WayUp& b) const {
    const auto full = [this](const WayUp& w) {
        return std::tuple(key(w), w.worst_vented_mm3, w.height_mm, w.up.x(), w.up.y(), w.up.z());
    };
    return full(a) < full(b);
}

bool WayOrder::dominates(const WayUp& a, const WayUp& b) const {
    const std::array<double, 4> p = respects(a);
    const std::array<double, 4> q = respects(b);
    bool less = false;
    for (std::size_t i = 0; i < p.size(); ++i) {
        if (p[i] > q[i]) {
            return false;
        }
        less = less || p[i] < q[i];
    }
    return less;
}

std::vector<char> WayOrder::front(const std::vector<WayUp>& ways) const {
    std::vector<char> in(ways.size(), 1);
    for (std::size_t i = 0; i < ways.size(); ++i) {
        for (const WayUp& other : ways) {
            in[i] = in[i] != 0 && !dominates(other, ways[i]) ? 1 : 0;
        }
    }
    return in;
}

}  // namespace cavigram::detail
