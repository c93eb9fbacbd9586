// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/union_find.h"
#include "cavigram/pour/rise_grid.h"

namespace cavigram {

/// How a system was solved.
struct RiseSolved {
    int iterations = 0;     ///< Of conjugate gradients.
    double residual = 0.0;  ///< Norm of what is left over the norm of the right side.
};

/// Air beside the foam of which the pressure is to be found too: pieces of cells that are not
/// active, one unknown for each.
struct AirNodes {
    std::vector<std::int32_t> of_cell;  ///< Node of each cell that is not active; -1: pressure 0.
    /// Of each cell that is not active: how much of the conductance to an active cell below it
    /// counts.
    std::vector<double> upward;
    /// Of each node: what its pressure lets in, its own faces not counted.
    std::vector<double> diagonal;
    std::vector<double> right;  ///< Of each node.
    std::vector<double> x;      ///< Of each node: from where to begin, and the answer.
};

/// What preconditions the conjugate gradients.
enum class RisePreconditioner {
    /// A V-cycle over cells joined 2 x 2 x 2 where they are connected: iterations hardly grow with
    /// the grid.
    multigrid,
    diagonal,  ///< The diagonal: simple, and the oracle of the other.
};

/// Solves for the pressure in the cells that foam fills, again and again for other sets of them.
///
/// For each active cell c: the sum over its faces of T (x_c - x_n), plus what its openings let out,
/// is b_c; x is 0 in all other cells and beyond openings. T is the grid's conductance, held as
/// float, alike from both sides, so that what leaves one cell enters the next to the last bit.
///
/// Conjugate gradients in double; the V-cycle in float with red-black smoothing, two sweeps before
/// and after, and the coarse conductances halved, as twice the distance asks. Same bytes for any
/// number of threads. About 100 bytes a cell; a solve takes 10 to 20 iterations of some 20 passes
/// over the active cells.
///
/// Not thread-safe: one for each computation.
class RiseSolver {
  public:
    /// O(cells). \pre `grid` outlives it
    explicit RiseSolver(const RiseGrid& grid, const RunContext& context = {},
                        RisePreconditioner preconditioner = RisePreconditioner::multigrid);

    /// Foam may leave by a cell, against zero pressure; added to what it has.
    void open(std::int32_t cell, double conductance_mm3);
    /// No foam passes the faces of a cell any more, nor its openings.
    void close(std::int32_t cell);
    /// Whether it was closed.
    [[nodiscard]] bool closed(std::int32_t cell) const {
        return closed_[static_cast<std::size_t>(cell)] != 0;
    }

    /// Solves, beginning from `x`, until the residual falls below `relative` of the right side.
    ///
    /// x is 0 at the middle of a cell that is not active; with `front_share`, the filled share of
    /// each cell, it is 0 so far behind that cell's near face instead, where the foam's front is.
    ///
    /// With `air`, cells that are not active have the pressure of their node, which is found with
    /// the rest: for each node, (diagonal + sum of T over its faces) x - sum of T x_c = right.
    ///
    /// \pre vectors of one value for each cell; x is 0 where not active
    ///
    /// \throw Cancelled
    RiseSolved solve(const std::vector<std::uint8_t>& active, const std::vector<double>& b,
                     double relative, std::vector<double>& x,
                     const std::vector<double>* front_share = nullptr, AirNodes* air = nullptr);

    /// That of the face beyond which `side` lies, from middle to middle; 0 at walls.
    [[nodiscard]] double conductance_mm3(std::size_t cell, std::size_t side) const {
        return static_cast<double>(whole_[cell][side]);
    }
    /// What open() has added up for a cell.
    [[nodiscard]] double opening_mm3(std::size_t cell) const { return opening_[cell]; }

    /// What flows into a cell from its neighbors for a pressure x.
    [[nodiscard]] double inflow(std::int32_t cell, const std::vector<double>& x) const;
    /// What flows through the face beyond which `side` (as RiseGrid::neighbor) lies, outward.
    [[nodiscard]] double outflow(std::int32_t cell, std::size_t side,
                                 const std::vector<double>& x) const;

  private:
    using Nodes = std::vector<double>;
    struct Front {
        std::int32_t cell = -1;
        std::int32_t node = -1;
        double conductance = 0.0;
    };
    struct Level {
        std::vector<std::array<std::int32_t, 6>> neighbor;  // a wall: one past the last
        std::vector<std::array<float, 6>> couple;           // 0 toward what is not active
        std::vector<double> diagonal;
        std::vector<float> inverse;             // of the diagonal
        std::vector<std::int32_t> first_child;  // where each one's children begin; one more
        std::vector<std::int32_t> child;        // in the finer level
        std::vector<std::int32_t> parent;       // in the coarser level
        std::vector<std::uint8_t> color;
        std::vector<std::uint8_t> active;
        std::vector<std::int32_t> cells[2];  // active ones by color
        std::vector<float> x, b, r;
    };

    [[nodiscard]] std::size_t sink(const Level& level) const { return level.color.size(); }
    void coarsen(const RiseGrid& grid);
    static UnionFind joined(const Level& fine, const std::vector<CellPlace>& places);
    void join(Level& fine, std::vector<CellPlace>& places);
    void prepare(const std::vector<std::uint8_t>& active, const std::vector<double>* front_share,
                 const AirNodes* air);
    [[nodiscard]] double front_conductance(std::size_t c, std::size_t side,
                                           const std::vector<double>* front_share,
                                           const AirNodes* air) const;
    void find_fronts(const std::vector<double>* front_share, const AirNodes* air);
    static void take_children(Level& coarse, const Level& fine, std::size_t c);
    void prepare_coarse(std::size_t l);
    void smooth(Level& level, bool red_first, bool from_zero);
    void residual(Level& level);
    void restrict_to(Level& coarse, const Level& level);
    void cycle(std::size_t l);
    // These work on the vectors below; their arguments are the nodes' part.
    double precondition(const Nodes& r, Nodes& z);
    double multiply(const Nodes& p, Nodes& ap);
    double step(double factor, std::vector<double>& x);
    void direct(double beta);

    RunContext context_;
    RisePreconditioner preconditioner_;
    std::vector<Level> levels_;
    std::vector<std::array<float, 6>> whole_;  // finest, before cells are set active
    std::vector<double> opening_;
    std::vector<std::uint8_t> closed_;
    std::vector<std::int32_t> list_;  // active cells of the finest level
    std::vector<Front> fronts_;
    std::vector<double> node_diagonal_;
    std::vector<double> r_, z_, p_, ap_;  // of conjugate gradients
};

}  // namespace cavigram
