// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <vector>

#include "cavigram/core/constants.h"
#include "cavigram/core/run_context.h"
#include "cavigram/pour/rise_grid.h"
#include "cavigram/pour/rise_solver.h"
#include "cavigram/pour/rise_viscous.h"
#include "cavigram/venting/vent_flow.h"

namespace cavigram {

/// What is followed step by step, and how closely.
struct StepperOptions {
    std::vector<RiseOpening> openings = {};  ///< Where air and foam leave.
    /// What holds the air back in each opening. Empty: nothing does.
    std::vector<Hole> holes = {};
    /// Air that is cut off is kept, and presses by Boyle's law. False: it leaves everywhere.
    bool seal = true;
    double smallest_air_mm3 = 0.0;  ///< Less air than this, cut off, is a seam that may fill.
    double liquid_kg_m3 = 1080.0;   ///< Of the liquid from which the foam rises.
    /// Zero: foam without weight.
    double gravity_m_s2 = kGravity_m_s2;
    double air_kpa = kAtmosphere_kpa;  ///< Of the room.
    /// Foam swells no further while it would press harder than this above the room's air.
    double most_kpa = std::numeric_limits<double>::infinity();
    double relative = 1e-9;                   ///< Of each solve.
    std::vector<double> film_mm3 = {};        ///< Liquid that sticks to the walls; empty: none.
    std::vector<std::uint8_t> left_out = {};  ///< Cells that no foam gets to; empty: none.
};

/// Where the foam is.
struct StepperState {
    double time_s = 0.0;        ///< From the first step on.
    double expansion = 1.0;     ///< Volume over that of the liquid.
    double filled_mm3 = 0.0;    ///< Cavity that holds foam.
    double open_air_mm3 = 0.0;  ///< Cavity with air that has a way out, seams counted.
    double mass_error = 0.0;    ///< All that is held and has left, less what was poured, over that.
    double highest_pa = 0.0;    ///< Pressure in the foam, above the room's.
    int sets = 0;               ///< How many sets of full cells were tried for it,
    int iterations = 0;         ///< and iterations of the solver in all.
    bool settled = true;        ///< False: no rest was found, and the last that was tried is taken.
    double misplaced_mm3 =
        0.0;                 ///< Foam in cells that are fuller than full, or emptier than empty.
    bool held_back = false;  ///< It swelled less than asked, as it would press too hard.
};

/// Air without a way out.
struct StepperAir {
    SealedAir cut_off;         ///< As it was when it was cut off,
    double time_s = 0.0;       ///< and when.
    double now_mm3 = 0.0;      ///< Its volume now,
    double pressure_pa = 0.0;  ///< and its pressure above the room's.
};

/// The rise with everything that moves foam: growth, gravity, the pressure of the air.
///
/// For each step of dt the foam of a cell changes by what flows,
///     d(rho chi V) = dt rho sum of (T/mu) (p_n - p_c + rho g (z_n - z_c)),
/// all at the end of the step (backward Euler), with the conditions of an obstacle problem: a full
/// cell (chi = 1) presses no less than the air beside it, a cell that is not full has its air's
/// pressure, and gives to the one below the share of a full cell's weight that it holds:
///     from c to n below it: (T/mu) (p_c - p_n + chi_c rho g h)
/// So every flow grows with what is in one of two cells and falls with what is in the other,
/// without a jump where one turns full, and a step has one answer (M-functions: Rheinboldt, J.
/// Math. Anal. Appl. 32 (1970) 274, from memory). It is found by sweeps over the cells, each put
/// right for those beside it, between linear solves on the full ones. Without gravity and cut-off
/// air the steps add up to ViscousRise's obstacle problem, whatever their length.
///
/// Each connected piece of air has one pressure: Boyle's law for what was cut off (docs/checks.md
/// F6), and where it has openings, what their width holds back (venting/vent_flow, linear about the
/// flow of the step before). Its pressure is an unknown of the same linear system, so that stiff
/// air and stiff foam don't chase each other. Pieces that part share their air by volume, those
/// that meet add it up.
///
/// docs/checks.md F4, F6, F7, F8
///
/// Not thread-safe.
class RiseStepper {
  public:
    /// \pre `liquid_mm3` holds for each cell the liquid in it, 0 to its volume; as many holes as
    /// openings, or none; `grid` outlives this
    RiseStepper(const RiseGrid& grid, const std::vector<double>& liquid_mm3,
                const StepperOptions& options, const RunContext& context = {});

    /// One step, at the end of which the foam has so many times the liquid's volume; made in
    /// shorter ones where it would not settle.
    ///
    /// O(sets x cells).
    ///
    /// \pre seconds and viscosity above 0, expansion above 0. \throw Cancelled
    const StepperState& advance(double seconds, double expansion, double viscosity_pa_s);

    /// Where it stands.
    [[nodiscard]] const StepperState& state() const { return state_; }
    /// Filled share of each cell.
    [[nodiscard]] const std::vector<double>& share() const { return share_; }
    /// Pressure above the room's air of each cell, of foam or of the air in it.
    [[nodiscard]] const std::vector<double>& pressure_pa() const { return pressure_; }
    /// When each cell was half full, for the last time; infinity if it is not.
    [[nodiscard]] const std::vector<double>& arrival_s() const { return arrival_; }
    /// Air that is cut off now, no seams; in order of time.
    [[nodiscard]] std::vector<StepperAir> sealed() const;
    /// Whether a cell holds air that is cut off.
    [[nodiscard]] bool cut_off(std::size_t cell) const;
    /// Liquid that has left by each opening, in mm3, as foam.
    [[nodiscard]] const std::vector<double>& left_mm3() const { return left_mm3_; }

  private:
    // A connected piece of air.
    struct Pocket {
        double amount_pa_mm3 = 0.0;  // pressure times volume
        double gauge_pa = 0.0;
        double volume_mm3 = 0.0;
        double vent_mm3_pa_s = 0.0;  // through its openings
        bool open = false;
        bool born = false;   // cut off in this step, at the end of which it is sealed
        bool fixed = false;  // at the room's pressure
        bool stray = false;  // of cells that were full before this step
        StepperAir air;      // where it is cut off
        // Sums of a step, for its equation.
        double room_mm3 = 0.0;    // of its cells
        double liquid_mm3 = 0.0;  // in them before
        double drop = 0.0;        // what gravity brings to it
    };
    // What holds for one step.
    struct Step {
        double seconds = 0.0;
        double density = 1.0;  // over the liquid's
        double per_pa = 0.0;   // w over pressure
        double weight = 0.0;   // w over one cell's height of foam
    };

    [[nodiscard]] double most_expansion() const;
    void take_step(double seconds, double expansion, double viscosity_pa_s, int halvings);
    [[nodiscard]] bool try_step(const Step& step);
    [[nodiscard]] bool settle(const Step& step);
    void label(double per_pa);
    void carry_amounts();
    void take_strays();
    void open_pockets();
    void set_up_fronts(const Step& step);
    void set_up(const Step& step);
    void set_up_air(const Step& step);
    [[nodiscard]] bool take_air(const Step& step);
    [[nodiscard]] bool leave(std::size_t cell, const Step& step, double rounding);
    [[nodiscard]] std::size_t relax(const Step& step, bool release);
    void follow(const Step& step, bool shut_dry);
    [[nodiscard]] double passes(std::size_t cell, std::size_t side) const;
    [[nodiscard]] double front_factor(std::size_t cell) const { return 1.0 / (0.5 + front_[cell]); }
    [[nodiscard]] double misfit(const Step& step);
    [[nodiscard]] double least_w(std::size_t cell, const Step& step) const;
    [[nodiscard]] double full_w(std::size_t cell, const Step& step) const;
    [[nodiscard]] double open_fill(std::size_t cell, double air, const Step& step) const;
    [[nodiscard]] double beside_w(std::size_t cell) const;
    void join_air(std::size_t cell);
    [[nodiscard]] double outflow(std::size_t cell, std::size_t side, const Step& step) const;
    void find_flows(const Step& step);
    [[nodiscard]] double kept(std::size_t cell) const;
    // Share of the weight of a full cell with which one falls that is not full.
    [[nodiscard]] double loose(std::size_t cell) const {
        return std::max(0.0, (fill_[cell] - stuck_[cell]) / (1.0 - stuck_[cell]));
    }
    [[nodiscard]] double sticks(std::size_t cell) const;
    // What the air in a cell presses with, as w.
    [[nodiscard]] double air_w(std::size_t cell) const {
        const std::int32_t node = air_.of_cell[cell];
        return node < 0 ? 0.0 : air_.x[static_cast<std::size_t>(node)];
    }
    [[nodiscard]] double press(std::size_t cell) const {
        return active_[cell] != 0 ? w_[cell] : air_w(cell);
    }
    [[nodiscard]] Step step_of(double seconds, double expansion, double viscosity_pa_s) const;
    [[nodiscard]] double highest_w() const;
    [[nodiscard]] bool runs(std::size_t cell) const {
        return !solver_.closed(static_cast<std::int32_t>(cell));
    }
    [[nodiscard]] bool is_air(std::size_t cell) const { return active_[cell] == 0 && runs(cell); }
    void finish(const Step& step);
    void take_contents(const Step& step);
    void take_pockets(double density);
    void close_full_pieces();

    const RiseGrid& grid_;
    StepperOptions options_;
    RunContext context_;
    RiseSolver solver_;
    double air_pa_ = 0.0;
    std::vector<std::vector<std::int32_t>> near_opening_;
    std::vector<double> content_;  // liquid in each cell, at the beginning of the step
    std::vector<double> next_;     // and at its end
    std::vector<double> front_;    // where the front stands in a cell that is not full
    std::vector<double> fill_;     // share at its end; 1 where full
    std::vector<double> stuck_;    // share that sticks to the wall
    std::vector<double> gives_;    // what a cell that is not full gives to a full one below
    std::vector<double> air_mm3_;  // of each cell at the beginning
    std::vector<double> right_;
    std::vector<double> w_;
    // What leaves each cell along each axis, by the farther side; it enters the next one.
    std::vector<std::array<double, 3>> flow_;
    std::vector<std::uint8_t> active_;
    std::vector<std::int32_t> pocket_before_;
    std::vector<Pocket> before_;
    std::vector<std::int32_t> pocket_of_;
    std::vector<Pocket> pockets_;
    AirNodes air_;
    std::vector<double> share_;
    std::vector<double> pressure_;
    std::vector<double> arrival_;
    std::vector<double> left_mm3_;
    std::vector<std::int32_t> piece_;  // of the grid, for each cell
    std::vector<std::uint8_t> piece_open_;
    double poured_mm3_ = 0.0;
    double per_pa_ = 0.0;  // of the step before, in which w_ is; 0: there was none
    StepperState state_;
};

}  // namespace cavigram
