// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/told.h"
#include "cavigram/repair/orientation.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/submesh_detail.h"
#include "cavigram/repair/workpiece_detail.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

namespace {

// Nested shells are the two skins of one scanned wall if the inner has at least this share of the
// outer's area, and the wall's thickness varies (interquartile range) by less than this share of
// its median.
constexpr double kSkinArea = 0.4;
constexpr double kSkinVariation = 0.5;

// Shells that still cross are not within each other.
std::vector<std::array<std::int32_t, 2>> crossing_shells(Workpiece& work) {
    const Shells& shells = work.shells();
    std::vector<std::array<std::int32_t, 2>> list;
    for (const CrossingPair& pair : work.crossings()) {
        const std::int32_t a = shells.of_triangle[static_cast<std::size_t>(pair[0])];
        const std::int32_t b = shells.of_triangle[static_cast<std::size_t>(pair[1])];
        if (a != b) {
            list.push_back({std::min(a, b), std::max(a, b)});
        }
    }
    std::sort(list.begin(), list.end());
    list.erase(std::unique(list.begin(), list.end()), list.end());
    return list;
}

// Drops shells; gives back what that did to the volume. Crossings that stayed are found anew.
double keep_only(Workpiece& work, const std::vector<bool>& shell) {
    const double before = signed_volume_mm3(work.mesh());
    const Shells& shells = work.shells();
    std::vector<std::int32_t> left;
    for (std::size_t t = 0; t < work.mesh().triangles.size(); ++t) {
        if (shell[static_cast<std::size_t>(shells.of_triangle[t])]) {
            left.push_back(static_cast<std::int32_t>(t));
        }
    }
    const bool crossed = !work.crossings().empty();
    const bool rounding = work.crossings_are_rounding();
    work.put(submesh(work.mesh(), left));
    if (crossed) {
        work.look_for_crossings();
    }
    if (rounding) {
        work.keep_as_rounding();
    }
    return signed_volume_mm3(work.mesh()) - before;
}

void fill_hollows(Workpiece& work, const Nesting& nesting, std::size_t count) {
    std::vector<bool> outermost;
    for (const int depth : nesting.depth) {
        outermost.push_back(depth == 0);
    }
    const double change = keep_only(work, outermost);
    work.ledger.log(RepairAction::fill_hollows, count, {}, {change, 0.0, 0.0});
}

// A place on each shell that plays the role, and their volume.
struct ShellsInRole {
    std::vector<Vec3> places;
    double volume_mm3 = 0.0;
};

ShellsInRole shells_in_role(Workpiece& work, const Nesting& nesting, ShellRole role) {
    ShellsInRole result;
    if (std::count(nesting.role.begin(), nesting.role.end(), role) == 0) {
        return result;  // no lists of triangles needed
    }
    const auto triangles = triangles_of_shells(work.shells());
    for (std::size_t s = 0; s < nesting.role.size(); ++s) {
        if (nesting.role[s] == role) {
            result.volume_mm3 += std::abs(nesting.volume_mm3[s]);
            result.places.push_back(
                work.mesh().corner(static_cast<std::size_t>(triangles[s].front()), 0));
        }
    }
    return result;
}

// Shells in a solid that look the same way as it does: solid in solid, as the surface says. That
// their faces look the wrong way and they are hollows is in the range.
void drop_within(Workpiece& work, const Nesting& nesting) {
    const ShellsInRole within = shells_in_role(work, nesting, ShellRole::within);
    const std::size_t count = within.places.size();
    if (work.options.level == MendLevel::off) {
        throw UnusableInput(fmt::format(
            "A shell lies in the part near {} and looks the same way as its outside, and "
            "mending is off; allow {} gentle or full.",
            told_at(within.places.front()), setting("mend")));
    }
    std::vector<bool> others;
    for (const ShellRole role : nesting.role) {
        others.push_back(role != ShellRole::within);
    }
    work.ledger.fault(FaultKind::within, count, within.places);
    const double change = keep_only(work, others);
    const bool asked = work.options.hollows == Hollows::fill;
    work.ledger.log(RepairAction::drop_within, count, within.places,
                    {change, asked ? 0.0 : within.volume_mm3, 0.0});
    if (asked) {
        return;
    }
    work.ledger.find(
        Severity::warning, "solid_within",
        fmt::format("{} shell{} inside the part and look{} the same way as its outside, {} "
                    "together, taken for solid in solid; if it is hollow there, turn those faces "
                    "over in the model.",
                    count, count == 1 ? " lies" : "s lie", count == 1 ? "s" : "",
                    told(within.volume_mm3, Kind::volume)),
        within.places);
}

// Whether some inner shell runs along the outside at about one distance.
bool double_skin(Workpiece& work, const Nesting& nesting) {
    const auto triangles = triangles_of_shells(work.shells());
    std::vector<std::int32_t> outer;
    for (std::size_t s = 0; s < triangles.size(); ++s) {
        if (nesting.depth[s] == 0) {
            outer.insert(outer.end(), triangles[s].begin(), triangles[s].end());
        }
    }
    const TriMesh outside = submesh(work.mesh(), outer);
    const double outer_area = area_of(outside);
    const TriangleBvh tree(outside);
    for (std::size_t s = 0; s < triangles.size(); ++s) {
        const TriMesh inside =
            nesting.depth[s] == 1 ? submesh(work.mesh(), triangles[s]) : TriMesh{};
        if (inside.vertices.empty() || area_of(inside) < kSkinArea * outer_area) {
            continue;
        }
        std::vector<double> gaps;
        const std::size_t stride = inside.vertices.size() / 2000 + 1;
        for (std::size_t v = 0; v < inside.vertices.size(); v += stride) {
            gaps.push_back(tree.nearest(inside.vertices[v]).distance_mm);
        }
        std::sort(gaps.begin(), gaps.end());
        const std::size_t n = gaps.size();
        if (gaps[3 * n / 4] - gaps[n / 4] < kSkinVariation * gaps[n / 2]) {
            return true;
        }
    }
    return false;
}

}  // namespace

void nest_shells(Workpiece& work) {
    work.context.report("checking shells", 0.0);
    Nesting nesting = nesting_of(work.mesh(), work.shells(), crossing_shells(work));
    if (!nesting.turned.empty()) {
        if (work.options.level == MendLevel::off) {
            throw UnusableInput(
                "The surface, or a shell of it, is inside out, and mending is off; allow " +
                setting("mend") + " gentle or full.");
        }
        work.ledger.log(RepairAction::turn_shells, nesting.turned.size(), {});
        work.turn(nesting.turned);
    }
    if (std::count(nesting.role.begin(), nesting.role.end(), ShellRole::within) > 0) {
        drop_within(work, nesting);
        nesting = nesting_of(work.mesh(), work.shells(), crossing_shells(work));
    }
    const ShellsInRole hollows = shells_in_role(work, nesting, ShellRole::hollow);
    const std::size_t count = hollows.places.size();
    if (count == 0) {
        return;
    }
    work.ledger.fault(FaultKind::hollow, count, hollows.places);
    if (work.options.hollows == Hollows::fill) {
        fill_hollows(work, nesting, count);
        return;
    }
    if (!double_skin(work, nesting)) {
        return;
    }
    work.ledger.fault(FaultKind::double_skin, 1, hollows.places);
    work.ledger.log(RepairAction::keep_hollow, count, hollows.places,
                    {0.0, 0.0, hollows.volume_mm3});
    work.ledger.find(
        Severity::warning, "double_skin",
        fmt::format("An inner surface follows the outer one, as a scan of both sides of a wall "
                    "does; its {} are taken for hollow space; if the part is solid there, give {} "
                    "fill.",
                    told(hollows.volume_mm3, Kind::volume), setting("hollow")));
}

}  // namespace cavigram
