// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_stepper.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <limits>

namespace cavigram {

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kPaPerKpa = 1e3;
constexpr double kPerMm = 1e-3;
// While sets still change, signs are enough.
constexpr double kRough = 1e-5;
constexpr double kTiny = 1e-9;  // of a cell, and of the highest pressure: rounding
constexpr double kSettled = 100.0;
constexpr int kMostSets = 40;
constexpr int kOnlyJoin = 15;
constexpr double kHeld = 2e-3;
// Where a front stands in its cell, as a share of it; and in one that nothing passes to.
constexpr double kMiddle = 0.5;
constexpr double kNowhere = 1e9;
constexpr int kMostHalvings = 3;
// So often a cell may leave the full ones within a step: air that has pushed its way to other air
// would do so without end, as the foam closes behind it.
constexpr std::uint8_t kMostLeaves = 3;
constexpr double kMostStuck = 0.95;
constexpr std::size_t kBelow = 4;  // sides as in RiseGrid::neighbor
constexpr std::size_t kAbove = 5;

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
        w_ = w;
        const Step step = step_of(seconds, e, viscosity_pa_s);
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
    finish(step_of(seconds, taken, viscosity_pa_s));
    if (getenv("FR_DEBUG")) { fprintf(stderr, "STEP t %.2f e %.3f filled %.5g open %.5g high %.4g settled %d mis %.4g sets %d pockets:", state_.time_s, taken, state_.filled_mm3, state_.open_air_mm3, state_.highest_pa, int(settled), state_.misplaced_mm3, state_.sets); for (auto& p : before_) fprintf(stderr, " [%d%d V%.4g p%.4g]", p.open, p.fixed, p.volume_mm3, p.gauge_pa); fprintf(stderr, "\n"); }
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
    std::fill(leaves_.begin(), leaves_.end(), std::uint8_t{0});
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
        std::size_t changed = relax(step, set < kOnlyJoin);
        if (changed > 0) {
            label(step.per_pa);
        }
        if (getenv("FR_DEBUG")) fprintf(stderr, "  set %d changed %zu misfit %.3g moved %d\n", set, changed, misfit(step), int(moved));
        if (getenv("FR_DEBUG2")) { std::vector<int> cnt(pockets_.size(),0); std::vector<double> em(pockets_.size(),0); for (size_t c=0;c<grid_.size();++c) if (pocket_of_[c]>=0) {cnt[pocket_of_[c]]++; em[pocket_of_[c]]+=grid_.volume_mm3[c]*(1-fill_[c]);} fprintf(stderr,"     "); for (size_t k=0;k<pockets_.size();++k) fprintf(stderr," [%d%d%d n%d V%.4g p%.4g N%.5g]",pockets_[k].open,pockets_[k].born,pockets_[k].fixed,cnt[k],em[k],pockets_[k].gauge_pa,pockets_[k].amount_pa_mm3/1e5); double hw=0; size_t hc=0; for(size_t c=0;c<grid_.size();++c) if(active_[c]&&w_[c]>hw){hw=w_[c];hc=c;} fprintf(stderr," high %.4g at %d %d %d\n",hw/step.per_pa,grid_.place[hc][0],grid_.place[hc][1],grid_.place[hc][2]); }
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

// What the air in a cell presses with, as w.
double RiseStepper::air_w(std::size_t cell) const {
    const std::int32_t node = air_.of_cell[cell];
    return node < 0 ? 0.0 : air_.x[static_cast<std::size_t>(node)];
}

// Liquid of a cell that does not run.
double RiseStepper::sticks(std::size_t cell) const {
    return options_.film_mm3.empty() ? 0.0 : std::min(options_.film_mm3[cell], content_[cell]);
}

// Share of the weight of a full cell with which one falls that is not full.
double RiseStepper::loose(std::size_t cell) const {
    return std::max(0.0, (fill_[cell] - stuck_[cell]) / (1.0 - stuck_[cell]));
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
        const double up =
            room / (room + solver_.conductance_mm3(c, kBelow) * step.weight * slope);
        air_.upward[c] = up * front_factor(c);
        gives_[c] = step.weight * k -
                    (1.0 - up) * (w_[static_cast<std::size_t>(n)] - air_w(c));
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
            sum += passes(c, kAbove) *
                   (active_[n] != 0 ? step.weight : runs(n) ? gives_[n] : 0.0);
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
                pocket.drop += passes(c, side) *
                               (side == kAbove ? step.weight : -gives_[c]);
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

// The least that a full cell must press with: what the air beside it does. Air below carries the
// foam in the cell.
double RiseStepper::least_w(std::size_t cell, const Step& step) const {
    double least = solver_.opening_mm3(cell) > 0.0 ? 0.0 : -kInfinity;
    for (std::size_t side = 0; side < 6; ++side) {
        const std::int32_t n = grid_.neighbor[cell][side];
        if (n >= 0 && is_air(static_cast<std::size_t>(n)) &&
            passes(cell, side) > 0.0) {
            least = std::max(least, air_w(static_cast<std::size_t>(n)) -
                                        (side == kBelow ? step.weight : 0.0));
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

// Cell after cell from the top down, each put right for those beside it; how many of them turned
// full or stopped being so.
std::size_t RiseStepper::relax(const Step& step, bool release) {
    std::vector<std::size_t> left(pockets_.size(), 0);
    for (const std::int32_t k : pocket_of_) {
        if (k >= 0) {
            ++left[static_cast<std::size_t>(k)];
        }
    }
    double most = 0.0;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        most = active_[c] != 0 ? std::max(most, std::abs(w_[c])) : most;
    }
    std::size_t changed = 0;
    for (std::size_t c = grid_.size(); c-- > 0;) {
        if (!runs(c)) {
            continue;
        }
        if (active_[c] != 0) {
            const double least = least_w(c, step);
            const double w = full_w(c, step);
            w_[c] = w;
            if (release && leaves_[c] < kMostLeaves && w < least - kTiny * most) {
                const double air = beside_w(c);
                const double fill = open_fill(c, air, step);
                if (fill < 1.0 - kTiny) {
                    active_[c] = 0;
                    fill_[c] = std::max(0.0, fill);
                    join_air(c);
                    w_[c] = 0.0;
                    ++leaves_[c];
                    ++changed;
                }
            }
            continue;
        }
        fill_[c] = std::max(0.0, open_fill(c, air_w(c), step));
        if (fill_[c] > 1.0 + kTiny) {
            const auto k = static_cast<std::size_t>(pocket_of_[c]);
            if (pockets_[k].fixed || pockets_[k].open || pockets_[k].stray || left[k] > 1) {
                --left[k];
                const double air = air_w(c);
                active_[c] = 1;
                fill_[c] = 1.0;
                w_[c] = std::max(air, full_w(c, step));
                ++changed;
            }
        }
    }
    follow(step, !release);
    return changed;
}

// What cells that are not full hold, for the pressures as they are.
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

// What is not put right yet, of all full cells.
double RiseStepper::misfit(const Step& step) const {
    double sum = 0.0;
    for (std::size_t c = 0; c < grid_.size(); ++c) {
        if (!runs(c)) {
            continue;
        }
        double hold = content_[c] - (active_[c] != 0 ? solver_.opening_mm3(c) * w_[c] : 0.0);
        for (std::size_t side = 0; side < 6; ++side) {
            hold -= outflow(c, side, step);
        }
        sum += std::abs(hold - step.density * grid_.volume_mm3[c] * fill_[c]);
    }
    return sum;
}

// A cell that was full becomes one of the air beside it that presses most.
void RiseStepper::join_air(std::size_t cell) {
    double most = -kInfinity;
    for (const std::int32_t n : grid_.neighbor[cell]) {
        if (n >= 0 && is_air(static_cast<std::size_t>(n)) && pocket_of_[static_cast<std::size_t>(n)] >= 0 &&
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
