// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/told.h"
#include "cavigram/repair/double_count.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/submesh_detail.h"
#include "cavigram/repair/tangles.h"
#include "cavigram/repair/unite.h"
#include "cavigram/repair/workpiece_detail.h"

namespace cavigram {

namespace {

// Each shell that crosses itself is mended by itself, so that shells that cross each other stay
// for the union.
void cut_tangles(Workpiece& work) {
    std::vector<bool> tangled(static_cast<std::size_t>(work.shells.count), false);
    bool any = false;
    for (const CrossingPair& pair : work.crossings) {
        const auto a =
            static_cast<std::size_t>(work.shells.of_triangle[static_cast<std::size_t>(pair[0])]);
        if (a ==
            static_cast<std::size_t>(work.shells.of_triangle[static_cast<std::size_t>(pair[1])])) {
            tangled[a] = any = true;
        }
    }
    if (!any) {
        return;
    }
    const auto triangles = triangles_of_shells(work.shells);
    TriMesh whole;
    RepairStep step;
    step.action = "cut_tangles";
    for (std::size_t s = 0; s < triangles.size(); ++s) {
        TriMesh shell = submesh(work.mesh, triangles[s]);
        if (tangled[s]) {
            Untangling done =
                undo_tangles(shell, crossing_pairs_by_place(shell, work.context), work.context);
            shell = std::move(done.mesh);
            step.count += done.triangles_removed;
            step.volume_change_mm3 += done.volume_change_mm3;
            step.volume_below_mm3 += done.volume_below_mm3;
            step.volume_above_mm3 += done.volume_above_mm3;
            for (const Vec3& place : done.places_mm) {
                if (step.places_mm.size() < kMostStepPlaces) {
                    step.places_mm.push_back(to_array(place));
                }
            }
        }
        whole = joined(std::move(whole), shell);
    }
    if (step.count > 0) {
        work.ledger.steps.push_back(step);
    }
    work.mesh = std::move(whole);
    work.refresh();
    work.crossings = crossing_pairs_by_place(work.mesh, work.context);
}

// Crumbs that cutting left: shells of it below the share that scraps have.
void drop_crumbs(Workpiece& work, std::size_t untouched) {
    const double whole = area_of(work.mesh);
    const auto triangles = triangles_of_shells(work.shells);
    std::vector<std::int32_t> kept;
    std::vector<Vec3> places;
    for (const auto& shell : triangles) {
        double area = 0.0;
        for (const std::int32_t t : shell) {
            area += area_of(work.mesh, static_cast<std::size_t>(t));
        }
        if (static_cast<std::size_t>(shell.front()) >= untouched &&
            area < work.options.scrap_share * whole) {
            places.push_back(work.mesh.corner(static_cast<std::size_t>(shell.front()), 0));
        } else {
            kept.insert(kept.end(), shell.begin(), shell.end());
        }
    }
    if (places.empty() || kept.empty()) {
        return;
    }
    std::sort(kept.begin(), kept.end());
    const double before = signed_volume_mm3(work.mesh);
    work.mesh = submesh(work.mesh, kept);
    work.ledger.fault("scrap", places.size(), places);
    work.ledger.log("drop_scraps", places.size(), places).volume_change_mm3 =
        signed_volume_mm3(work.mesh) - before;
    work.refresh();
}

void tell_broken_hollows(Workpiece& work, const Uniting& united) {
    // Were the hollow as empty as its file says, all of it would go.
    RepairStep& step =
        work.ledger.log("fill_broken_hollow", united.broken_hollows, united.places_mm);
    step.volume_below_mm3 = united.broken_hollow_mm3;
    work.ledger.findings.push_back(
        {Severity::warning, "hollow_broken",
         fmt::format("A hollow of {} breaks through its wall and is counted as solid, which the "
                     "range allows for; move it into the part, or cut the opening into the model.",
                     told(united.broken_hollow_mm3, Kind::volume)),
         step.places_mm});
}

void unite(Workpiece& work) {
    const double before = signed_volume_mm3(work.mesh);
    Uniting united = unite_crossing(work.mesh, work.shells, work.crossings, work.context);
    if (united.failed) {
        return;
    }
    if (united.groups > 0) {
        work.ledger.fault("overlap", united.groups, united.places_mm);
    }
    work.mesh = std::move(united.mesh);
    RepairStep& step = work.ledger.log(united.groups > 0 ? "unite" : "cut_crossings",
                                       united.shells + united.crossing_alone, united.places_mm);
    step.volume_change_mm3 = signed_volume_mm3(work.mesh) - before;
    step.volume_below_mm3 = step.volume_above_mm3 = united.left_mm3;
    if (united.broken_hollows > 0) {
        tell_broken_hollows(work, united);
    }
    part_touching(work);
    work.refresh();
    if (!work.options.keep_scraps) {
        drop_crumbs(work, united.untouched);
    }
    work.crossings = united.left > 0 ? crossing_pairs_by_place(work.mesh, work.context)
                                     : std::vector<CrossingPair>{};
    work.rounded_crossings = !work.crossings.empty();
}

}  // namespace

void settle_crossings(Workpiece& work) {
    work.context.report("looking for crossings", 0.0);
    work.crossings = work.touching ? crossing_pairs_by_place(work.mesh, work.context)
                                   : crossing_pairs(work.mesh, work.adjacent, work.context);
    if (work.crossings.empty()) {
        return;
    }
    std::vector<std::int32_t> crossing;
    for (const CrossingPair& pair : work.crossings) {
        crossing.push_back(pair[0]);
    }
    work.ledger.fault("crossing", work.crossings.size(), work.places_of(crossing));
    if (work.options.level == MendLevel::full) {
        cut_tangles(work);
        if (!work.crossings.empty()) {
            unite(work);
        }
    }
}

void allow_for_crossings(Workpiece& work) {
    if (work.crossings.empty()) {
        return;
    }
    RepairStep& step = work.ledger.log("keep_crossings", work.crossings.size(),
                                       work.places_of({work.crossings.front()[0]}));
    if (!work.rounded_crossings) {  // what rounding left is in the range already
        const DoubleCount counted = double_count(work.mesh, work.context);
        step.volume_below_mm3 = std::max(0.0, counted.excess_mm3 + counted.error_mm3);
        step.volume_above_mm3 = std::max(0.0, counted.error_mm3 - counted.excess_mm3);
    }
    work.ledger.findings.push_back(
        {Severity::warning, "crosses_itself",
         fmt::format(
             "{} pairs of triangles still cross, the first near {}; air and volume there "
             "are less sure.",
             work.crossings.size(),
             told_at(work.mesh.corner(static_cast<std::size_t>(work.crossings.front()[0]), 0))),
         work.ledger.steps.back().places_mm});
}

}  // namespace cavigram
