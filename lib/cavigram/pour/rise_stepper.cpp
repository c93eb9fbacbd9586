// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_stepper.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace cavigram {

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kPaPerKpa = 1e3;
constexpr double kPerMm = 1e-3;
// While sets still change, signs are enough.
constexpr double kRough = 1e-5;
constexpr double kTiny = 1e-9;  // of a cell, and of the highest pressure: rounding
// From then on cells only join, so that the sets come to an end; what is wrong then is put right by
// the next step.
constexpr int kOnlyJoin = 25;
constexpr int kMostSets = 60;
// What a shut face still passes: without any, a pool under none but dry cells had no pressure.
constexpr double kShut = 1e-6;
// So often a cell may leave the set within a step: one that comes back for good reason is full.
constexpr std::uint8_t kMostLeaves = 2;
constexpr std::size_t kBelow = 4;  // sides as in RiseGrid::neighbor
constexpr std::size_t kAbove = 5;

// Of the height that a flow through this side falls, in cells.
double down(std::size_t side) {
    return side == kBelow ? 1.0 : side == kAbove ? -1.0 : 0.0;
}

}  // namespace

const StepperState& RiseStepper::advance(double seconds, double expansion, double viscosity_pa_s) {
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        // Never nearer than the middle of its cell: a cell would hold too much as one with a front
        // and press too little as a full one.
        front_[c] = std::clamp(share_[c], 0.5, 1.0);
    }
    const std::vector<std::uint8_t> active = active_;
    const std::vector<double> w = w_;
    double taken = expansion;
    const auto attempt = [&](double e) {
        active_ = active;
        w_ = w;
        const Step step = step_of(seconds, e, viscosity_pa_s);
        try_step(step);
        return highest_w() / step.per_pa;
    };
    state_.sets = 0;
    state_.iterations = 0;
    state_.held_back = false;
    const double most_pa = options_.most_kpa * kPaPerKpa;
    const double room = most_expansion();
    if (taken > room || attempt(taken) > most_pa) {
        // As much as it may: between no growth and all of it, by halves.
        constexpr double kClose = 1e-7;
        double low = std::min(taken, state_.expansion);
        double high = std::clamp(room, low, taken);
        while (high - low > kClose * low) {
            taken = 0.5 * (low + high);
            (attempt(taken) > most_pa ? high : low) = taken;
        }
        taken = low;
        static_cast<void>(attempt(taken));
        state_.held_back = true;
    }
    state_.time_s += seconds;
    state_.expansion = taken;
    finish(step_of(seconds, taken, viscosity_pa_s));
    return state_;
}

// To which the foam could swell if no more of it left, and all cut-off air had the highest
// pressure.
double RiseStepper::most_expansion() const {
    if (std::isinf(options_.most_kpa)) {
        return kInfinity;
    }
    double room = state_.filled_mm3 + state_.open_air_mm3;
    bool leaves = false;
    for (const Pocket& pocket : before_) {
        if (!pocket.open && !pocket.fixed) {
            room += pocket.volume_mm3 -
                    pocket.amount_pa_mm3 / (air_pa_ + options_.most_kpa * kPaPerKpa);
        }
    }
    for (const RiseOpening& opening : options_.openings) {
        leaves = leaves || active_[static_cast<std::size_t>(opening.cell)] != 0;
    }
    return leaves ? kInfinity : state_.expansion * room / state_.filled_mm3;
}

RiseStepper::Step RiseStepper::step_of(double seconds, double expansion,
                                       double viscosity_pa_s) const {
    Step step;
    step.seconds = seconds;
    step.density = 1.0 / expansion;
    step.per_pa = seconds * step.density / viscosity_pa_s;
    step.weight = step.per_pa * options_.liquid_kg_m3 * step.density * options_.gravity_m_s2 *
                  grid_.spacing_mm * kPerMm;
    return step;
}

double RiseStepper::highest_w() const {
    double highest = 0.0;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        highest = active_[c] != 0 ? std::max(highest, w_[c]) : highest;
    }
    return highest;
}

void RiseStepper::try_step(const Step& step) {
    std::fill(shut_.begin(), shut_.end(), std::uint8_t{0});
    std::fill(given_.begin(), given_.end(), 0.0);
    std::fill(leaves_.begin(), leaves_.end(), std::uint8_t{0});
    label();
    settle(step);
}

void RiseStepper::settle(const Step& step) {
    const auto solve = [&](double relative) {
        set_up_fronts(step);
        set_up(step);
        set_up_air(step);
        ++state_.sets;
        state_.iterations += solver_
                                 .solve(active_, right_, relative, w_,
                                        options_.sharp_front ? &front_ : nullptr, &air_)
                                 .iterations;
        return take_air(step);
    };
    bool fine = false;
    for (int set = 0; set < kMostSets; ++set) {
        context_.check_stop();
        const bool moved = solve(fine ? options_.relative : kRough);
        const bool goes_back = set < kOnlyJoin;
        const std::size_t dry = pour_down(step, goes_back ? Taps::both_ways : Taps::only_open);
        const std::size_t changed = change_set(step, goes_back);
        if (changed > 0) {
            label();
        }
        if (changed == 0 && dry == 0 && !moved) {
            if (fine) {
                state_.settled = true;
                return;
            }
            fine = true;
        } else if (set >= kOnlyJoin / 2) {
            fine = true;
        }
    }
    // Wrong in some cells, but of one piece: what flows out here flows in there.
    state_.settled = false;
    static_cast<void>(solve(options_.relative));
    static_cast<void>(pour_down(step, Taps::as_they_are));
}

// What the air in a cell presses with, as w.
double RiseStepper::air_w(std::size_t cell) const {
    const std::int32_t node = air_.of_cell[cell];
    return node < 0 ? 0.0 : air_.x[static_cast<std::size_t>(node)];
}

// Liquid of a cell that does not run.
double RiseStepper::sticks(std::size_t cell) const {
    return options_.film_mm3.empty() ? 0.0 : std::min(options_.film_mm3[cell], content_[cell]);
}

// Fronts above full cells. With the conductance T to the front and the content m of its cell before
// the step, chi = (m + q)/(density V):
//     q = T (w_c - w_n - weight (1/2 + chi)) = T' (w_c - w_n - weight (1/2 + m/(density V)))
//     T' = T/(1 + T weight/(density V))
// so that stiff gravity asks for a level, not for a flow without end.
void RiseStepper::set_up_fronts(const Step& step) {
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        const std::int32_t n = grid_.neighbor[c][kBelow];
        if (!is_air(c) || n < 0 || active_[static_cast<std::size_t>(n)] == 0) {
            continue;
        }
        const double room = step.density * grid_.volume_mm3[c];
        const double to_front = solver_.conductance_mm3(c, kBelow) / far(c);
        lift_[c] = step.weight * (0.5 + (content_[c] - sticks(c)) / room);
        air_.upward[c] =
            (shut_[c] != 0 ? kShut : 1.0) / (far(c) * (1.0 + to_front * step.weight / room));
    }
}

// What rises into a cell from the full one below it; less than 0: what it gives.
double RiseStepper::rise_into(std::size_t cell, std::size_t below) const {
    return solver_.conductance_mm3(cell, kBelow) * air_.upward[cell] *
           (w_[below] - air_w(cell) - lift_[cell]);
}

// Growth, gravity and what dry cells give: right sides of full cells.
void RiseStepper::set_up(const Step& step) {
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (active_[c] == 0) {
            continue;
        }
        double sum = content_[c] - step.density * grid_.volume_mm3[c];
        for (const std::size_t side : {kBelow, kAbove}) {
            const std::int32_t n = grid_.neighbor[c][side];
            if (n < 0) {
                continue;
            }
            const auto next = static_cast<std::size_t>(n);
            const double conductance = solver_.conductance_mm3(c, side);
            if (side == kBelow || active_[next] != 0) {
                sum -= down(side) * conductance * step.weight;
            } else if (conductance > 0.0) {
                sum += given_[next] + conductance * air_.upward[next] * lift_[next];
            }
        }
        right_[c] = sum;
    }
}

// Boyle's law of each pocket, linear about its last pressure g:
//     (p0 + g) V + dt p0 C g = N,   V = sum of (room - liquid/density), of which foam takes its
//     flow
void RiseStepper::set_up_air(const Step& step) {
    for (Pocket& pocket : pockets_) {
        pocket.room_mm3 = pocket.liquid_mm3 = pocket.drop = 0.0;
    }
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (air_.of_cell[c] < 0) {
            continue;
        }
        Pocket& pocket = pockets_[static_cast<std::size_t>(air_.of_cell[c])];
        pocket.room_mm3 += grid_.volume_mm3[c];
        pocket.liquid_mm3 += content_[c];
        for (const std::size_t side : {kBelow, kAbove}) {
            const std::int32_t n = grid_.neighbor[c][side];
            if (n < 0 || active_[static_cast<std::size_t>(n)] == 0) {
                continue;
            }
            const double conductance = solver_.conductance_mm3(c, side);
            if (side == kAbove) {
                pocket.drop += conductance * step.weight;
            } else if (conductance > 0.0) {
                pocket.drop -= given_[c] + conductance * air_.upward[c] * lift_[c];
            }
        }
    }
    for (std::size_t k = 0; k < pockets_.size(); ++k) {
        const Pocket& pocket = pockets_[k];
        if (pocket.fixed) {
            air_.diagonal[k] = 1.0;
            air_.right[k] = 0.0;
            continue;
        }
        const double absolute = air_pa_ + pocket.gauge_pa;
        const double leak = step.seconds * air_pa_ * pocket.vent_mm3_pa_s;
        const double volume = std::max((pocket.amount_pa_mm3 - leak * pocket.gauge_pa) / absolute,
                                       kTiny * grid_.spacing_mm);
        air_.diagonal[k] = step.density * (volume + leak) / (absolute * step.per_pa);
        air_.right[k] =
            step.density * (pocket.amount_pa_mm3 + volume * pocket.gauge_pa) / absolute -
            step.density * pocket.room_mm3 + pocket.liquid_mm3 + pocket.drop;
    }
}

// Whether any pressure of the air has moved.
bool RiseStepper::take_air(const Step& step) {
    constexpr double kLeastShare =
        0.1;  // of the room's pressure that air keeps when it is drawn on
    constexpr double kStill_pa = 1e-2;
    bool moved = false;
    for (std::size_t k = 0; k < pockets_.size(); ++k) {
        Pocket& pocket = pockets_[k];
        if (pocket.fixed) {
            air_.x[k] = 0.0;
            continue;
        }
        const double gauge = std::max(air_.x[k] / step.per_pa, (kLeastShare - 1.0) * air_pa_);
        moved = moved ||
                std::abs(gauge - pocket.gauge_pa) > kStill_pa + 1e-6 * std::abs(pocket.gauge_pa);
        pocket.gauge_pa = gauge;
    }
    return moved;
}

// What cells that are not full hold at the end, from the top down; how many of them turned dry, or
// wet again, or gave something else than before.
std::size_t RiseStepper::pour_down(const Step& step, Taps taps) {
    std::fill(falls_.begin(), falls_.end(), 0.0);
    std::size_t changed = 0;
    for (std::size_t c = grid_.size(); c-- > 0;) {
        if (!is_air(c)) {
            continue;
        }
        double hold = content_[c] + falls_[c];
        for (std::size_t side = 0; side < 6; ++side) {
            const std::int32_t n = grid_.neighbor[c][side];
            if (side != kBelow && n >= 0 && active_[static_cast<std::size_t>(n)] != 0) {
                hold += solver_.conductance_mm3(c, side) *
                        ((w_[static_cast<std::size_t>(n)] - air_w(c)) / far(c) -
                         down(side) * step.weight);
            }
        }
        changed += fall(c, hold, step, taps);
        next_[c] = hold;
    }
    return changed;
}

// What a cell that is not full gives to the one below it, and takes from it.
std::size_t RiseStepper::fall(std::size_t cell, double& hold, const Step& step, Taps taps) {
    const std::int32_t n = grid_.neighbor[cell][kBelow];
    const double conductance = solver_.conductance_mm3(cell, kBelow);
    if (n < 0 || !(conductance > 0.0)) {
        return 0;
    }
    const auto below = static_cast<std::size_t>(n);
    const double loose = std::max(0.0, hold - sticks(cell));
    if (active_[below] == 0) {
        shut_[cell] = 0;
        given_[cell] = 0.0;
        // Under a full cell it hangs on that: the front itself goes down.
        const std::int32_t above = grid_.neighbor[cell][kAbove];
        if (above >= 0 && active_[static_cast<std::size_t>(above)] != 0) {
            return 0;
        }
        const double falls = std::min(conductance * step.weight, loose);
        hold -= falls;
        falls_[below] += falls;
        return 0;
    }
    const double rounding = kTiny * step.density * grid_.volume_mm3[cell];
    if (shut_[cell] != 0) {
        hold += rise_into(cell, below) - given_[cell];
        if (taps == Taps::as_they_are) {
            return 0;
        }
        // Open, it would give less.
        const double open = conductance / far(cell) * (w_[below] - air_w(cell) - 0.5 * step.weight);
        if (open > -given_[cell] + rounding) {
            shut_[cell] = 0;
            given_[cell] = 0.0;
            return 1;
        }
        const bool other = std::abs(loose - given_[cell]) > rounding;
        given_[cell] = loose;
        return other ? 1 : 0;
    }
    hold += rise_into(cell, below);
    if (taps == Taps::both_ways && hold < sticks(cell) - rounding) {
        shut_[cell] = 1;
        given_[cell] = loose;
        return 1;
    }
    return 0;
}

// Whether a full cell presses less than the air beside it.
bool RiseStepper::sucks(std::size_t cell, const Step& step, double below) const {
    if (solver_.opening_mm3(cell) > 0.0 && w_[cell] < -below) {
        return true;
    }
    for (std::size_t side = 0; side < 6; ++side) {
        const std::int32_t n = grid_.neighbor[cell][side];
        if (n < 0 || !is_air(static_cast<std::size_t>(n)) ||
            !(solver_.conductance_mm3(cell, side) > 0.0)) {
            continue;
        }
        const auto next = static_cast<std::size_t>(n);
        // Air below carries the foam in the cell, as far as its front. A cell above that still
        // holds foam feeds it.
        if (side == kAbove && shut_[next] == 0) {
            continue;
        }
        const double carried = side == kBelow ? far(next) * step.weight : 0.0;
        if (w_[cell] - air_w(next) + carried < -below) {
            return true;
        }
    }
    return false;
}

// Cells that leave the set of full ones, and cells that join it.
std::size_t RiseStepper::change_set(const Step& step, bool release) {
    double most = 0.0;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        most = active_[c] != 0 ? std::max(most, std::abs(w_[c])) : most;
    }
    std::vector<std::size_t> leave;
    std::vector<std::size_t> join;
    std::vector<std::size_t> left(pockets_.size(), 0);
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (active_[c] != 0) {
            if (release && leaves_[c] < kMostLeaves && sucks(c, step, kTiny * most)) {
                leave.push_back(c);
            }
        } else if (runs(c)) {
            if (next_[c] > step.density * grid_.volume_mm3[c] * (1.0 + kTiny)) {
                join.push_back(c);
            } else {
                ++left[static_cast<std::size_t>(pocket_of_[c])];
            }
        }
    }
    // A cell that holds too much draws more from those beside it than it can: while cells join, a
    // low pressure says nothing.
    if (!join.empty()) {
        leave.clear();
    }
    std::size_t changed = leave.size();
    for (const std::size_t c : join) {
        // Cut-off air never vanishes: its pressure rises until it holds.
        const auto k = static_cast<std::size_t>(pocket_of_[c]);
        if (left[k] > 0 || pockets_[k].fixed || pockets_[k].open) {
            active_[c] = 1;
            shut_[c] = 0;
            given_[c] = 0.0;
            w_[c] = air_w(c);
            ++changed;
        }
    }
    for (const std::size_t c : leave) {
        active_[c] = 0;
        w_[c] = 0.0;
        ++leaves_[c];
    }
    return changed;
}

// What leaves a full cell by a side.
double RiseStepper::outflow(std::size_t cell, std::size_t side, const Step& step) const {
    const std::int32_t n = grid_.neighbor[cell][side];
    if (n < 0) {
        return 0.0;
    }
    const auto next = static_cast<std::size_t>(n);
    const double conductance = solver_.conductance_mm3(cell, side);
    if (active_[next] != 0) {
        return conductance * (w_[cell] - w_[next] + down(side) * step.weight);
    }
    if (side == kAbove) {
        return conductance > 0.0 ? rise_into(next, cell) - given_[next] : 0.0;
    }
    return conductance * ((w_[cell] - air_w(next)) / far(next) + down(side) * step.weight);
}

}  // namespace cavigram
