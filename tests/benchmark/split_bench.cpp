// SPDX-License-Identifier: GPL-3.0-or-later
// How long the parts of splitting a mold take. Nothing is asserted but that there is an answer.
//
// Usage: split_bench [SEGMENTS]   a ring with waves and noise of SEGMENTS^2 triangles; 228 gives
// 51,984, 912 gives 831,744.
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <sys/resource.h>

#include "cavigram/molding/split.h"

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

template <class Work>
void timed(const char* what, const Work& work) {
    const double start = now_s();
    const std::clock_t cpu = std::clock();  // of all threads: on a busy machine the better figure
    work();
    std::printf("%-44s %8.3f s, %8.3f s of processors\n", what, now_s() - start,
                static_cast<double>(std::clock() - cpu) / CLOCKS_PER_SEC);
}

}  // namespace

int main(int argc, char** argv) {
    const int segments = argc > 1 ? std::atoi(argv[1]) : 228;
    const TriMesh mesh = bumpy_ring(segments, 0.07, 7);
    std::printf("%zu triangles\n", mesh.triangles.size());
    const TriangleBvh index(mesh);
    const Vec3 pull(0.1, 0.2, 1.0);
    PartingSurface surface;
    timed("surface", [&] { surface = parting_surface(mesh); });
    for (const int across : {96, 192}) {
        ColumnCut cut;
        LockedSpace space;
        std::printf("%d columns\n", across);
        timed("  columns", [&] { cut = cut_columns(mesh, pull, {.across = across}); });
        timed("  locked space", [&] { space = locked_space(cut); });
        timed("  stretch", [&] { static_cast<void>(release_stretch(cut, space)); });
    }
    timed("what each side sees", [&] { static_cast<void>(side_views(mesh, index, pull, 20.0)); });
    timed("parting line along edges",
          [&] { static_cast<void>(parting(surface, index, pull, {.smooth = false})); });
    timed("parting line, smoothed", [&] { static_cast<void>(parting(surface, index, pull)); });
    PullSearch found;
    timed("search over 1,000 directions", [&] { found = search_pull(mesh, index); });
    timed("all of it", [&] { static_cast<void>(split_mold(mesh, index)); });
    std::printf("%zu directions tried; %.0f MB at the peak\n", found.looked_at, peak_mb());
    return found.rows.empty() ? 1 : 0;
}
