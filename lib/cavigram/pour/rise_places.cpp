// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <utility>

#include "cavigram/pour/rise_pieces_detail.h"
#include "cavigram/pour/rise_places_detail.h"

namespace cavigram::detail {

namespace {

constexpr std::size_t kMostPlaces = 5;
// Places nearer to each other than this share of the part's diagonal count as one.
constexpr double kApart = 0.15;
constexpr int kBodyCells = 3;  // a film that swells is thinner than twice that

double apart_mm(const RiseGrid& grid) {
    return kApart * grid.spacing_mm * Vec3(grid.count[0], grid.count[1], grid.count[2]).norm();
}

}  // namespace

std::vector<double> body_arrival(const RiseGrid& grid, const std::vector<double>& arrival_s) {
    std::vector<double> body = arrival_s;
    std::vector<std::size_t> near;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        if (std::isinf(arrival_s[c])) {
            continue;
        }
        cells_around(grid, c, kBodyCells, near);
        std::erase_if(near, [&](std::size_t n) { return std::isinf(arrival_s[n]); });
        std::sort(near.begin(), near.end(), [&](std::size_t a, std::size_t b) {
            return std::pair(arrival_s[a], a) < std::pair(arrival_s[b], b);
        });
        double half_mm3 = 0.0;
        for (const std::size_t n : near) {
            half_mm3 += 0.5 * grid.volume_mm3[n];
        }
        for (const std::size_t n : near) {
            half_mm3 -= grid.volume_mm3[n];
            body[c] = arrival_s[n];
            if (half_mm3 <= 0.0) {
                break;
            }
        }
    }
    return body;
}

void late_places(const RiseGrid& grid, Rise& rise) {
    std::vector<std::size_t> order;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        const double t = rise.cell_arrival_s[c];
        bool latest = !std::isinf(t);
        for (const std::int32_t n : grid.neighbor[c]) {
            const double other = n >= 0 ? rise.cell_arrival_s[static_cast<std::size_t>(n)] : 0.0;
            latest = latest && (std::isinf(other) || other <= t);
        }
        if (latest) {
            order.push_back(c);
        }
    }
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return rise.cell_arrival_s[a] > rise.cell_arrival_s[b];
    });
    const double apart = apart_mm(grid);
    for (const std::size_t c : order) {
        const Vec3 at = grid.center_mm(c);
        const bool own = std::none_of(rise.last.begin(), rise.last.end(), [&](const LatePlace& p) {
            return (p.at_mm - at).norm() < apart;
        });
        if (own && rise.last.size() < kMostPlaces) {
            rise.last.push_back({at, rise.cell_arrival_s[c], 0.0});
        }
    }
}

void unfilled_places(const RiseGrid& grid, const std::vector<std::uint8_t>& unreached,
                     double smallest_mm3, Rise& rise) {
    if (rise.full_s) {
        return;
    }
    std::vector<std::uint8_t> seen = unreached;
    const auto empty = [&](std::int32_t cell) {
        return std::isinf(rise.cell_arrival_s[static_cast<std::size_t>(cell)]);
    };
    for (std::size_t first = 0; first < grid.size(); ++first) {
        if (seen[first] != 0 || !empty(static_cast<std::int32_t>(first))) {
            continue;
        }
        LatePlace place;
        std::size_t top = first;
        for (const std::int32_t cell :
             piece_from(grid, static_cast<std::int32_t>(first), seen, empty)) {
            const auto c = static_cast<std::size_t>(cell);
            place.volume_mm3 += grid.volume_mm3[c];
            top = grid.place[c][2] > grid.place[top][2] ? c : top;
        }
        place.at_mm = grid.center_mm(top);
        const bool is_air =
            std::any_of(rise.sealed.begin(), rise.sealed.end(), [&](const RiseAir& air) {
                return (air.at_mm - place.at_mm).norm() < 2.0 * grid.spacing_mm;
            });
        if (place.volume_mm3 > smallest_mm3 && !is_air) {
            rise.unfilled.push_back(place);
        }
    }
    std::stable_sort(
        rise.unfilled.begin(), rise.unfilled.end(),
        [](const LatePlace& a, const LatePlace& b) { return a.volume_mm3 > b.volume_mm3; });
    rise.unfilled.resize(std::min(rise.unfilled.size(), kMostPlaces));
}

}  // namespace cavigram::detail
