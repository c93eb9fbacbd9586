// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_stepper.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "cavigram/pour/rise_stepper_detail.h"

namespace cavigram {

using detail::kAbove;
using detail::kBelow;
using detail::kMiddle;
using detail::kTiny;

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kPaPerKpa = 1e3;
constexpr double kPerMm = 1e-3;
constexpr double kRough = 1e-5;  // while sets still change, signs are enough
// What may be left, over what was poured, for each digit of a solve that is left.
constexpr double kSettled = 100.0;
constexpr int kMostSets = 40;
// From then on cells only join. Air that pushes its way through a thin layer of foam, which closes
// behind it, would else do so without end; so the layer holds until the next step.
constexpr int kOnlyJoin = 15;
constexpr double kHeld = 2e-3;  // of all foam that such layers may keep from where it belongs
constexpr int kMostHalvings = 3;
constexpr double kAlike = 3.0;  // steps: in time and viscosity
// Share of a cell that sticks, at most: where a film alone fills the cell, what runs into it runs.
constexpr double kMostStuck = 0.95;

}  // namespace

const StepperState& RiseStepper::advance(double seconds, double expansion, double viscosity_pa_s) {
    state_.sets = 0;
    state_.iterations = 0;
    state_.held_back = false;
    state_.settled = true;
    take_step(seconds, expansion, viscosity_pa_s, kMostHalvings);
    return state_;
}

// Where the sets do not come to an end, in two steps of half the length.
void RiseStepper::take_step(double seconds, double expansion, double viscosity_pa_s, int halvings) {
    const std::vector<std::uint8_t> active = active_;
    const std::vector<double> w = w_;
    bool settled = true;
    const auto attempt = [&](double e) {
        active_ = active;
        const Step step = step_of(seconds, e, viscosity_pa_s);
        // About the pressures of the step before; they tell nothing of a step much unlike it.
        const double ratio = per_pa_ > 0.0 ? step.per_pa / per_pa_ : 1.0;
        const double scale = ratio > 1.0 / kAlike && ratio < kAlike ? ratio : 1.0;
        for (std::size_t c = 0; c < w_.size(); ++c) {
            w_[c] = scale * w[c];
        }
        settled = try_step(step);
        return highest_w() / step.per_pa;
    };
    double taken = expansion;
    bool held_back = false;
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
        held_back = true;
    }
    if (!settled && halvings > 0) {
        active_ = active;
        w_ = w;
        pockets_ = before_;
        pocket_of_ = pocket_before_;
        const double half = 0.5 * (state_.expansion + expansion);
        take_step(0.5 * seconds, half, viscosity_pa_s, halvings - 1);
        take_step(0.5 * seconds, expansion, viscosity_pa_s, halvings - 1);
        return;
    }
    state_.settled = state_.settled && settled;
    state_.held_back = state_.held_back || held_back;
    state_.time_s += seconds;
    state_.expansion = taken;
    const Step step = step_of(seconds, taken, viscosity_pa_s);
    per_pa_ = step.per_pa;
    finish(step);
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

bool RiseStepper::try_step(const Step& step) {
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        const double room = step.density * grid_.volume_mm3[c];
        front_[c] = kMiddle;
        fill_[c] = active_[c] != 0 ? 1.0 : content_[c] / room;
        stuck_[c] = std::min(kMostStuck, sticks(c) / room);
    }
    label(step.per_pa);
    follow(step, false);
    return settle(step);
}

bool RiseStepper::settle(const Step& step) {
    bool fine = false;
    double before = kInfinity;
    for (int set = 0; set < kMostSets; ++set) {
        context_.check_stop();
        set_up_fronts(step);
        set_up(step);
        set_up_air(step);
        ++state_.sets;
        state_.iterations +=
            solver_.solve(active_, right_, fine ? options_.relative : kRough, w_, &front_, &air_)
                .iterations;
        const bool moved = take_air(step);
        const std::size_t changed = relax(step, set < kOnlyJoin);
        if (changed > 0) {
            label(step.per_pa);
        }
        const double left = misfit(step) / poured_mm3_;
        if (changed == 0 && !moved && left < kSettled * options_.relative) {
            return true;
        }
        if (changed == 0 && set > kOnlyJoin && left > 0.5 * before) {
            return left < kHeld;
        }
        before = left;
        fine = changed == 0;
    }
    return false;
}

// Liquid of a cell that does not run.
double RiseStepper::sticks(std::size_t cell) const {
    return options_.film_mm3.empty() ? 0.0 : std::min(options_.film_mm3[cell], content_[cell]);
}

// Fronts above full cells. What such a cell c holds at the end depends on the pressure of the one
// below, n:
//     density V chi = ... + T (w_n - w_c) - T weight k(chi)
// so that what it gives, T (w_c - w_n + weight k), changes with w_n by -T up only,
//     up = density V/(density V + T weight k')
// Stiff gravity asks for a level, not for a flow without end.
void RiseStepper::set_up_fronts(const Step& step) {
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        const std::int32_t n = grid_.neighbor[c][kBelow];
        if (!is_air(c) || n < 0 || active_[static_cast<std::size_t>(n)] == 0) {
            continue;
        }
        const double room = step.density * grid_.volume_mm3[c];
        const double k = loose(c);
        const double slope = k > 0.0 ? 1.0 / (1.0 - stuck_[c]) : 0.0;
        const double up = room / (room + solver_.conductance_mm3(c, kBelow) * step.weight * slope);
        air_.upward[c] = up * front_factor(c);
        gives_[c] = step.weight * k - (1.0 - up) * (w_[static_cast<std::size_t>(n)] - air_w(c));
    }
}

// Growth, gravity and what cells above give: right sides of full cells.
void RiseStepper::set_up(const Step& step) {
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (active_[c] == 0) {
            continue;
        }
        double sum = content_[c] - step.density * grid_.volume_mm3[c];
        const std::int32_t above = grid_.neighbor[c][kAbove];
        if (above >= 0) {
            const auto n = static_cast<std::size_t>(above);
            sum += passes(c, kAbove) * (active_[n] != 0 ? step.weight : runs(n) ? gives_[n] : 0.0);
        }
        if (grid_.neighbor[c][kBelow] >= 0) {
            sum -= passes(c, kBelow) * step.weight;
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
            if (n >= 0 && active_[static_cast<std::size_t>(n)] != 0) {
                pocket.drop += passes(c, side) * (side == kAbove ? step.weight : -gives_[c]);
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

}  // namespace cavigram
