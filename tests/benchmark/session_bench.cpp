// SPDX-License-Identifier: GPL-3.0-or-later
// What a change costs in a session: session_bench PART [TURNS] (default
// sample_meshes/hand_lantern.glb, 40). Processor time beside the wall's, since others may use the
// machine.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <string>
#include <vector>

#include "cavigram/geom/directions.h"
#include "cavigram/plan/session.h"

using namespace cavigram;

namespace {

// Gives back the processors' time.
template <class Work>
double timed(const char* what, const Work& work) {
    const auto start = std::chrono::steady_clock::now();
    const std::clock_t used = std::clock();
    work();
    const std::chrono::duration<double> wall = std::chrono::steady_clock::now() - start;
    const double processors = static_cast<double>(std::clock() - used) / CLOCKS_PER_SEC;
    std::printf("%-40s %8.3f s, %8.3f s of processors\n", what, wall.count(), processors);
    return processors;
}

// What the mold costs beside all else, and what to build around the part beside its grams.
void time_mold(const PlanRequest& request, const Stages& all) {
    Stages without = all;
    without.split = without.mold = without.handle = false;
    const double alone = timed("fresh, no split, mold nor hand",
                               [&] { static_cast<void>(Session().plan(request, without)); });
    const double whole =
        timed("fresh, all stages again", [&] { static_cast<void>(Session().plan(request, all)); });
    std::printf("%-40s %8.0f %%\n", "so split, mold and hand add", 100.0 * (whole / alone - 1.0));
    Session session;
    Stages grams{.foam = true};
    timed("grams alone, fresh", [&] { static_cast<void>(session.plan(request, grams)); });
    grams.mold = true;
    timed("and what to build around the part",
          [&] { static_cast<void>(session.plan(request, grams)); });
    grams.split = true;
    timed("and how it is split", [&] { static_cast<void>(session.plan(request, grams)); });
}

}  // namespace

int main(int count, char** words) {
    PlanRequest request;
    request.part.file = count > 1 ? words[1] : "sample_meshes/hand_lantern.glb";
    request.air.up_given = false;
    const int turns = count > 2 ? std::max(1, std::atoi(words[2])) : 40;
    time_mold(request, kWholePlan);
    Session session;
    const auto plan = [&] { static_cast<void>(session.plan(request, kWholePlan)); };
    timed("all stages, fresh", plan);
    timed("the same again", plan);
    request.bench.temperature_c = 21.0;
    timed("another temperature", plan);
    request.foam.copies = 3;
    timed("more copies", plan);
    request.foam.density_kg_m3 = 150.0;
    timed("another density", plan);
    request.air.up = Vec3(1, 0, 0);
    request.air.up_given = true;
    timed("another way up", plan);
    request.air.up = Vec3(0, 0, 1);
    const Stages weighed{.foam = true, .air = true};
    timed("another way up, grams and air alone",
          [&] { static_cast<void>(session.plan(request, weighed)); });
    std::vector<double> turn_s;
    for (const Vec3& up : sphere_directions(turns)) {
        const auto start = std::chrono::steady_clock::now();
        static_cast<void>(session.air(request, up));
        turn_s.push_back(
            std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
    }
    std::sort(turn_s.begin(), turn_s.end());
    std::printf("turned %zu ways: median %.4f s, 95 of 100 within %.4f s\n", turn_s.size(),
                turn_s[turn_s.size() / 2], turn_s[turn_s.size() * 95 / 100]);
    return 0;
}
