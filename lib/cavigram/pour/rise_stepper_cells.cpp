// SPDX-License-Identifier: GPL-3.0-or-later
// What RiseStepper asks of single cells: what flows between them, and what each holds or presses
// with for what those beside it do.
#include <algorithm>
#include <cmath>
#include <limits>

#include "cavigram/pour/rise_stepper.h"
#include "cavigram/pour/rise_stepper_detail.h"

namespace cavigram {

using detail::kAbove;
using detail::kBelow;
using detail::kNowhere;
using detail::kTiny;

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

}  // namespace

// What the face beyond a side lets through.
double RiseStepper::passes(std::size_t cell, std::size_t side) const {
    const double whole = solver_.conductance_mm3(cell, side);
    const auto next = static_cast<std::size_t>(grid_.neighbor[cell][side]);
    if (active_[cell] == active_[next]) {
        return whole;
    }
    return whole * front_factor(active_[cell] != 0 ? next : cell);
}

// What leaves a cell by a side.
double RiseStepper::outflow(std::size_t cell, std::size_t side, const Step& step) const {
    const std::int32_t n = grid_.neighbor[cell][side];
    if (n < 0 || !runs(cell) || !runs(static_cast<std::size_t>(n))) {
        return 0.0;
    }
    const auto next = static_cast<std::size_t>(n);
    const double conductance = passes(cell, side);
    const bool full = active_[cell] != 0;
    const bool next_full = active_[next] != 0;
    if (side < kBelow) {
        return full || next_full ? conductance * (press(cell) - press(next)) : 0.0;
    }
    const std::size_t upper = side == kBelow ? cell : next;
    const std::size_t lower = side == kBelow ? next : cell;
    const double weight = step.weight * (active_[upper] != 0 ? 1.0 : loose(upper));
    const double drive = full || next_full ? press(upper) - press(lower) + weight : weight;
    return side == kBelow ? conductance * drive : -conductance * drive;
}

// Both sides of a face see the same flow to the last bit, so that each is computed once.
void RiseStepper::find_flows(const Step& step) {
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        for (std::size_t axis = 0; axis < 3; ++axis) {
            flow_[c][axis] = outflow(c, 2 * axis + 1, step);
        }
    }
}

// What a cell holds by what has flowed.
double RiseStepper::kept(std::size_t cell) const {
    double hold =
        content_[cell] - (active_[cell] != 0 ? solver_.opening_mm3(cell) * w_[cell] : 0.0);
    for (std::size_t axis = 0; axis < 3; ++axis) {
        const std::int32_t before = grid_.neighbor[cell][2 * axis];
        if (before >= 0) {
            hold += flow_[static_cast<std::size_t>(before)][axis];
        }
        hold -= flow_[cell][axis];
    }
    return hold;
}

// The least that a full cell must press with: what the air beside it does. Air below carries the
// foam in the cell.
double RiseStepper::least_w(std::size_t cell, const Step& step) const {
    double least = solver_.opening_mm3(cell) > 0.0 ? 0.0 : -kInfinity;
    for (std::size_t side = 0; side < 6; ++side) {
        const std::int32_t n = grid_.neighbor[cell][side];
        if (n >= 0 && is_air(static_cast<std::size_t>(n)) && passes(cell, side) > 0.0) {
            least = std::max(
                least, air_w(static_cast<std::size_t>(n)) - (side == kBelow ? step.weight : 0.0));
        }
    }
    return least;
}

// As a full cell: its pressure for what those beside it press with.
double RiseStepper::full_w(std::size_t cell, const Step& step) const {
    double sum = content_[cell] - step.density * grid_.volume_mm3[cell];
    double all = solver_.opening_mm3(cell);
    for (std::size_t side = 0; side < 6; ++side) {
        const std::int32_t n = grid_.neighbor[cell][side];
        if (n < 0) {
            continue;
        }
        const auto next = static_cast<std::size_t>(n);
        const double conductance = passes(cell, side);
        double drive = runs(next) ? press(next) : 0.0;
        if (side == kBelow) {
            drive -= step.weight;
        } else if (side == kAbove) {
            drive += step.weight * (active_[next] != 0 ? 1.0 : loose(next));
        }
        sum += conductance * drive;
        all += conductance;
    }
    return all > 0.0 ? sum / all : 0.0;
}

// As one that is not: its share.
double RiseStepper::open_fill(std::size_t cell, double air, const Step& step) const {
    double sum = content_[cell];
    double falls = 0.0;
    for (std::size_t side = 0; side < 6; ++side) {
        const std::int32_t n = grid_.neighbor[cell][side];
        if (n < 0) {
            continue;
        }
        const auto next = static_cast<std::size_t>(n);
        const double conductance = passes(cell, side);
        if (active_[next] != 0) {
            sum += conductance * (w_[next] - air);
        }
        if (side == kAbove && runs(next)) {
            sum += conductance * step.weight * (active_[next] != 0 ? 1.0 : loose(next));
        } else if (side == kBelow && runs(next)) {
            falls = conductance * step.weight;
        }
    }
    const double room = step.density * grid_.volume_mm3[cell];
    const double stuck = stuck_[cell];
    if (sum <= room * stuck) {
        return sum / room;
    }
    return (sum + falls * stuck / (1.0 - stuck)) / (room + falls / (1.0 - stuck));
}

// A full cell that presses less than the air beside it stops being full.
bool RiseStepper::leave(std::size_t cell, const Step& step, double rounding) {
    if (w_[cell] >= least_w(cell, step) - rounding) {
        return false;
    }
    const double fill = open_fill(cell, beside_w(cell), step);
    if (fill >= 1.0 - kTiny) {
        return false;
    }
    active_[cell] = 0;
    fill_[cell] = std::max(0.0, fill);
    w_[cell] = 0.0;
    join_air(cell);
    return true;
}

// Cell after cell from the top down, each put right for those beside it as they are by then; how
// many of them turned full or stopped being so.
std::size_t RiseStepper::relax(const Step& step, bool release) {
    std::vector<std::size_t> left(pockets_.size(), 0);
    double most = 0.0;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        most = active_[c] != 0 ? std::max(most, std::abs(w_[c])) : most;
        if (pocket_of_[c] >= 0) {
            ++left[static_cast<std::size_t>(pocket_of_[c])];
        }
    }
    std::size_t changed = 0;
    for (std::size_t c = grid_.size(); c-- > 0;) {
        if (!runs(c)) {
            continue;
        }
        if (active_[c] != 0) {
            w_[c] = full_w(c, step);
            changed += release && leave(c, step, kTiny * most) ? 1 : 0;
            continue;
        }
        fill_[c] = std::max(0.0, open_fill(c, air_w(c), step));
        const auto k = static_cast<std::size_t>(pocket_of_[c]);
        // Cut-off air never vanishes: its pressure rises until it holds.
        const bool may_go =
            pockets_[k].fixed || pockets_[k].open || pockets_[k].stray || left[k] > 1;
        if (fill_[c] > 1.0 + kTiny && may_go) {
            --left[k];
            const double air = air_w(c);
            active_[c] = 1;
            fill_[c] = 1.0;
            w_[c] = std::max(air, full_w(c, step));
            ++changed;
        }
    }
    follow(step, !release);
    return changed;
}

// What cells that are not full hold, for the pressures as they are. With `shut_dry`, where full
// cells only stay because none may leave, such a cell gives them no more than it has: nothing.
void RiseStepper::follow(const Step& step, bool shut_dry) {
    for (std::size_t c = grid_.size(); c-- > 0;) {
        if (is_air(c)) {
            const double fill = open_fill(c, air_w(c), step);
            if (shut_dry && fill < -kTiny) {
                front_[c] = kNowhere;
            }
            fill_[c] = std::max(0.0, fill);
        }
    }
}

// Foam that is not where it belongs yet.
double RiseStepper::misfit(const Step& step) {
    find_flows(step);
    double sum = 0.0;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (runs(c)) {
            sum += std::abs(kept(c) - step.density * grid_.volume_mm3[c] * fill_[c]);
        }
    }
    return sum;
}

// A cell that was full becomes one of the air beside it that presses most.
void RiseStepper::join_air(std::size_t cell) {
    double most = -kInfinity;
    for (const std::int32_t n : grid_.neighbor[cell]) {
        if (n >= 0 && is_air(static_cast<std::size_t>(n)) &&
            pocket_of_[static_cast<std::size_t>(n)] >= 0 &&
            air_w(static_cast<std::size_t>(n)) > most) {
            most = air_w(static_cast<std::size_t>(n));
            air_.of_cell[cell] = air_.of_cell[static_cast<std::size_t>(n)];
            pocket_of_[cell] = pocket_of_[static_cast<std::size_t>(n)];
        }
    }
}

double RiseStepper::beside_w(std::size_t cell) const {
    double most = -kInfinity;
    for (const std::int32_t n : grid_.neighbor[cell]) {
        if (n >= 0 && is_air(static_cast<std::size_t>(n))) {
            most = std::max(most, air_w(static_cast<std::size_t>(n)));
        }
    }
    return std::isinf(most) ? 0.0 : most;
}

}  // namespace cavigram
