// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <utility>

#include "cavigram/core/text.h"
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

void unite(Workpiece& work) {
    const double before = signed_volume_mm3(work.mesh);
    Uniting united = unite_crossing(work.mesh, work.shells, work.crossings, work.context);
    if (united.groups + united.failed == 0) {
        return;
    }
    work.ledger.fault("overlap", united.groups + united.failed, united.places_mm);
    work.mesh = std::move(united.mesh);
    if (united.groups > 0) {
        work.ledger.log("unite", united.shells, united.places_mm).volume_change_mm3 =
            signed_volume_mm3(work.mesh) - before;
        part_touching(work);
    }
    if (united.failed > 0) {
        RepairStep& step = work.ledger.log("keep_overlap", united.failed, united.places_mm);
        // Shells that cross count as solid. Were a broken hollow as empty as its file says, its
        // volume would go, and as much of the wall.
        step.volume_below_mm3 =
            united.overlap_kept_mm3 + united.overlap_error_mm3 + 2.0 * united.broken_hollow_mm3;
        if (united.failed > united.broken_hollows) {
            work.ledger.findings.push_back(
                {Severity::warning, "overlap_kept",
                 format("Solids overlap and could not be united; about %.3g cm3 is "
                        "counted twice, which the range allows for.",
                        united.overlap_kept_mm3 / 1000.0),
                 step.places_mm});
        }
        if (united.broken_hollows > 0) {
            work.ledger.findings.push_back(
                {Severity::warning, "hollow_broken",
                 format(
                     "A hollow of %.3g cm3 breaks through its wall and is counted as solid, which "
                     "the range allows for; move it into the part, or cut the opening into the "
                     "model.",
                     united.broken_hollow_mm3 / 1000.0),
                 step.places_mm});
        }
    }
    work.refresh();
    work.crossings = crossing_pairs_by_place(work.mesh, work.context);
}

void keep_crossings(Workpiece& work) {
    double area = 0.0;
    double widest = 0.0;
    for (const CrossingPair& pair : work.crossings) {
        for (const std::int32_t t : pair) {
            const double one = area_of(work.mesh, static_cast<std::size_t>(t));
            area += one;
            widest = std::max(widest, one);
        }
    }
    // Where the surface crosses itself in one shell, what is counted twice is no deeper than
    // the crossing triangles are wide.
    RepairStep& step = work.ledger.log("keep_crossings", work.crossings.size(),
                                       work.places_of({work.crossings.front()[0]}));
    step.volume_below_mm3 = step.volume_above_mm3 =
        std::min(area, area_of(work.mesh)) * std::sqrt(widest);
    work.ledger.findings.push_back(
        {Severity::warning, "crosses_itself",
         format("%zu pairs of triangles still cross, the first near %s; air and volume there "
                "are less sure.",
                work.crossings.size(),
                place_text(work.mesh.corner(static_cast<std::size_t>(work.crossings.front()[0]), 0))
                    .c_str()),
         work.ledger.steps.back().places_mm});
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
        unite(work);
    }
    if (work.crossings.empty()) {
        return;
    }
    keep_crossings(work);
}

}  // namespace cavigram
