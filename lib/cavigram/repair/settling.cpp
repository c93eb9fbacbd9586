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

// Shells of which two triangles cross.
std::vector<bool> crossing_themselves(Workpiece& work) {
    const Shells& shells = work.shells();
    std::vector<bool> tangled(static_cast<std::size_t>(shells.count), false);
    for (const CrossingPair& pair : work.crossings()) {
        const std::int32_t a = shells.of_triangle[static_cast<std::size_t>(pair[0])];
        if (a == shells.of_triangle[static_cast<std::size_t>(pair[1])]) {
            tangled[static_cast<std::size_t>(a)] = true;
        }
    }
    return tangled;
}

// Each shell that crosses itself is mended by itself, so that shells that cross each other stay
// for the union.
void cut_tangles(Workpiece& work) {
    const std::vector<bool> tangled = crossing_themselves(work);
    if (std::count(tangled.begin(), tangled.end(), true) == 0) {
        return;
    }
    const auto triangles = triangles_of_shells(work.shells());
    TriMesh whole;
    std::size_t removed = 0;
    VolumeEffect effect;
    std::vector<Vec3> places;
    for (std::size_t s = 0; s < triangles.size(); ++s) {
        TriMesh shell = submesh(work.mesh(), triangles[s]);
        if (tangled[s]) {
            Untangling done =
                undo_tangles(shell, crossing_pairs_by_place(shell, work.context), work.context);
            shell = std::move(done.mesh);
            removed += done.triangles_removed;
            effect.change_mm3 += done.volume_change_mm3;
            effect.below_mm3 += done.volume_below_mm3;
            effect.above_mm3 += done.volume_above_mm3;
            places.insert(places.end(), done.places_mm.begin(), done.places_mm.end());
        }
        whole = joined(std::move(whole), shell);
    }
    if (removed > 0) {
        work.ledger.log(RepairAction::cut_tangles, removed, places, effect);
    }
    work.put(std::move(whole));
    work.note_parted();
    work.look_for_crossings();
}

// Crumbs that cutting left: shells of it below the share that scraps have.
void drop_crumbs(Workpiece& work, std::size_t untouched) {
    const double whole = area_of(work.mesh());
    std::vector<std::int32_t> left;
    std::vector<Vec3> places;
    for (const auto& shell : triangles_of_shells(work.shells())) {
        double area = 0.0;
        for (const std::int32_t t : shell) {
            area += area_of(work.mesh(), static_cast<std::size_t>(t));
        }
        if (static_cast<std::size_t>(shell.front()) >= untouched &&
            area < work.options.scrap_share * whole) {
            places.push_back(work.mesh().corner(static_cast<std::size_t>(shell.front()), 0));
        } else {
            left.insert(left.end(), shell.begin(), shell.end());
        }
    }
    if (places.empty() || left.empty()) {
        return;
    }
    std::sort(left.begin(), left.end());
    const double before = signed_volume_mm3(work.mesh());
    work.put(submesh(work.mesh(), left));
    work.ledger.fault(FaultKind::scrap, places.size(), places);
    work.ledger.log(RepairAction::drop_scraps, places.size(), places,
                    {signed_volume_mm3(work.mesh()) - before, 0.0, 0.0});
}

void tell_broken_hollows(Workpiece& work, const Uniting& united) {
    // Were the hollow as empty as its file says, all of it would go.
    work.ledger.log(RepairAction::fill_broken_hollow, united.broken_hollows, united.places_mm,
                    {0.0, united.broken_hollow_mm3, 0.0});
    work.ledger.find(
        Severity::warning, "hollow_broken",
        fmt::format("A hollow of {} breaks through its wall and is counted as solid, which the "
                    "range allows for; move it into the part, or cut the opening into the model.",
                    told(united.broken_hollow_mm3, Kind::volume)),
        united.places_mm);
}

void unite(Workpiece& work) {
    const double before = signed_volume_mm3(work.mesh());
    Uniting united = unite_crossing(work.mesh(), work.shells(), work.crossings(), work.context);
    if (united.failed) {
        return;
    }
    if (united.groups > 0) {
        work.ledger.fault(FaultKind::overlap, united.groups, united.places_mm);
    }
    work.put(std::move(united.mesh));
    work.note_parted();
    work.ledger.log(united.groups > 0 ? RepairAction::unite : RepairAction::cut_crossings,
                    united.shells + united.crossing_alone, united.places_mm,
                    {signed_volume_mm3(work.mesh()) - before, united.left_mm3, united.left_mm3});
    if (united.broken_hollows > 0) {
        tell_broken_hollows(work, united);
    }
    part_touching(work);
    if (!work.options.keep_scraps) {
        drop_crumbs(work, united.untouched);
    }
    if (united.left > 0) {
        work.look_for_crossings();
        work.keep_as_rounding();
    }
}

}  // namespace

void settle_crossings(Workpiece& work) {
    work.context.report("looking for crossings", 0.0);
    work.look_for_crossings();
    if (work.crossings().empty()) {
        return;
    }
    std::vector<std::int32_t> crossing;
    for (const CrossingPair& pair : work.crossings()) {
        crossing.push_back(pair[0]);
    }
    work.ledger.fault(FaultKind::crossing, crossing.size(), work.places_of(crossing));
    if (work.options.level == MendLevel::full) {
        cut_tangles(work);
        if (!work.crossings().empty()) {
            unite(work);
        }
    }
}

void allow_for_crossings(Workpiece& work) {
    if (work.crossings().empty()) {
        return;
    }
    const std::vector<Vec3> places = work.places_of({work.crossings().front()[0]});
    VolumeEffect effect;
    if (!work.crossings_are_rounding()) {  // what rounding left is in the range already
        const DoubleCount counted = double_count(work.mesh(), work.context);
        effect.below_mm3 = std::max(0.0, counted.excess_mm3 + counted.error_mm3);
        effect.above_mm3 = std::max(0.0, counted.error_mm3 - counted.excess_mm3);
    }
    work.ledger.log(RepairAction::keep_crossings, work.crossings().size(), places, effect);
    work.ledger.find(Severity::warning, "crosses_itself",
                     fmt::format("{} pairs of triangles still cross, the first near {}; air and "
                                 "volume there are less sure.",
                                 work.crossings().size(), told_at(places.front())),
                     places);
}

}  // namespace cavigram
