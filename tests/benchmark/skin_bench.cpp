// SPDX-License-Identifier: GPL-3.0-or-later
// How long the skin's volume and the thickness take: the first with its exponents of growth and the
// program's peak memory, the second beside CGAL's sdf_values with its defaults on the same mesh.
// Nothing is asserted but that the answers are right where they are known.
//
// Usage: skin_bench [SEGMENTS [MESH]]   a torus of SEGMENTS^2 triangles; 912 gives 831,744. MESH is
// a closed mesh for the thickness, as armadillo.off of libcgal-demo (52,000 faces); without it a
// torus of the same number of faces over 16.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <numbers>
#include <sys/resource.h>
#include <vector>

#include <CGAL/mesh_segmentation.h>

#include "cavigram/cavity/depth.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/measure/thickness.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/mesh/weld.h"

#include "support/cgal_surface.h"

using namespace cavigram;

namespace {

constexpr double kRing_mm = 100.0;
constexpr double kTube_mm = 30.0;
constexpr double kSkin_mm = 1.5;
constexpr double kWanted = 0.003;

double now_s() {
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch())
        .count();
}

double peak_mb() {
    rusage used{};
    getrusage(RUSAGE_SELF, &used);
    return static_cast<double>(used.ru_maxrss) / 1024.0;
}

// Processor time of this process: beside wall time, since it hardly minds what else runs.
double processor_s() {
    return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

// The best of several: the machine may be doing other things.
template <class Work>
double best_s(int rounds, const Work& work) {
    double best = 1e300;
    for (int i = 0; i < rounds; ++i) {
        const double start = now_s();
        work();
        best = std::min(best, now_s() - start);
    }
    return best;
}

double exponent(double first, double second, double factor) {
    return std::log(second / first) / std::log(factor);
}

// Of the smooth torus, by Pappus: a mesh of many segments has it to a few parts in 100,000.
double torus_skin_mm3(double depth_mm) {
    const double inner = kTube_mm - depth_mm;
    return 2.0 * std::numbers::pi * kRing_mm * std::numbers::pi *
           (kTube_mm * kTube_mm - inner * inner);
}

// The whole way of `weigh` from a mesh in memory: index and skin volume.
DepthVolume skin_of(const TriMesh& mesh, const DepthOptions& options) {
    const TriangleBvh surface(mesh);
    return depth_volume(mesh, surface, options);
}

// Skin volume at the accuracy that weigh asks for. True if the answer is as good as promised.
bool skin_volume(int segments) {
    std::vector<double> seconds;
    bool good = true;
    for (const int part : {4, 2, 1}) {
        const int n = std::max(6, segments / part);
        const TriMesh mesh = torus_solid(kRing_mm, kTube_mm, n).mesh;
        DepthVolume skin;
        const DepthOptions options{.depths_mm = {kSkin_mm}, .wanted_relative_error = kWanted};
        seconds.push_back(best_s(2, [&] { skin = skin_of(mesh, options); }));
        const double off = skin.skin_volume_mm3(kSkin_mm) / torus_skin_mm3(kSkin_mm) - 1.0;
        std::printf(
            "skin of %7zu triangles: %6.2f s, %8zu cells of %.2f mm, off by %+.3f %%, "
            "peak memory of this process %.0f MB\n",
            mesh.triangles.size(), seconds.back(), skin.cells, skin.cell_mm, 100.0 * off,
            peak_mb());
        // A coarse torus is not the smooth one; only fine ones are held to it.
        good = good && (n < 200 || std::abs(off) < kWanted);
    }
    std::printf("time grows with triangles^%.2f, triangles^%.2f\n",
                exponent(seconds[0], seconds[1], 4.0), exponent(seconds[1], seconds[2], 4.0));
    return good;
}

void growth_in_cells(int segments) {
    const TriMesh mesh = torus_solid(kRing_mm, kTube_mm, segments / 4).mesh;
    const TriangleBvh surface(mesh);
    std::vector<double> cells;
    std::vector<double> seconds;
    for (const double cell : {0.5, 0.35, 0.25}) {
        DepthVolume skin;
        seconds.push_back(best_s(2, [&] {
            skin = depth_volume(mesh, surface,
                                {.depths_mm = {kSkin_mm},
                                 .cell_mm = cell * kTube_mm / 10.0,
                                 .max_cells = 1U << 28U});
        }));
        cells.push_back(static_cast<double>(skin.cells));
        std::printf("cells of %.2f mm: %9.0f cells, %6.2f s\n", skin.cell_mm, cells.back(),
                    seconds.back());
    }
    std::printf("time grows with cells^%.2f\n",
                std::log(seconds[2] / seconds[0]) / std::log(cells[2] / cells[0]));
}

using cgal_side::Kernel;
using cgal_side::Surface;
using cgal_side::surface_of;

// Thickness at every face, with our index and CGAL's tree counted in. True if every face has one.
bool thickness(const TriMesh& mesh) {
    const Adjacency adjacent = adjacency(mesh);
    // One sample at least for every face.
    const ThicknessOptions options{.samples = mesh.triangles.size() / 2 + 1};
    RunContext alone;
    alone.threads = 1;
    ThicknessMap map;
    const auto measure = [&](const RunContext& context) {
        return best_s(3, [&] {
            const TriangleBvh surface(mesh, context);
            map = thickness_map(mesh, adjacent, surface, options, context);
        });
    };
    const double ours_s = measure({});
    const double ours_alone_s = measure(alone);
    std::printf(
        "thickness of %zu faces by %zu balls: %.3f s, on one thread %.3f s; median %.2f mm\n",
        mesh.triangles.size(), map.samples.size(), ours_s, ours_alone_s,
        thickness_quantile_mm(map, 0.5));

    const Surface surface = surface_of(mesh);
    Surface theirs = surface;
    const auto values = theirs.add_property_map<Surface::Face_index, double>("f:sdf", 0.0).first;
    double start = processor_s();
    const TriangleBvh index(mesh, alone);
    static_cast<void>(thickness_map(mesh, adjacent, index, options, alone));
    const double ours_processor_s = processor_s() - start;
    start = processor_s();
    const double theirs_s = best_s(1, [&] { CGAL::sdf_values(theirs, values); });
    const double theirs_processor_s = processor_s() - start;
    std::printf(
        "CGAL sdf_values, defaults, one thread: %.2f s: %.1f times as long as ours, %.1f "
        "times as long as ours on one thread\n",
        theirs_s, theirs_s / ours_s, theirs_s / ours_alone_s);
    std::printf("processor time on one thread: %.2f s and %.2f s, %.1f times\n", ours_processor_s,
                theirs_processor_s, theirs_processor_s / ours_processor_s);
    return map.per_triangle_mm.size() == mesh.triangles.size() &&
           std::all_of(map.per_triangle_mm.begin(), map.per_triangle_mm.end(),
                       [](double t) { return t > 0.0; });
}

}  // namespace

int main(int count, char** arguments) {
    const int segments = count > 1 ? std::atoi(arguments[1]) : 912;
    if (segments < 24 || segments > 5000) {
        std::fprintf(stderr, "skin_bench: give 24 to 5000 segments.\n");
        return 2;
    }
    bool good = skin_volume(segments);
    growth_in_cells(segments);
    const TriMesh mesh = count > 2 ? weld_exact(read_mesh(arguments[2]).mesh).mesh
                                   : torus_solid(kRing_mm, kTube_mm, segments / 4).mesh;
    good = thickness(mesh) && good;
    std::puts(good ? "answers are right" : "an answer is WRONG");
    return good ? 0 : 1;
}
