// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/pour/rise_grid.h"
#include "cavigram/pour/rise_solver.h"

namespace cavigram {

/// A hole by which air, and then foam, leaves.
struct RiseOpening {
    std::int32_t cell = -1;        ///< Under it.
    double conductance_mm3 = 0.0;  ///< For foam: hole_conductance_mm3.
};

/// Air that the foam has cut off from every opening.
struct SealedAir {
    Vec3 at_mm = Vec3::Zero();  ///< The middle of its highest cell, in the part's coordinates.
    double volume_mm3 = 0.0;    ///< When it was cut off, at the room's pressure.
    double expansion = 0.0;     ///< The foam's volume over that of its liquid, then.
};

/// What is followed, and how closely.
struct ViscousOptions {
    std::vector<RiseOpening> openings;  ///< Empty with `seal`: all air is sealed from the start.
    /// Air that is cut off keeps its room. False: it vanishes, as in a mold that lets air through
    /// everywhere.
    bool seal = true;
    double smallest_air_mm3 = 0.0;  ///< Less air than this, cut off, counts as seam and is filled.
    double relative = 1e-9;         ///< Of each solve.
    std::vector<std::uint8_t> left_out = {};  ///< Cells that no foam gets to; empty: none.
};

/// Where the foam is.
struct ViscousState {
    double expansion = 1.0;     ///< Volume over that of the liquid.
    double filled_mm3 = 0.0;    ///< Cavity that holds foam.
    double air_mm3 = 0.0;       ///< Cavity that holds air, sealed or not.
    double open_air_mm3 = 0.0;  ///< Of that, what is not cut off.
    /// What all cells and openings hold, less what was poured, over that.
    double mass_error = 0.0;
    int sets = 0;         ///< How many sets of full cells were tried for it,
    int iterations = 0;   ///< and iterations of the solver in all.
    bool settled = true;  ///< False: the sets went round in circles, and the best was taken.
};

/// The rise of a foam too thick for gravity to matter, in a mold whose air leaves by its openings:
/// one obstacle problem for each moment, with no error of a time step.
///
/// Mass: d(rho chi)/dt = div((rho K/mu) grad p), rho uniform. With W = integral of rho p/mu dt >= 0
///     -div(K grad W) = rho0 chi0 - rho(t) chi,   0 <= chi <= 1,   W (1 - chi) = 0,   no flow at
///     walls
/// (the transform of Baiocchi; for such flows Elliott & Janovsky, Proc. Roy. Soc. Edinb. A 88
/// (1981) 93, from memory; Gustafsson, SIAM J. Math. Anal. 16 (1985) 279, from memory). Where the
/// foam stands depends on the shape, K, the pool and how far it has expanded, and on neither
/// viscosity nor speed.
///
/// Solved by trying sets of full cells: on a set, a linear system; a cell of the set with W < 0
/// leaves it, one beside it that would hold more than it can joins it, until none does (the
/// primal-dual active sets of Hintermueller, Ito & Kunisch, SIAM J. Optim. 13 (2003) 865). Cells at
/// the front come out filled in part. docs/checks.md F1, F2, F3, F5, F9, F10
///
/// Air that is cut off from all openings keeps its room from the next moment on (rise_viscous of
/// docs/rooms/pour.md says how wrong that can be).
///
/// Not thread-safe.
class ViscousRise {
  public:
    /// \pre `liquid_mm3` holds for each cell the liquid in it, 0 to its volume; `grid` outlives
    /// this
    ViscousRise(const RiseGrid& grid, const std::vector<double>& liquid_mm3,
                const ViscousOptions& options, const RunContext& context = {});

    /// Lets it rise to so many times the liquid's volume.
    ///
    /// \pre no less than before. \throw Cancelled
    const ViscousState& advance(double expansion);

    /// Where it stands.
    [[nodiscard]] const ViscousState& state() const { return state_; }
    /// Filled share of each cell.
    [[nodiscard]] const std::vector<double>& share() const { return share_; }
    /// The expansion at which each cell was half full, between moments by its share; infinity if it
    /// is not.
    [[nodiscard]] const std::vector<double>& arrival() const { return arrival_; }
    /// Air that was cut off, in order of time.
    [[nodiscard]] const std::vector<SealedAir>& sealed() const { return sealed_; }
    /// Whether air that is cut off keeps the room of a cell, or some of it.
    [[nodiscard]] bool cut_off(std::size_t cell) const {
        return solver_.closed(static_cast<std::int32_t>(cell)) ||
               room_mm3_[cell] < grid_.volume_mm3[cell];
    }
    /// Liquid that has left by each opening, in mm3, as foam.
    [[nodiscard]] const std::vector<double>& left_mm3() const { return left_mm3_; }
    /// Liquid, in mm3, that lies in cells which nothing flows from any more.
    [[nodiscard]] double kept_mm3() const { return kept_mm3_; }
    /// Pressure in each full cell above the air's, for growth times viscosity in Pa: in Pa. One
    /// solve.
    [[nodiscard]] std::vector<double> pressure_pa(double growth_times_viscosity_pa);
    /// Cells that are full.
    [[nodiscard]] const std::vector<std::uint8_t>& full() const { return active_; }

  private:
    [[nodiscard]] bool solve_on_sets(double density);
    [[nodiscard]] bool overfull(std::size_t cell, double density) const;
    void spill(double density, std::vector<std::int32_t>& join);
    [[nodiscard]] std::size_t change_set(double density);
    void take_state(double density);
    void seal_air();
    [[nodiscard]] SealedAir air_of(const std::vector<std::int32_t>& piece) const;
    void keep_room(const std::vector<std::int32_t>& piece);
    void close_off();
    void restart(double density);

    const RiseGrid& grid_;
    ViscousOptions options_;
    RunContext context_;
    RiseSolver solver_;
    std::vector<double> room_mm3_;     // of each cell, for foam: less what cut-off air keeps
    std::vector<double> content_mm3_;  // liquid in each cell when W began at 0
    std::vector<double> right_;
    std::vector<double> weight_;  // W
    std::vector<std::uint8_t> active_;
    std::vector<double> holds_;  // liquid in cells that are not full, as a set is tried
    std::vector<double> share_;
    std::vector<double> arrival_;
    std::vector<SealedAir> sealed_;
    std::vector<double> left_mm3_;
    std::vector<double> left_before_mm3_;  // when W began at 0
    double poured_mm3_ = 0.0;
    double kept_mm3_ = 0.0;  // liquid in closed cells
    int releases_ = 0;       // sets from which cells were taken, of this moment
    ViscousState state_;
};

}  // namespace cavigram
