// SPDX-License-Identifier: GPL-3.0-or-later
// How long the air tree takes for one direction, beside GUDHI's cubical complex on a grid of a
// part, and the search for a way up; with the exponents of growth. Nothing is asserted but
// like answers.
//
// Usage: air_bench [SEGMENTS [GRID]]   a ring with waves and noise of SEGMENTS^2 triangles; 912
// gives 831,744. GRID cells along the longest side for GUDHI, on a ball of 49,152; 132 gives
// 2.3 million cells. GRID 0 leaves GUDHI out, which needs 2 GB at 132.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <limits>
#include <string>
#include <sys/resource.h>
#include <vector>

#include <gudhi/Bitmap_cubical_complex.h>
#include <gudhi/Bitmap_cubical_complex_base.h>
#include <gudhi/Persistent_cohomology.h>

#include "cavigram/pour/orientations.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/column_tree.h"

#include "venting/shapes.h"

using namespace cavigram;

namespace {

double now_s() {
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch())
        .count();
}

double peak_mb() {
    rusage used{};
    getrusage(RUSAGE_SELF, &used);
    return static_cast<double>(used.ru_maxrss) / 1024.0;
}

// Growth of `second` over `first` for `factor` times the input.
double exponent(double first, double second, double factor) {
    return std::log(second / first) / std::log(factor);
}

const std::vector<Vec3>& directions() {
    static const std::vector<Vec3> kUps = {{0, 0, 1},         {1, 0, 0},         {0.3, -0.5, 0.8},
                                           {-0.6, 0.7, -0.2}, {0.1, -0.9, -0.4}, {0.5, 0.5, 0.1}};
    return kUps;
}

TriMesh ring(int segments) {
    // Noise of 0.03 % of the diagonal, as a good scan has.
    return bumpy_ring(segments, 0.07, 7);
}

// Median over directions of the best of three, on one thread.
double tree_s(const AirTreeBuilder& solid) {
    AirTreeWorkspace workspace;
    std::vector<double> times;
    for (const Vec3& up : directions()) {
        double best = std::numeric_limits<double>::infinity();
        for (int i = 0; i < 3; ++i) {
            const double start = now_s();
            static_cast<void>(solid.build(up, workspace));
            best = std::min(best, now_s() - start);
        }
        times.push_back(best);
    }
    std::nth_element(times.begin(), times.begin() + 3, times.end());
    return times[3];
}

constexpr std::size_t kCompared = 4;

// The longest-lived peaks below the highest, longest first; 0 where there are fewer.
std::vector<double> lives(std::vector<double> all) {
    std::sort(all.begin(), all.end(), std::greater<>());
    all.resize(kCompared, 0.0);
    return all;
}

std::vector<double> tree_lives(const AirTree& tree) {
    std::vector<double> all;
    for (const AirTree::Arc& arc : tree.arcs) {
        if (arc.parent >= 0 &&
            tree.arcs[static_cast<std::size_t>(arc.parent)].peak_vertex != arc.peak_vertex) {
            all.push_back(arc.peak_height_mm - arc.saddle_height_mm);
        }
    }
    return lives(std::move(all));
}

struct GridRun {
    double seconds = 0.0;  // persistence alone, the grid being there
    double cell_mm = 0.0;
    std::size_t cells = 0;
    std::vector<double> lives;
};

// 0-dimensional persistence of the height on a grid, by GUDHI's cubical complex.
GridRun gudhi_run(const TriMesh& mesh, const Vec3& up, int grid) {
    const ColumnTree columns = column_tree(mesh, up, {.columns = grid});
    GridRun run;
    run.cell_mm = columns.spacing_mm;
    int nx = 0;
    int ny = 0;
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    for (const ColumnInterval& c : columns.intervals) {
        nx = std::max(nx, c.x + 1);
        ny = std::max(ny, c.y + 1);
        low = std::min(low, c.bottom_height_mm);
        high = std::max(high, c.top_height_mm);
    }
    const int nz = static_cast<int>(std::ceil((high - low) / run.cell_mm));
    run.cells = static_cast<std::size_t>(nx) * ny * nz;
    constexpr double kOutside = 1e30;
    std::vector<double> value(run.cells, kOutside);
    for (const ColumnInterval& c : columns.intervals) {
        for (int z = 0; z < nz; ++z) {
            const double middle = low + (z + 0.5) * run.cell_mm;
            if (middle > c.bottom_height_mm && middle < c.top_height_mm) {
                value[static_cast<std::size_t>(c.x) +
                      static_cast<std::size_t>(nx) *
                          (static_cast<std::size_t>(c.y) +
                           static_cast<std::size_t>(ny) * static_cast<std::size_t>(z))] = -middle;
            }
        }
    }
    using Base = Gudhi::cubical_complex::Bitmap_cubical_complex_base<double>;
    using Complex = Gudhi::cubical_complex::Bitmap_cubical_complex<Base>;
    using Field = Gudhi::persistent_cohomology::Field_Zp;
    const double start = now_s();
    Complex complex(
        {static_cast<unsigned>(nx), static_cast<unsigned>(ny), static_cast<unsigned>(nz)}, value);
    Gudhi::persistent_cohomology::Persistent_cohomology<Complex, Field> persistence(complex, false);
    persistence.init_coefficients(2);
    persistence.compute_persistent_cohomology(0.5 * run.cell_mm);
    run.seconds = now_s() - start;
    std::vector<double> all;
    for (const auto& [birth, death] : persistence.intervals_in_dimension(0)) {
        if (death < kOutside) {
            all.push_back(death - birth);
        }
    }
    run.lives = lives(std::move(all));
    return run;
}

bool alike(const std::vector<double>& a, const std::vector<double>& b, double within) {
    bool same = true;
    for (std::size_t i = 0; i < kCompared; ++i) {
        same = same && std::abs(a[i] - b[i]) <= within;
    }
    return same;
}

double search_s(const AirTreeBuilder& solid, int directions) {
    RunContext two;
    two.threads = 2;
    OrientationOptions options;
    options.directions = directions;
    const double start = now_s();
    const Orientations found = orientations(solid, options, two);
    const double seconds = now_s() - start;
    std::printf("search of %5d directions on %8zu triangles, 2 threads: %7.2f s, %zu trees\n",
                directions, solid.mesh().triangles.size(), seconds, found.looked_at);
    return seconds;
}

}  // namespace

int main(int count, char** arguments) {
    const int segments = count > 1 ? std::atoi(arguments[1]) : 912;
    const int grid = count > 2 ? std::atoi(arguments[2]) : 132;
    if (segments < 40 || segments > 5000 || grid < 0 || grid > 1000) {
        std::fprintf(stderr, "air_bench: give 40 to 5000 segments and a grid of 0 to 1000.\n");
        return 2;
    }
    RunContext alone;
    alone.threads = 1;
    double before = 0.0;
    for (const int s : {segments / 4, segments / 2, segments}) {
        const AirTreeBuilder solid(ring(s), {}, alone);
        const double seconds = tree_s(solid);
        std::printf("one direction on %8zu triangles, 1 thread: %9.3f ms",
                    solid.mesh().triangles.size(), 1000.0 * seconds);
        if (before > 0.0) {
            std::printf(", growing as triangles^%.2f", exponent(before, seconds, 4.0));
        }
        std::printf("\n");
        before = seconds;
    }
    {
        const TriMesh mesh = ring(segments);
        const AirTreeBuilder solid(mesh);
        const int many = std::max(40, segments * 2000 / 912);
        const double few_s = search_s(solid, many / 4);
        const double many_s = search_s(solid, many);
        std::printf("growing as directions^%.2f; ", exponent(few_s, many_s, 4.0));
        const double small_s = search_s(AirTreeBuilder(ring(segments / 2)), many);
        std::printf("growing as triangles^%.2f; peak memory so far %.0f MB\n",
                    exponent(small_s, many_s, 4.0), peak_mb());
    }
    if (grid == 0) {
        return 0;
    }
    // A ball with bumps, whose pockets are deep against a cell.
    const TriMesh mesh = bumpy_ball(50.0, segments < 400 ? 4 : 6, 7.0, 0.2, 3e-4, 7);
    const AirTreeBuilder solid(mesh);
    const double tree_time_s = tree_s(solid);
    const Vec3 up = Vec3::UnitZ();
    const AirTree tree = solid.build(up);
    const GridRun run = gudhi_run(mesh, up, grid);
    const bool same = alike(tree_lives(tree), run.lives, run.cell_mm);
    std::printf(
        "GUDHI's cubical complex on %zu cells: %.2f s, %.0f times as long as the tree on "
        "%zu triangles; depths of the deepest pockets %s within a cell\n",
        run.cells, run.seconds, run.seconds / tree_time_s, mesh.triangles.size(),
        same ? "agree" : "DIFFER");
    std::printf("the deepest is %.2f mm, a cell %.2f mm\n", run.lives.front(), run.cell_mm);
    std::printf("peak memory with GUDHI %.0f MB\n", peak_mb());
    return same ? 0 : 1;
}
