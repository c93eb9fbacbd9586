// SPDX-License-Identifier: GPL-3.0-or-later
// What RiseStepper keeps between steps: contents, and the air by pieces.
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "cavigram/core/sum.h"
#include "cavigram/pour/rise_pieces_detail.h"
#include "cavigram/pour/rise_stepper.h"
#include "cavigram/pour/rise_stepper_detail.h"

namespace cavigram {

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kHalfFull = 0.5;
constexpr double kDrained = 0.25;  // and no longer counts as reached
constexpr double kPaPerKpa = 1e3;
constexpr double kMm3PerMl = 1e3;
// Air drops at which the widths of holes are looked at: below, the flow is laminar anyhow.
constexpr double kLeastDrop_pa = 1.0;

}  // namespace

RiseStepper::RiseStepper(const RiseGrid& grid, const std::vector<double>& liquid_mm3,
                         const StepperOptions& options, const RunContext& context)
    : grid_(grid),
      options_(options),
      context_(context),
      solver_(grid, context),
      air_pa_(options.air_kpa * kPaPerKpa),
      content_(liquid_mm3),
      next_(liquid_mm3),
      front_(grid.size(), detail::kMiddle),
      fill_(grid.size(), 0.0),
      stuck_(grid.size(), 0.0),
      gives_(grid.size(), 0.0),
      air_mm3_(grid.size(), 0.0),
      right_(grid.size(), 0.0),
      w_(grid.size(), 0.0),
      flow_(grid.size()),
      active_(grid.size(), 0),
      pocket_before_(grid.size(), -1),
      share_(grid.size(), 0.0),
      pressure_(grid.size(), 0.0),
      arrival_(grid.size(), kInfinity),
      left_mm3_(options.openings.size(), 0.0),
      piece_(grid.size(), -1) {
    air_.upward.assign(grid.size(), 1.0);
    for (const RiseOpening& opening : options_.openings) {
        solver_.open(opening.cell, opening.conductance_mm3);
        near_opening_.push_back(detail::cells_near(grid, opening.cell));
    }
    CompensatedSum poured;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        poured.add(content_[c]);
        share_[c] = content_[c] / grid.volume_mm3[c];
        arrival_[c] = share_[c] >= kHalfFull ? 0.0 : kInfinity;
        active_[c] = share_[c] >= 1.0 ? 1 : 0;
        air_mm3_[c] = grid.volume_mm3[c] * (1.0 - share_[c]);
        if (!options_.left_out.empty() && options_.left_out[c] != 0) {
            active_[c] = 0;
            solver_.close(static_cast<std::int32_t>(c));
        }
    }
    poured_mm3_ = poured.value();
    std::vector<std::uint8_t> seen(grid.size(), 0);
    for (std::size_t c = 0; c < grid.size(); ++c) {
        if (seen[c] == 0) {
            for (const std::int32_t cell : detail::piece_from(
                     grid, static_cast<std::int32_t>(c), seen, [](std::int32_t) { return true; })) {
                piece_[static_cast<std::size_t>(cell)] =
                    static_cast<std::int32_t>(piece_open_.size());
            }
            piece_open_.push_back(0);
        }
    }
    for (const RiseOpening& opening : options_.openings) {
        piece_open_[static_cast<std::size_t>(piece_[static_cast<std::size_t>(opening.cell)])] = 1;
    }
    label(0.0);
    take_pockets(1.0);
}

// Pieces of air for the set of full cells as it is now.
void RiseStepper::label(double per_pa) {
    const std::vector<std::int32_t> old_of = pocket_of_;
    const std::vector<Pocket> old = pockets_;
    pocket_of_.assign(grid_.size(), -1);
    pockets_.clear();
    std::vector<std::uint8_t> seen(grid_.size(), 0);
    const auto among = [&](std::int32_t cell) { return is_air(static_cast<std::size_t>(cell)); };
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (seen[c] == 0 && is_air(c)) {
            const auto number = static_cast<std::int32_t>(pockets_.size());
            for (const std::int32_t cell :
                 detail::piece_from(grid_, static_cast<std::int32_t>(c), seen, among)) {
                pocket_of_[static_cast<std::size_t>(cell)] = number;
            }
            pockets_.emplace_back();
        }
    }
    carry_amounts();
    // They go on from the pressures found so far.
    for (std::size_t c = 0; c < grid_.size() && !old_of.empty(); ++c) {
        if (pocket_of_[c] >= 0 && old_of[c] >= 0) {
            pockets_[static_cast<std::size_t>(pocket_of_[c])].gauge_pa =
                old[static_cast<std::size_t>(old_of[c])].gauge_pa;
        }
    }
    open_pockets();
    take_strays();
    air_.of_cell = pocket_of_;
    air_.diagonal.assign(pockets_.size(), 0.0);
    air_.right.assign(pockets_.size(), 0.0);
    air_.x.assign(pockets_.size(), 0.0);
    for (Pocket& pocket : pockets_) {
        pocket.fixed = !options_.seal || ((pocket.open || pocket.born) && options_.holes.empty()) ||
                       (!pocket.open && !pocket.stray &&
                        pocket.amount_pa_mm3 <= options_.smallest_air_mm3 * air_pa_);
        pocket.gauge_pa = pocket.fixed ? 0.0 : pocket.gauge_pa;
    }
    for (std::size_t k = 0; k < pockets_.size(); ++k) {
        air_.x[k] = pockets_[k].gauge_pa * per_pa;
    }
    for (std::int32_t& node : air_.of_cell) {
        node = node >= 0 && pockets_[static_cast<std::size_t>(node)].fixed ? -1 : node;
    }
}

// Cells that stopped being full in this step, cut off from the air that pushed them empty, hold
// some of it.
void RiseStepper::take_strays() {
    std::vector<double> empty(pockets_.size(), 0.0);
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (pocket_of_[c] >= 0) {
            empty[static_cast<std::size_t>(pocket_of_[c])] +=
                grid_.volume_mm3[c] * (1.0 - fill_[c]);
        }
    }
    for (std::size_t k = 0; k < pockets_.size(); ++k) {
        Pocket& pocket = pockets_[k];
        const double held = (air_pa_ + pocket.gauge_pa) * empty[k];
        pocket.stray = !pocket.open && pocket.gauge_pa > 0.0 && pocket.amount_pa_mm3 < 0.5 * held;
        if (pocket.stray) {
            pocket.amount_pa_mm3 = held;
            pocket.born = false;
        }
    }
}

// The air of a piece before goes to those that are left of it, by the air that was in their cells;
// each begins with the pressure of the one from which it has most. What loses its way out in this
// step has it until its end: what foam pushes out until then leaves.
void RiseStepper::carry_amounts() {
    std::vector<double> left(before_.size(), 0.0);
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (pocket_of_[c] >= 0 && pocket_before_[c] >= 0) {
            left[static_cast<std::size_t>(pocket_before_[c])] += air_mm3_[c];
        }
    }
    std::vector<double> most(pockets_.size(), 0.0);
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (pocket_of_[c] < 0 || pocket_before_[c] < 0) {
            continue;
        }
        const auto k = static_cast<std::size_t>(pocket_before_[c]);
        const auto own = static_cast<std::size_t>(pocket_of_[c]);
        if (left[k] > 0.0) {
            pockets_[own].amount_pa_mm3 += before_[k].amount_pa_mm3 * air_mm3_[c] / left[k];
        }
        if (before_[k].amount_pa_mm3 > most[own]) {
            most[own] = before_[k].amount_pa_mm3;
            pockets_[own].gauge_pa = before_[k].gauge_pa;
            pockets_[own].air = before_[k].air;
            pockets_[own].born = before_[k].open;
            pockets_[own].vent_mm3_pa_s = before_[k].open ? before_[k].vent_mm3_pa_s : 0.0;
        }
    }
}

// Which pieces have a way out, and what their holes let through at the pressure of the step before.
void RiseStepper::open_pockets() {
    for (std::size_t i = 0; i < near_opening_.size(); ++i) {
        std::vector<std::int32_t> reached;
        for (const std::int32_t cell : near_opening_[i]) {
            const std::int32_t k = pocket_of_[static_cast<std::size_t>(cell)];
            if (k >= 0 && std::find(reached.begin(), reached.end(), k) == reached.end()) {
                reached.push_back(k);
            }
        }
        for (const std::int32_t k : reached) {
            Pocket& pocket = pockets_[static_cast<std::size_t>(k)];
            pocket.vent_mm3_pa_s = pocket.open ? pocket.vent_mm3_pa_s : 0.0;
            pocket.open = true;
            pocket.born = false;
            if (!options_.holes.empty()) {
                const double drop_pa = std::max(kLeastDrop_pa, std::abs(pocket.gauge_pa));
                pocket.vent_mm3_pa_s +=
                    kMm3PerMl * hole_flow_ml_s(options_.holes[i], kAir, drop_pa / kPaPerKpa) /
                    drop_pa;
            }
        }
    }
}

void RiseStepper::finish(const Step& step) {
    take_contents(step);
    CompensatedSum holds;
    CompensatedSum filled;
    CompensatedSum misplaced;
    const double before_s = state_.time_s - step.seconds;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        holds.add(content_[c]);
        if (runs(c)) {
            const double held = content_[c] / (step.density * grid_.volume_mm3[c]);
            const double share = std::clamp(held, 0.0, 1.0);
            misplaced.add(std::abs(held - share) * grid_.volume_mm3[c]);
            if (share >= kHalfFull && arrival_[c] == kInfinity) {
                const double way = (kHalfFull - share_[c]) / (share - share_[c]);
                arrival_[c] = before_s + std::clamp(way, 0.0, 1.0) * step.seconds;
            } else if (share < kDrained) {
                arrival_[c] = kInfinity;
            }
            share_[c] = share;
            air_mm3_[c] = active_[c] != 0 ? 0.0 : (1.0 - share) * grid_.volume_mm3[c];
            pressure_[c] = (active_[c] != 0 ? w_[c] : air_w(c)) / step.per_pa;
        }
        filled.add(share_[c] * grid_.volume_mm3[c]);
    }
    for (const double left : left_mm3_) {
        holds.add(left);
    }
    state_.misplaced_mm3 = misplaced.value();
    state_.filled_mm3 = filled.value();
    state_.mass_error = poured_mm3_ > 0.0 ? (holds.value() - poured_mm3_) / poured_mm3_ : 0.0;
    state_.highest_pa = highest_w() / step.per_pa;
    take_pockets(step.density);
    close_full_pieces();
}

// What each cell holds by what has flowed, so that what a solve leaves is made good by the next.
void RiseStepper::take_contents(const Step& step) {
    find_flows(step);
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        next_[c] = kept(c);
    }
    for (std::size_t i = 0; i < left_mm3_.size(); ++i) {
        const auto c = static_cast<std::size_t>(options_.openings[i].cell);
        left_mm3_[i] += active_[c] != 0 ? options_.openings[i].conductance_mm3 * w_[c] : 0.0;
    }
    content_ = next_;
}

// The pieces of air as they are at the end of a step.
void RiseStepper::take_pockets(double density) {
    for (Pocket& pocket : pockets_) {
        pocket.volume_mm3 = 0.0;
    }
    std::vector<std::size_t> top(pockets_.size(), 0);
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (pocket_of_[c] >= 0) {
            const auto k = static_cast<std::size_t>(pocket_of_[c]);
            pockets_[k].volume_mm3 += air_mm3_[c];
            top[k] = c;  // cells run from the lowest layer up
        }
    }
    CompensatedSum open_air;
    for (std::size_t k = 0; k < pockets_.size(); ++k) {
        Pocket& pocket = pockets_[k];
        if (pocket.born) {
            pocket.amount_pa_mm3 = (air_pa_ + pocket.gauge_pa) * pocket.volume_mm3;
            pocket.fixed =
                !options_.seal || pocket.amount_pa_mm3 <= options_.smallest_air_mm3 * air_pa_;
            pocket.air = {};
        }
        if (pocket.open || pocket.fixed) {
            pocket.amount_pa_mm3 = (air_pa_ + pocket.gauge_pa) * pocket.volume_mm3;
            pocket.air = {};
            open_air.add(pocket.volume_mm3);
            continue;
        }
        StepperAir& air = pocket.air;
        // As much as it held at the room's pressure: pieces that part or meet share that out.
        const double before_mm3 = air.cut_off.volume_mm3;
        air.cut_off.volume_mm3 = pocket.amount_pa_mm3 / air_pa_;
        air.now_mm3 = pocket.volume_mm3;
        air.pressure_pa = pocket.gauge_pa;
        if (!(before_mm3 > 0.0)) {
            air.time_s = state_.time_s;
            air.cut_off.at_mm = grid_.center_mm(top[k]);
            air.cut_off.expansion = 1.0 / density;
        }
    }
    state_.open_air_mm3 = open_air.value();
    before_ = pockets_;
    pocket_before_ = pocket_of_;
}

// A piece of the grid that is full and has no opening neither grows nor flows any more.
void RiseStepper::close_full_pieces() {
    std::vector<std::uint8_t> moves = piece_open_;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (is_air(c)) {
            moves[static_cast<std::size_t>(piece_[c])] = 1;
        }
    }
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (runs(c) && moves[static_cast<std::size_t>(piece_[c])] == 0) {
            active_[c] = 0;
            solver_.close(static_cast<std::int32_t>(c));
        }
    }
}

std::vector<StepperAir> RiseStepper::sealed() const {
    std::vector<StepperAir> all;
    for (const Pocket& pocket : before_) {
        if (!pocket.open && !pocket.fixed) {
            all.push_back(pocket.air);
        }
    }
    std::stable_sort(all.begin(), all.end(),
                     [](const StepperAir& a, const StepperAir& b) { return a.time_s < b.time_s; });
    return all;
}

bool RiseStepper::cut_off(std::size_t cell) const {
    const std::int32_t k = pocket_before_[cell];
    return k >= 0 && !before_[static_cast<std::size_t>(k)].open &&
           !before_[static_cast<std::size_t>(k)].fixed;
}

}  // namespace cavigram
