// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/pour/channel_flow.h"
#include "cavigram/pour/rise_places_detail.h"
#include "cavigram/pour/rise_stepper.h"
#include "cavigram/pour/rise_still.h"
#include "cavigram/venting/pockets.h"

namespace cavigram {

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kPerMm = 1e-3;
// So little of the cavity without foam is full: what is left are seams between cells.
constexpr double kFull = 2e-3;
// Foam in the wrong cells, over the cavity, that steps may leave.
constexpr double kMisplaced = 0.01;
// Air of fewer cells than this can't be told from a seam.
constexpr double kSeamCells = 12.0;

// All that is known while one rise is followed.
class Follower {
  public:
    Follower(const RiseGrid& grid, const RiseRequest& request, const RunContext& context)
        : grid_(grid),
          request_(request),
          context_(context),
          finder_(grid),
          course_(request.course),
          start_(liquid_at_rest(grid, finder_, request.start)) {
        find_openings();
        rise_.cells = grid.size();
        rise_.cell_mm = grid.spacing_mm;
        rise_.gel_s = course_.gel_s();
        rise_.gel_guessed = course_.gel_guessed();
        rise_.unreached_mm3 = start_.unreached_mm3;
        rise_.at_holes.resize(request.holes.size());
        smallest_mm3_ =
            std::max(request.smallest_air_mm3, kSeamCells * std::pow(grid.spacing_mm, 3));
        most_expansion_ = course_.expansion(course_.gel_s());
    }

    Rise run() {
        rise_.gravity_number = gravity_number_of(grid_, request_);
        rise_.level = request_.level.value_or(level_for(rise_.gravity_number));
        switch (rise_.level) {
            case RiseLevel::still:
                still();
                break;
            case RiseLevel::stepped:
                if (!stepped()) {
                    rise_.steps_failed = true;
                    follow_nearer();
                }
                break;
            case RiseLevel::viscous:
                viscous();
                break;
        }
        std::stable_sort(
            rise_.sealed.begin(), rise_.sealed.end(),
            [](const RiseAir& a, const RiseAir& b) { return a.volume_mm3 > b.volume_mm3; });
        reach_holes();
        pack();
        detail::late_places(grid_, rise_);
        rise_.seams = meeting_seams(grid_, rise_.cell_arrival_s);
        detail::unfilled_places(grid_, start_.unreached, smallest_mm3_, rise_);
        return std::move(rise_);
    }

  private:
    void find_openings() {
        for (const RiseHole& hole : request_.holes) {
            const std::int32_t cell = finder_.nearest(hole.at_mm);
            if (cell < 0) {
                throw InvalidInput("A hole lies off the part; give it a place on the surface.");
            }
            openings_.push_back({cell, hole_conductance_mm3(hole.width_mm, hole.length_mm)});
        }
        if (openings_.empty()) {
            throw InvalidInput(
                "The mold has no opening while the foam rises; allow a vent, or leave the pour "
                "hole open through a drilled cover.");
        }
    }

    [[nodiscard]] double time_at(double expansion) const {
        return std::min(course_.reached_s(expansion), course_.gel_s());
    }

    void add_sealed(const SealedAir& air, double time_s) {
        rise_.sealed.push_back({air.at_mm, air.volume_mm3,
                                squeezed_volume_mm3(air.volume_mm3, request_.packing_kpa), time_s});
    }

    void still() {
        const StillRise still = still_rise(grid_, openings_, smallest_mm3_, start_.piece);
        const std::vector<double>& liquid = start_.piece_liquid_mm3;
        // When a piece holds so much foam; infinity if it never does.
        const auto when = [&](double foam_mm3, std::int32_t piece) {
            const double expansion = foam_mm3 / liquid[static_cast<std::size_t>(piece)];
            return expansion <= most_expansion_ ? time_at(expansion) : kInfinity;
        };
        for (std::size_t i = 0; i < still.sealed.size(); ++i) {
            const double t = when(still.sealed_at_mm3[i], still.sealed_piece[i]);
            if (!std::isinf(t)) {
                add_sealed(still.sealed[i], t);
            }
        }
        for (std::size_t c = 0; c < grid_.size(); ++c) {
            rise_.cell_arrival_s.push_back(std::isinf(still.arrival_mm3[c])
                                               ? kInfinity
                                               : when(still.arrival_mm3[c], start_.piece[c]));
        }
        double full_s = 0.0;
        double foam = 0.0;
        for (std::size_t p = 0; p < liquid.size(); ++p) {
            const double room = still.room_mm3[p];
            const double in_piece = std::min(room, liquid[p] * most_expansion_);
            foam += in_piece;
            room_mm3_ += room;
            if (room > 0.0) {
                left_liquid_mm3_ += liquid[p];
                full_s = in_piece < room * (1.0 - kFull)
                             ? kInfinity
                             : std::max(full_s, time_at(in_piece / liquid[p]));
                rise_.missing_mm3 += room - in_piece;
            }
        }
        if (!std::isinf(full_s) && room_mm3_ > 0.0) {
            rise_.full_s = full_s;
            rise_.missing_mm3 = 0.0;
        }
        rise_.filled_share = foam / request_.cavity_mm3;
        still_moments(still);
    }

    // Evenly in the foam's volume. The weight of foam as high as the part is full drives the level.
    void still_moments(const StillRise& still) {
        const double height_m = grid_.count[2] * grid_.spacing_mm * kPerMm;
        const double last = std::min(most_expansion_, std::max(1.0, room_mm3_ / left_liquid_mm3_));
        for (int i = 0; i <= request_.moments; ++i) {
            const double e = 1.0 + (last - 1.0) * i / request_.moments;
            double foam = 0.0;
            for (std::size_t p = 0; p < start_.piece_liquid_mm3.size(); ++p) {
                foam += std::min(still.room_mm3[p], start_.piece_liquid_mm3[p] * e);
            }
            const double share = foam / request_.cavity_mm3;
            const double kpa =
                kPerMm * request_.liquid_kg_m3 / e * kGravity_m_s2 * height_m * share;
            rise_.moments.push_back({time_at(e), share, kpa});
            rise_.flow_kpa = std::max(rise_.flow_kpa, kpa);
        }
        set_force(rise_.flow_kpa * outline_mm2());
    }

    void viscous() {
        ViscousOptions options;
        options.openings = openings_;
        options.smallest_air_mm3 = smallest_mm3_;
        options.relative = 1e-8;
        options.left_out = start_.unreached;
        ViscousRise rise(grid_, start_.liquid_mm3, options, context_);
        const double liquid = request_.start.liquid_mm3;
        const double cavity = grid_.total_mm3();
        const double step = (std::min(most_expansion_, cavity / liquid) - 1.0) / request_.moments;
        double e = 1.0;
        std::size_t known = 0;
        bool full = false;
        // Cut-off air makes the cavity smaller, foam that leaves makes it larger: steps go on until
        // it is full, each no farther than the room that is left.
        for (int i = 0; i < 3 * request_.moments && e < most_expansion_ && !full; ++i) {
            context_.report("rise", std::min(1.0, (e - 1.0) / (cavity / liquid - 1.0)));
            const ViscousState& before = rise.state();
            const double room =
                before.filled_mm3 > 0.0 ? before.open_air_mm3 / before.filled_mm3 : 1.0;
            e = std::min({most_expansion_, e + step, e * (1.0 + room)});
            const ViscousState& state = rise.advance(e);
            rise_.mass_error = std::max(rise_.mass_error, std::abs(state.mass_error));
            for (; known < rise.sealed().size(); ++known) {
                add_sealed(rise.sealed()[known], time_at(rise.sealed()[known].expansion));
            }
            full = state.open_air_mm3 <= kFull * cavity;
            note_moment(rise, e);
        }
        left_liquid_mm3_ = liquid - rise.kept_mm3();
        take_end(rise, full, rise.state().open_air_mm3);
        if (full) {
            rise_.full_s = time_at(e);
        }
        rise_.cell_arrival_s.reserve(grid_.size());
        for (std::size_t c = 0; c < grid_.size(); ++c) {
            // What is left open once it is full are seams, filled by then.
            const double expansion =
                full && !rise.cut_off(c) ? std::min(e, rise.arrival()[c]) : rise.arrival()[c];
            rise_.cell_arrival_s.push_back(std::isinf(expansion) ? kInfinity : time_at(expansion));
        }
    }

    // With what leaves by the holes, and how full it is, as both ways of following it tell.
    template <class Followed>
    void take_end(const Followed& rise, bool full, double open_air_mm3) {
        rise_.filled_share = rise.state().filled_mm3 / request_.cavity_mm3;
        rise_.missing_mm3 = full ? 0.0 : open_air_mm3;
        room_mm3_ = rise.state().filled_mm3;
        for (std::size_t i = 0; i < rise.left_mm3().size(); ++i) {
            left_liquid_mm3_ -= rise.left_mm3()[i];
            rise_.at_holes[i].flash_g = rise.left_mm3()[i] * request_.liquid_kg_m3 * kGramsPerMm3;
        }
    }

    // No gas presses harder than when all of it is packed: beyond, foam does not flow but packs.
    [[nodiscard]] double most_kpa() const { return std::max(1.0, request_.packing_kpa); }

    // Solids of their own without an opening keep the air that they have.
    void leave_out_closed(std::vector<std::uint8_t>& left_out) {
        std::vector<std::uint8_t> open(start_.piece_liquid_mm3.size(), 0);
        for (const RiseOpening& opening : openings_) {
            const std::int32_t piece = start_.piece[static_cast<std::size_t>(opening.cell)];
            if (piece >= 0) {
                open[static_cast<std::size_t>(piece)] = 1;
            }
        }
        std::vector<SealedAir> air(open.size());
        for (std::size_t c = 0; c < grid_.size(); ++c) {
            const auto piece = static_cast<std::size_t>(start_.piece[c]);
            if (start_.piece[c] >= 0 && open[piece] == 0) {
                left_out[c] = 1;
                air[piece].volume_mm3 += grid_.volume_mm3[c] - start_.liquid_mm3[c];
                air[piece].at_mm = grid_.center_mm(c);  // the last is the highest
            }
        }
        for (std::size_t p = 0; p < open.size(); ++p) {
            if (open[p] == 0) {
                add_sealed(air[p], course_.begin_s());
                left_liquid_mm3_ -= start_.piece_liquid_mm3[p];
            }
        }
    }

    // Below 1 viscosity rules, from 1 on gravity.
    void follow_nearer() {
        rise_.moments.clear();
        rise_.sealed.clear();
        left_liquid_mm3_ = 0.0;
        rise_.flow_kpa = rise_.opening_force_n = rise_.mass_error = 0.0;
        if (rise_.gravity_number >= 1.0) {
            rise_.level = RiseLevel::still;
            still();
        } else {
            rise_.level = RiseLevel::viscous;
            viscous();
        }
    }

    StepperOptions stepper_options() {
        StepperOptions options;
        options.openings = openings_;
        for (const RiseHole& hole : request_.holes) {
            options.holes.push_back({hole.width_mm, hole.length_mm});
        }
        options.smallest_air_mm3 = smallest_mm3_;
        options.liquid_kg_m3 = request_.liquid_kg_m3;
        options.air_kpa = request_.air_kpa;
        options.relative = 1e-8;
        options.film_mm3 = start_.film_mm3;
        options.left_out = start_.unreached;
        leave_out_closed(options.left_out);
        return options;
    }

    // False: the steps did not settle, and nothing is to be made of them.
    bool stepped() {
        RiseStepper rise(grid_, start_.liquid_mm3, stepper_options(), context_);
        const double liquid = request_.start.liquid_mm3;
        const double cavity = grid_.total_mm3();
        constexpr int kSteps = 60;
        constexpr double kMostGrowth = 1.1;  // within a step
        const double step = (std::min(most_expansion_, cavity / liquid) - 1.0) / kSteps;
        double e = 1.0;
        double t = course_.begin_s();
        bool full = false;
        for (int i = 1; i <= 4 * kSteps && e < most_expansion_ && !full; ++i) {
            context_.report("rise", std::min(1.0, (e - 1.0) / (cavity / liquid - 1.0)));
            const StepperState& before = rise.state();
            // Not to the last cell: that has nowhere to go with what is too much for it.
            const double room = (before.open_air_mm3 - 0.5 * kFull * cavity) / before.filled_mm3;
            e = std::min({most_expansion_, e + step, e * kMostGrowth, e * (1.0 + room)});
            const double next = time_at(e);
            if (!(next > t)) {
                continue;
            }
            // Just before it gels it is as thick as half a step earlier.
            const StepperState& state =
                rise.advance(next - t, e, course_.viscosity_pa_s(0.5 * (t + next)));
            t = next;
            rise_.mass_error = std::max(rise_.mass_error, std::abs(state.mass_error));
            full = state.open_air_mm3 <= kFull * cavity;
            if (!state.settled || state.misplaced_mm3 > kMisplaced * cavity) {
                return false;
            }
            const double kpa = std::min(state.highest_pa * kPerMm, most_kpa());
            rise_.flow_kpa = std::max(rise_.flow_kpa, kpa);
            set_force(force_kn_mm2(rise.pressure_pa(), most_kpa() * 1e3));
            if (i * request_.moments % kSteps < request_.moments || full) {
                rise_.moments.push_back({t, state.filled_mm3 / request_.cavity_mm3, kpa});
            }
        }
        left_liquid_mm3_ += liquid;
        take_end(rise, full, rise.state().open_air_mm3);
        for (const StepperAir& air : rise.sealed()) {
            add_sealed(air.cut_off, course_.begin_s() + air.time_s);
        }
        if (full) {
            rise_.full_s = t;
        }
        for (std::size_t c = 0; c < grid_.size(); ++c) {
            const double arrival = course_.begin_s() + rise.arrival_s()[c];
            rise_.cell_arrival_s.push_back(full && !rise.cut_off(c) ? std::min(t, arrival)
                                                                    : arrival);
        }
        if (!start_.film_mm3.empty()) {
            rise_.cell_arrival_s = detail::body_arrival(grid_, rise_.cell_arrival_s);
        }
        return true;
    }

    void note_moment(ViscousRise& rise, double expansion) {
        const double t = time_at(expansion);
        // At the gel itself the viscosity is infinite, and nothing flows.
        const double drive = course_.growth_per_s(t) > 0.0
                                 ? course_.viscosity_pa_s(t) * course_.growth_per_s(t)
                                 : 0.0;
        RiseMoment moment{t, rise.state().filled_mm3 / request_.cavity_mm3, 0.0};
        if (drive > 0.0) {
            const std::vector<double> pressure = rise.pressure_pa(drive);
            const double most_pa = most_kpa() * 1e3;
            double highest = 0.0;
            for (const double p : pressure) {
                highest = std::max(highest, std::min(p, most_pa));
            }
            moment.pressure_kpa = highest * 1e-3;
            set_force(force_kn_mm2(pressure, most_pa));
        }
        rise_.flow_kpa = std::max(rise_.flow_kpa, moment.pressure_kpa);
        rise_.moments.push_back(moment);
    }

    // Pressure in kPa times area in mm2 is mN.
    void set_force(double kpa_mm2) {
        rise_.opening_force_n = std::max(rise_.opening_force_n, kpa_mm2 * 1e-3);
    }

    // For each upright column of cells the highest pressure in it, times its section.
    [[nodiscard]] double force_kn_mm2(const std::vector<double>& pressure_pa,
                                      double most_pa) const {
        std::vector<double> highest(columns(), 0.0);
        for (std::size_t c = 0; c < grid_.size(); ++c) {
            double& p = highest[column_of(c)];
            p = std::max(p, std::min(pressure_pa[c], most_pa) * section_share(c));
        }
        const double sum = std::accumulate(highest.begin(), highest.end(), 0.0);
        return sum * 1e-3 * grid_.spacing_mm * grid_.spacing_mm;
    }
    [[nodiscard]] std::size_t columns() const {
        return static_cast<std::size_t>(grid_.count[0]) * static_cast<std::size_t>(grid_.count[1]);
    }
    [[nodiscard]] std::size_t column_of(std::size_t c) const {
        return static_cast<std::size_t>(grid_.place[c][0]) +
               static_cast<std::size_t>(grid_.count[0]) *
                   static_cast<std::size_t>(grid_.place[c][1]);
    }
    [[nodiscard]] double section_share(std::size_t c) const {
        return std::min(1.0, grid_.volume_mm3[c] / std::pow(grid_.spacing_mm, 3));
    }
    // The part as seen along up.
    [[nodiscard]] double outline_mm2() const {
        std::vector<double> share(columns(), 0.0);
        for (std::size_t c = 0; c < grid_.size(); ++c) {
            share[column_of(c)] = std::max(share[column_of(c)], section_share(c));
        }
        return std::accumulate(share.begin(), share.end(), 0.0) * grid_.spacing_mm *
               grid_.spacing_mm;
    }

    void reach_holes() {
        for (std::size_t i = 0; i < openings_.size(); ++i) {
            const double t = rise_.cell_arrival_s[static_cast<std::size_t>(openings_[i].cell)];
            if (std::isinf(t)) {
                continue;
            }
            rise_.at_holes[i].reached_s = t;
            const std::int32_t own = start_.piece[static_cast<std::size_t>(openings_[i].cell)];
            double filled = 0.0;
            double all = 0.0;
            for (std::size_t c = 0; c < grid_.size(); ++c) {
                if (start_.piece[c] == own) {
                    filled += rise_.cell_arrival_s[c] <= t ? grid_.volume_mm3[c] : 0.0;
                    all += grid_.volume_mm3[c];
                }
            }
            rise_.at_holes[i].share_then = filled / all;
        }
    }

    // A full cavity: the foam's free volume N(t) = liquid x expansion goes on growing past the room
    // R. Its gas, N less the polymer's Vp, and the air Va that it cut off have the room R + Va - Vp
    // between them, all at one temperature:
    //     p/p0 = (N - Vp + Va)/(R + Va - Vp)                               docs/checks.md E6
    // Foam leaves by the holes that it has reached with T p/mu. One small step after the other
    // until it gels.
    void pack() {
        if (!rise_.full_s) {
            rise_.peak_kpa = rise_.flow_kpa;
            return;
        }
        constexpr int kSteps = 400;
        const double step = (course_.gel_s() - *rise_.full_s) / kSteps;
        double liquid = left_liquid_mm3_;
        double peak = 0.0;
        double air = 0.0;
        for (const RiseAir& sealed : rise_.sealed) {
            air += sealed.volume_mm3;
        }
        for (int i = 0; i < kSteps && step > 0.0; ++i) {
            const double t = *rise_.full_s + (i + 0.5) * step;
            const double over_mm3 = std::max(0.0, liquid * course_.expansion(t) - room_mm3_);
            const double polymer = liquid * request_.liquid_kg_m3 / kPolymer_kg_m3;
            const double kpa =
                request_.air_kpa * over_mm3 / std::max(1e-3 * room_mm3_, room_mm3_ + air - polymer);
            peak = std::max(peak, kpa);
            // No more than all that would bring the pressure down to nothing.
            double all = 0.0;
            for (std::size_t h = 0; h < openings_.size(); ++h) {
                all += rise_.at_holes[h].reached_s ? openings_[h].conductance_mm3 : 0.0;
            }
            const double wanted = all * kpa * 1e3 / course_.viscosity_pa_s(t) * step;
            const double foam = std::min(wanted, over_mm3);
            if (!(foam > 0.0)) {
                continue;
            }
            const double out = foam / course_.expansion(t);
            liquid -= out;
            for (std::size_t h = 0; h < openings_.size(); ++h) {
                if (rise_.at_holes[h].reached_s) {
                    rise_.at_holes[h].flash_g += out * openings_[h].conductance_mm3 / all *
                                                 request_.liquid_kg_m3 * kGramsPerMm3;
                }
            }
        }
        rise_.peak_kpa = std::max(rise_.flow_kpa, peak);
        set_force(peak * outline_mm2());
    }

    const RiseGrid& grid_;
    const RiseRequest& request_;
    const RunContext& context_;
    CellFinder finder_;
    RiseCourse course_;
    LiquidStart start_;
    std::vector<RiseOpening> openings_;
    double smallest_mm3_ = 0.0;
    double most_expansion_ = 1.0;
    double room_mm3_ = 0.0;         // that foam fills when the cavity is full
    double left_liquid_mm3_ = 0.0;  // in it then
    Rise rise_;
};

}  // namespace

Rise follow_rise(const RiseGrid& grid, const RiseRequest& request, const RunContext& context) {
    constexpr int kMostMoments = 1000;
    if (!(request.cavity_mm3 > 0.0) || request.moments < 1 || request.moments > kMostMoments) {
        throw InvalidInput("The rise needs a cavity, and 1 to 1000 moments.");
    }
    return Follower(grid, request, context).run();
}

std::vector<double> arrival_at(const RiseGrid& grid, const Rise& rise,
                               const std::vector<Vec3>& points_mm) {
    const CellFinder finder(grid);
    std::vector<double> arrival;
    arrival.reserve(points_mm.size());
    for (const Vec3& point : points_mm) {
        const std::int32_t cell = finder.nearest(point, 2);
        arrival.push_back(cell < 0 ? kInfinity
                                   : rise.cell_arrival_s[static_cast<std::size_t>(cell)]);
    }
    return arrival;
}

}  // namespace cavigram
