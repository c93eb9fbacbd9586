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
std::vector<std::array<std::int32_t, 2>> crossing_shells(const Workpiece& work) {
    std::vector<std::array<std::int32_t, 2>> list;
    for (const CrossingPair& pair : work.crossings) {
        const std::int32_t a = work.shells.of_triangle[static_cast<std::size_t>(pair[0])];
        const std::int32_t b = work.shells.of_triangle[static_cast<std::size_t>(pair[1])];
        if (a != b) {
            list.push_back({std::min(a, b), std::max(a, b)});
        }
    }
    std::sort(list.begin(), list.end());
    list.erase(std::unique(list.begin(), list.end()), list.end());
    return list;
}

// Drops shells; gives back what that did to the volume.
double keep_only(Workpiece& work, const std::vector<bool>& shell) {
    const double before = signed_volume_mm3(work.mesh);
    std::vector<std::int32_t> kept;
    for (std::size_t t = 0; t < work.mesh.triangles.size(); ++t) {
        if (shell[static_cast<std::size_t>(work.shells.of_triangle[t])]) {
            kept.push_back(static_cast<std::int32_t>(t));
        }
    }
    work.mesh = submesh(work.mesh, kept);
    work.refresh();
    if (!work.crossings.empty()) {
        work.crossings = crossing_pairs_by_place(work.mesh, work.context);
    }
    return signed_volume_mm3(work.mesh) - before;
}

void fill_hollows(Workpiece& work, const Nesting& nesting, std::size_t count) {
    std::vector<bool> outermost;
    for (const int depth : nesting.depth) {
        outermost.push_back(depth == 0);
    }
    const double change = keep_only(work, outermost);
    work.ledger.log("fill_hollows", count, {}).volume_change_mm3 = change;
}

// Shells in a solid that look the same way as it does: solid in solid, as the surface says. That
// their faces look the wrong way and they are hollows is in the range.
void drop_within(Workpiece& work, const Nesting& nesting) {
    std::vector<bool> kept;
    double volume = 0.0;
    std::vector<Vec3> places;
    const auto triangles = triangles_of_shells(work.shells);
    for (std::size_t s = 0; s < nesting.role.size(); ++s) {
        kept.push_back(nesting.role[s] != ShellRole::within);
        if (!kept.back()) {
            volume += std::abs(nesting.volume_mm3[s]);
            places.push_back(work.mesh.corner(static_cast<std::size_t>(triangles[s].front()), 0));
        }
    }
    if (places.empty()) {
        return;
    }
    if (work.options.level == MendLevel::off) {
        throw UnusableInput(fmt::format(
            "A shell lies in the part near {} and looks the same way as its outside, and "
            "mending is off; allow {} gentle or full.",
            told_at(places.front()), setting("mend")));
    }
    work.ledger.fault("within", places.size(), places);
    const double change = keep_only(work, kept);
    RepairStep& step = work.ledger.log("drop_within", places.size(), places);
    step.volume_change_mm3 = change;
    if (work.options.hollows == Hollows::fill) {
        return;
    }
    step.volume_below_mm3 = volume;
    work.ledger.findings.push_back(
        {Severity::warning, "solid_within",
         fmt::format(
             "{} shell{} inside the part and look{} the same way as its outside, {} "
             "together, taken for solid in solid; if it is hollow there, turn those faces over "
             "in the model.",
             places.size(), places.size() == 1 ? " lies" : "s lie", places.size() == 1 ? "s" : "",
             told(volume, Kind::volume)),
         step.places_mm});
}

// Whether some inner shell runs along the outside at about one distance.
bool double_skin(const Workpiece& work, const Nesting& nesting,
                 const std::vector<std::vector<std::int32_t>>& triangles) {
    std::vector<std::int32_t> outer;
    double outer_area = 0.0;
    for (std::size_t s = 0; s < triangles.size(); ++s) {
        if (nesting.depth[s] == 0) {
            outer.insert(outer.end(), triangles[s].begin(), triangles[s].end());
        }
    }
    const TriMesh outside = submesh(work.mesh, outer);
    outer_area = area_of(outside);
    const TriangleBvh tree(outside);
    for (std::size_t s = 0; s < triangles.size(); ++s) {
        const TriMesh inside = nesting.depth[s] == 1 ? submesh(work.mesh, triangles[s]) : TriMesh{};
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
    Nesting nesting = orient_shells(work.mesh, work.shells, crossing_shells(work));
    if (!nesting.turned.empty()) {
        if (work.options.level == MendLevel::off) {
            throw UnusableInput(
                "The surface, or a shell of it, is inside out, and mending is off; allow " +
                setting("mend") + " gentle or full.");
        }
        work.ledger.log("turn_shells", nesting.turned.size(), {});
        work.refresh();
    }
    if (std::count(nesting.role.begin(), nesting.role.end(), ShellRole::within) > 0) {
        drop_within(work, nesting);
        nesting = orient_shells(work.mesh, work.shells, crossing_shells(work));
    }
    const auto count = static_cast<std::size_t>(
        std::count(nesting.role.begin(), nesting.role.end(), ShellRole::hollow));
    if (count == 0) {
        return;
    }
    double hollow = 0.0;
    const auto triangles = triangles_of_shells(work.shells);
    std::vector<Vec3> places;
    for (std::size_t s = 0; s < nesting.role.size(); ++s) {
        if (nesting.role[s] == ShellRole::hollow) {
            hollow += std::abs(nesting.volume_mm3[s]);
            places.push_back(work.mesh.corner(static_cast<std::size_t>(triangles[s].front()), 0));
        }
    }
    work.ledger.fault("hollow", count, places);
    if (work.options.hollows == Hollows::fill) {
        fill_hollows(work, nesting, count);
        return;
    }
    if (!double_skin(work, nesting, triangles)) {
        return;
    }
    work.ledger.fault("double_skin", 1, places);
    work.ledger.log("keep_hollow", count, places).volume_above_mm3 = hollow;
    work.ledger.findings.push_back(
        {Severity::warning,
         "double_skin",
         fmt::format("An inner surface follows the outer one, as a scan of both "
                     "sides of a wall does; its {} are taken for hollow space; if the part is "
                     "solid there, give {} fill.",
                     told(hollow, Kind::volume), setting("hollow")),
         {}});
}

}  // namespace cavigram
