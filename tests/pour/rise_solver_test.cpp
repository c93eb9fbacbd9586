// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_solver.h"

#include <cmath>
#include <random>

#include <Eigen/Sparse>

#include "support/near.h"

using namespace cavigram;

namespace {

// A cube of n^3 voxels whose permeability varies a thousandfold, with holes in it.
RiseGrid rough_cube(std::int32_t n, std::uint32_t seed) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> even(0.0, 1.0);
    RiseVoxels voxels;
    voxels.count = {n, n, n};
    for (std::int32_t i = 0; i < n * n * n; ++i) {
        voxels.permeability_mm2.push_back(std::pow(10.0, 3.0 * even(random)));
        voxels.share.push_back(even(random) < 0.1 ? 0.0 : 0.2 + 0.8 * even(random));
    }
    return voxel_grid(voxels);
}

struct Problem {
    std::vector<std::uint8_t> active;
    std::vector<double> right;
};

// Full below a slanted front.
Problem below_front(const RiseGrid& grid, double share) {
    Problem problem;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        const CellPlace& p = grid.place[c];
        const double height = (p[2] + 0.3 * p[0]) / (1.3 * grid.count[2]);
        problem.active.push_back(height < share ? 1 : 0);
        problem.right.push_back(grid.volume_mm3[c]);
    }
    return problem;
}

// The same system written down for Eigen's sparse Cholesky.
std::vector<double> by_eigen(const RiseGrid& grid, const Problem& problem) {
    const auto n = static_cast<Eigen::Index>(grid.size());
    std::vector<Eigen::Triplet<double>> entries;
    Eigen::VectorXd right(n);
    for (std::size_t c = 0; c < grid.size(); ++c) {
        const auto row = static_cast<Eigen::Index>(c);
        right[row] = problem.active[c] != 0 ? problem.right[c] : 0.0;
        double sum = problem.active[c] != 0 ? 0.0 : 1.0;
        for (std::size_t side = 0; side < 6; ++side) {
            const std::int32_t next = grid.neighbor[c][side];
            if (next < 0 || problem.active[c] == 0) {
                continue;
            }
            const std::size_t from = side % 2 == 1 ? c : static_cast<std::size_t>(next);
            const auto t =
                static_cast<double>(static_cast<float>(grid.conductance_mm3[from][side / 2]));
            sum += t;
            if (problem.active[static_cast<std::size_t>(next)] != 0) {
                entries.emplace_back(row, next, -t);
            }
        }
        entries.emplace_back(row, row, sum > 0.0 ? sum : 1.0);
    }
    Eigen::SparseMatrix<double> matrix(n, n);
    matrix.setFromTriplets(entries.begin(), entries.end());
    const Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> direct(matrix);
    const Eigen::VectorXd x = direct.solve(right);
    return {x.data(), x.data() + n};
}

double largest_difference(const std::vector<double>& a, const std::vector<double>& b) {
    double most = 0.0;
    double scale = 0.0;
    for (std::size_t i = 0; i < a.size(); ++i) {
        most = std::max(most, std::abs(a[i] - b[i]));
        scale = std::max(scale, std::abs(b[i]));
    }
    return most / scale;
}

}  // namespace

TEST_CASE("the solver agrees with Eigen's direct one on 20^3 rough cells") {
    for (const std::uint32_t seed : {1U, 2U}) {
        const RiseGrid grid = rough_cube(20, seed);
        const Problem problem = below_front(grid, 0.7);
        const std::vector<double> expected = by_eigen(grid, problem);
        for (const auto kind : {RisePreconditioner::multigrid, RisePreconditioner::diagonal}) {
            RiseSolver solver(grid, {}, kind);
            std::vector<double> x(grid.size(), 0.0);
            const RiseSolved solved = solver.solve(problem.active, problem.right, 1e-12, x);
            MESSAGE(solved.iterations, " iterations");
            CHECK(largest_difference(x, expected) < 1e-8);
        }
    }
}

TEST_CASE("iterations hardly grow with the grid") {
    int before = 0;
    for (const std::int32_t n : {16, 32, 64}) {
        RiseVoxels voxels;
        voxels.count = {n, n, n};
        voxels.permeability_mm2.assign(
            static_cast<std::size_t>(n) * static_cast<std::size_t>(n) * static_cast<std::size_t>(n),
            1.0);
        const RiseGrid grid = voxel_grid(voxels);
        const Problem problem = below_front(grid, 0.6);
        RiseSolver solver(grid);
        std::vector<double> x(grid.size(), 0.0);
        const RiseSolved solved = solver.solve(problem.active, problem.right, 1e-8, x);
        MESSAGE(grid.size(), " cells: ", solved.iterations, " iterations");
        CHECK(solved.residual <= 1e-8);
        CHECK(solved.iterations < (before > 0 ? 1.6 * before + 2 : 30));
        before = solved.iterations;
    }
}

TEST_CASE("same bytes for any number of threads; what flows out flows in") {
    const RiseGrid grid = rough_cube(40, 5);
    const Problem problem = below_front(grid, 0.6);
    std::vector<std::vector<double>> results;
    for (const int threads : {1, 2, 3}) {
        RunContext context;
        context.threads = threads;
        RiseSolver solver(grid, context);
        std::vector<double> x(grid.size(), 0.0);
        static_cast<void>(solver.solve(problem.active, problem.right, 1e-9, x));
        results.push_back(x);
        // What the full cells are given arrives in the others.
        double given = 0.0;
        double arrives = 0.0;
        for (std::size_t c = 0; c < grid.size(); ++c) {
            if (problem.active[c] != 0) {
                given += problem.right[c];
            } else {
                arrives += solver.inflow(static_cast<std::int32_t>(c), x);
            }
        }
        CHECK(arrives > 0.0);
        CHECK(arrives <= given * (1.0 + 1e-9));
    }
    CHECK(results[0] == results[1]);
    CHECK(results[0] == results[2]);
}

TEST_CASE("a closed cell passes nothing, an opening lets out") {
    RiseVoxels voxels;
    voxels.count = {5, 1, 1};
    voxels.permeability_mm2.assign(5, 2.0);
    const RiseGrid grid = voxel_grid(voxels);
    RiseSolver solver(grid);
    solver.close(3);
    CHECK(solver.closed(3));
    solver.open(0, 0.5);
    const std::vector<std::uint8_t> active{1, 1, 1, 0, 0};
    std::vector<double> x(5, 0.0);
    static_cast<void>(solver.solve(active, {1.0, 1.0, 1.0, 0.0, 0.0}, 1e-12, x));
    // Three go out by the hole: x0 = 3/0.5; then two and one by faces of conductance 2.
    CHECK_NEAR(x[0], 6.0, 1e-9);
    CHECK_NEAR(x[1], 7.0, 1e-9);
    CHECK_NEAR(x[2], 7.5, 1e-9);
    CHECK(solver.inflow(4, x) == 0.0);
}

namespace {

// Channels two cells wide and deep beside each other with a wall of one cell between, and all their
// cells full but for one end of each, to which all flows: of every other one the far end.
int iterations_on_channels(std::int32_t channels, std::int32_t length) {
    RiseVoxels voxels;
    voxels.count = {length, 3 * channels - 1, 2};
    const std::size_t cells = 2 * static_cast<std::size_t>(length * voxels.count[1]);
    voxels.permeability_mm2.assign(cells, 1.0);
    for (std::size_t i = 0; i < cells; ++i) {
        const auto y = static_cast<std::int32_t>(i) / length % voxels.count[1];
        voxels.share.push_back(y % 3 == 2 ? 0.0 : 1.0);
    }
    const RiseGrid grid = voxel_grid(voxels);
    std::vector<std::uint8_t> active;
    for (const CellPlace& p : grid.place) {
        active.push_back(p[0] != (p[1] / 3 % 2 == 0 ? 0 : length - 1) ? 1 : 0);
    }
    RiseSolver solver(grid);
    std::vector<double> x(grid.size(), 0.0);
    const RiseSolved solved = solver.solve(active, grid.volume_mm3, 1e-8, x);
    CHECK(solved.residual <= 1e-8);
    return solved.iterations;
}

}  // namespace

// Not joined across their walls, many channels are about as easy to solve as one; twice the
// iterations, as some lie across two coarse cells. Joined across them they took 283.
TEST_CASE("walls between what lies side by side cost no iterations") {
    const int one = iterations_on_channels(1, 200);
    const int many = iterations_on_channels(20, 200);
    MESSAGE("one channel ", one, ", twenty ", many, " iterations");
    CHECK(many <= 2 * one + 2);
}
