// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_viscous.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "cavigram/core/error.h"
#include "cavigram/core/sum.h"
#include "cavigram/pour/rise_pieces_detail.h"

namespace cavigram {

using detail::cells_near;
using detail::piece_from;

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kHalfFull = 0.5;
// While the set still changes, it is enough to know the signs.
constexpr double kRough = 1e-4;
// So often cells may leave the set again while solving roughly, and in all.
constexpr int kRoughReleases = 5;
constexpr int kMostReleases = 15;
constexpr int kMostSets = 4000;
// In the first sets of a moment what is too much for a cell spills over, this share of it: with all
// of it the sets grow too far.
constexpr int kSpillSets = 3;
constexpr double kSpills = 0.9;
// W is below 0 when it is by more than this share of the largest: less is what solving leaves.
constexpr double kBelow = 1e-9;
constexpr double kOverfull = 1e-9;  // of a cell: rounding
// A cell with less foam than this among cut-off air counts as air.
constexpr double kWetted = 1e-3;

}  // namespace

ViscousRise::ViscousRise(const RiseGrid& grid, const std::vector<double>& liquid_mm3,
                         const ViscousOptions& options, const RunContext& context)
    : grid_(grid),
      options_(options),
      context_(context),
      solver_(grid, context),
      room_mm3_(grid.volume_mm3),
      content_mm3_(liquid_mm3),
      right_(grid.size(), 0.0),
      weight_(grid.size(), 0.0),
      active_(grid.size(), 0),
      holds_(grid.size(), 0.0),
      share_(grid.size(), 0.0),
      arrival_(grid.size(), kInfinity),
      left_mm3_(options.openings.size(), 0.0),
      left_before_mm3_(options.openings.size(), 0.0) {
    for (const RiseOpening& opening : options_.openings) {
        solver_.open(opening.cell, opening.conductance_mm3);
    }
    CompensatedSum poured;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        poured.add(content_mm3_[c]);
        share_[c] = content_mm3_[c] / grid.volume_mm3[c];
        arrival_[c] = share_[c] >= kHalfFull ? 1.0 : kInfinity;
        active_[c] = share_[c] >= 1.0 ? 1 : 0;
        if (!options_.left_out.empty() && options_.left_out[c] != 0) {
            active_[c] = 0;
            solver_.close(static_cast<std::int32_t>(c));
        }
    }
    poured_mm3_ = poured.value();
    take_state(1.0);
}

bool ViscousRise::overfull(std::size_t cell, double density) const {
    return holds_[cell] > density * room_mm3_[cell] * (1.0 + kOverfull);
}

// What is too much for a cell goes on to those beyond it, so that a set may grow by more than one
// layer: a guess, which the next sets put right.
void ViscousRise::spill(double density, std::vector<std::int32_t>& join) {
    std::vector<std::uint8_t> joins(grid_.size(), 0);
    for (const std::int32_t cell : join) {
        joins[static_cast<std::size_t>(cell)] = 1;
    }
    for (std::size_t i = 0; i < join.size(); ++i) {
        const auto c = static_cast<std::size_t>(join[i]);
        const auto takes = [&](std::size_t side) {
            const std::int32_t n = grid_.neighbor[c][side];
            return n >= 0 && active_[static_cast<std::size_t>(n)] == 0 &&
                   joins[static_cast<std::size_t>(n)] == 0 && !solver_.closed(n);
        };
        double all = 0.0;
        for (std::size_t side = 0; side < 6; ++side) {
            all += takes(side) ? solver_.conductance_mm3(c, side) : 0.0;
        }
        if (!(all > 0.0)) {
            continue;
        }
        const double more = kSpills * (holds_[c] - density * room_mm3_[c]) / all;
        for (std::size_t side = 0; side < 6; ++side) {
            if (takes(side)) {
                const auto n = static_cast<std::size_t>(grid_.neighbor[c][side]);
                holds_[n] += more * solver_.conductance_mm3(c, side);
                if (overfull(n, density)) {
                    joins[n] = 1;
                    join.push_back(grid_.neighbor[c][side]);
                }
            }
        }
    }
}

// Cells that leave the set of full ones, and cells that join it.
std::size_t ViscousRise::change_set(double density) {
    std::vector<std::int32_t> join;
    std::size_t changed = 0;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        const auto cell = static_cast<std::int32_t>(c);
        if (active_[c] == 0 && !solver_.closed(cell)) {
            holds_[c] = content_mm3_[c] + solver_.inflow(cell, weight_);
            if (overfull(c, density)) {
                join.push_back(cell);
            }
        }
    }
    if (state_.sets <= kSpillSets) {
        spill(density, join);
    }
    const double below = -kBelow * std::max(0.0, *std::max_element(weight_.begin(), weight_.end()));
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (active_[c] != 0 && weight_[c] < below) {
            active_[c] = 0;
            weight_[c] = 0.0;
            ++changed;
        }
    }
    releases_ += changed > 0 && state_.sets > kSpillSets + 1 ? 1 : 0;
    for (const std::int32_t cell : join) {
        active_[static_cast<std::size_t>(cell)] = 1;
    }
    return changed + join.size();
}

bool ViscousRise::solve_on_sets(double density) {
    state_.sets = 0;
    state_.iterations = 0;
    releases_ = 0;
    bool fine = false;
    while (state_.sets < kMostSets) {
        ++state_.sets;
        state_.iterations +=
            solver_.solve(active_, right_, fine ? options_.relative : kRough, weight_).iterations;
        if (change_set(density) > 0) {
            // Signs that a rough solve gets wrong would go round in circles.
            fine = releases_ >= kRoughReleases;
            if (releases_ >= kMostReleases) {
                return false;
            }
        } else if (fine) {
            return true;
        } else {
            fine = true;
        }
    }
    return false;
}

const ViscousState& ViscousRise::advance(double expansion) {
    const double density = 1.0 / expansion;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        right_[c] = content_mm3_[c] - density * room_mm3_[c];
    }
    const std::vector<double> before = share_;
    const double expansion_before = state_.expansion;
    state_.settled = solve_on_sets(density);
    state_.expansion = expansion;
    take_state(density);
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (arrival_[c] == kInfinity && share_[c] >= kHalfFull) {
            const double way = (kHalfFull - before[c]) / (share_[c] - before[c]);
            arrival_[c] = expansion_before + way * (expansion - expansion_before);
        }
    }
    if (options_.seal) {
        seal_air();
    }
    return state_;
}

void ViscousRise::take_state(double density) {
    CompensatedSum holds;
    CompensatedSum filled;
    CompensatedSum open_air;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        const auto cell = static_cast<std::int32_t>(c);
        if (!solver_.closed(cell)) {
            const double most = density * room_mm3_[c];
            const double content =
                active_[c] != 0 ? most : content_mm3_[c] + solver_.inflow(cell, weight_);
            share_[c] = std::clamp(content / most, 0.0, 1.0) * room_mm3_[c] / grid_.volume_mm3[c];
            holds.add(content);
            open_air.add(room_mm3_[c] - share_[c] * grid_.volume_mm3[c]);
        }
        filled.add(share_[c] * grid_.volume_mm3[c]);
    }
    holds.add(kept_mm3_);
    for (std::size_t i = 0; i < left_mm3_.size(); ++i) {
        const RiseOpening& opening = options_.openings[i];
        // It leaves with the pressure under the hole, which W has summed over time.
        left_mm3_[i] = left_before_mm3_[i] +
                       opening.conductance_mm3 * weight_[static_cast<std::size_t>(opening.cell)];
        holds.add(left_mm3_[i]);
    }
    state_.filled_mm3 = filled.value();
    state_.open_air_mm3 = std::max(0.0, open_air.value());
    state_.air_mm3 = grid_.total_mm3() - state_.filled_mm3;
    state_.mass_error = poured_mm3_ > 0.0 ? (holds.value() - poured_mm3_) / poured_mm3_ : 0.0;
}

// Pieces of air without an opening keep their room; the problem then begins anew from where it
// stands.
void ViscousRise::seal_air() {
    std::vector<std::uint8_t> seen(grid_.size(), 0);
    const auto is_air = [&](std::int32_t cell) {
        return active_[static_cast<std::size_t>(cell)] == 0 && !solver_.closed(cell);
    };
    for (const RiseOpening& opening : options_.openings) {
        for (const std::int32_t cell : cells_near(grid_, opening.cell)) {
            if (is_air(cell) && seen[static_cast<std::size_t>(cell)] == 0) {
                static_cast<void>(piece_from(grid_, cell, seen, is_air));
            }
        }
    }
    bool any = false;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        const auto first = static_cast<std::int32_t>(c);
        if (seen[c] != 0 || !is_air(first)) {
            continue;
        }
        const std::vector<std::int32_t> piece = piece_from(grid_, first, seen, is_air);
        const SealedAir air = air_of(piece);
        if (air.volume_mm3 > options_.smallest_air_mm3) {
            if (!any) {
                restart(1.0 / state_.expansion);
                any = true;
            }
            keep_room(piece);
            sealed_.push_back(air);
            state_.open_air_mm3 = std::max(0.0, state_.open_air_mm3 - air.volume_mm3);
        }
    }
    if (any) {
        close_off();
    }
}

SealedAir ViscousRise::air_of(const std::vector<std::int32_t>& piece) const {
    SealedAir air;
    air.expansion = state_.expansion;
    std::size_t top = static_cast<std::size_t>(piece.front());
    for (const std::int32_t cell : piece) {
        const auto c = static_cast<std::size_t>(cell);
        air.volume_mm3 += room_mm3_[c] - share_[c] * grid_.volume_mm3[c];
        top = grid_.place[c][2] > grid_.place[top][2] ? c : top;
    }
    air.at_mm = grid_.center_mm(top);
    return air;
}

// The room of cut-off air is lost to the foam. What foam there is in such a cell stays connected
// with the rest: the cell is full, and smaller.
void ViscousRise::keep_room(const std::vector<std::int32_t>& piece) {
    for (const std::int32_t cell : piece) {
        const auto c = static_cast<std::size_t>(cell);
        if (share_[c] * grid_.volume_mm3[c] > kWetted * room_mm3_[c]) {
            room_mm3_[c] = share_[c] * grid_.volume_mm3[c];
            active_[c] = 1;
        } else {
            kept_mm3_ += content_mm3_[c];
            solver_.close(cell);
        }
    }
}

// Foam that lies behind cut-off air, without an opening of its own, can't rise any more.
void ViscousRise::close_off() {
    std::vector<std::uint8_t> seen(grid_.size(), 0);
    const auto runs = [&](std::int32_t cell) { return !solver_.closed(cell); };
    for (const RiseOpening& opening : options_.openings) {
        if (runs(opening.cell) && seen[static_cast<std::size_t>(opening.cell)] == 0) {
            static_cast<void>(piece_from(grid_, opening.cell, seen, runs));
        }
    }
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        const auto cell = static_cast<std::int32_t>(c);
        if (seen[c] == 0 && runs(cell)) {
            kept_mm3_ += content_mm3_[c];
            active_[c] = 0;
            solver_.close(cell);
        }
    }
}

// The same state, told as what each cell holds now, with W = 0.
void ViscousRise::restart(double density) {
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        const auto cell = static_cast<std::int32_t>(c);
        if (!solver_.closed(cell)) {
            content_mm3_[c] = active_[c] != 0 ? density * room_mm3_[c]
                                              : content_mm3_[c] + solver_.inflow(cell, weight_);
        }
    }
    std::fill(weight_.begin(), weight_.end(), 0.0);
    left_before_mm3_ = left_mm3_;
}

std::vector<double> ViscousRise::pressure_pa(double growth_times_viscosity_pa) {
    std::vector<double> right(grid_.size(), 0.0);
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        right[c] = growth_times_viscosity_pa * room_mm3_[c];
    }
    std::vector<double> pressure(grid_.size(), 0.0);
    static_cast<void>(solver_.solve(active_, right, options_.relative, pressure, &share_));
    return pressure;
}

}  // namespace cavigram
