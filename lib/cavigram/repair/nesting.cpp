// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "cavigram/core/text.h"
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

void fill_hollows(Workpiece& work, const Nesting& nesting, std::size_t count) {
    const double before = signed_volume_mm3(work.mesh);
    std::vector<std::int32_t> kept;
    for (std::size_t t = 0; t < work.mesh.triangles.size(); ++t) {
        if (nesting.depth[static_cast<std::size_t>(work.shells.of_triangle[t])] == 0) {
            kept.push_back(static_cast<std::int32_t>(t));
        }
    }
    work.mesh = submesh(work.mesh, kept);
    work.refresh();
    work.crossings = work.options.crossings ? crossing_pairs_by_place(work.mesh, work.context)
                                            : std::vector<CrossingPair>{};
    work.ledger.log("fill_hollows", count, {}).volume_change_mm3 =
        signed_volume_mm3(work.mesh) - before;
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
    const Nesting nesting = orient_shells(work.mesh, work.shells, crossing_shells(work));
    if (!nesting.turned.empty()) {
        if (work.options.level == MendLevel::off) {
            throw UnusableInput(
                "The surface, or a shell of it, is inside out, and mending is off; allow "
                "--mend gentle or full.");
        }
        work.ledger.log("turn_shells", nesting.turned.size(), {});
        work.refresh();
    }
    double hollow = 0.0;
    std::size_t count = 0;
    for (std::size_t s = 0; s < nesting.depth.size(); ++s) {
        if (nesting.depth[s] == 1) {
            hollow += std::abs(nesting.volume_mm3[s]);
            ++count;
        }
    }
    if (count == 0) {
        return;
    }
    const auto triangles = triangles_of_shells(work.shells);
    std::vector<Vec3> places;
    for (std::size_t s = 0; s < nesting.depth.size(); ++s) {
        if (nesting.depth[s] == 1) {
            places.push_back(work.mesh.corner(static_cast<std::size_t>(triangles[s].front()), 0));
        }
    }
    work.ledger.fault("hollow", count, places);
    if (work.options.hollows == Hollows::fill) {
        fill_hollows(work, nesting, count);
        return;
    }
    const bool skins = double_skin(work, nesting, triangles);
    if (skins) {
        work.ledger.fault("double_skin", 1, places);
    }
    if (nesting.assumed_hollow.empty() && !skins) {
        return;
    }
    double assumed = 0.0;
    for (const std::int32_t s : nesting.assumed_hollow) {
        assumed += std::abs(nesting.volume_mm3[static_cast<std::size_t>(s)]);
    }
    if (skins) {
        work.ledger.log("keep_hollow", count, places).volume_above_mm3 = hollow;
        work.ledger.findings.push_back(
            {Severity::warning,
             "double_skin",
             format("An inner surface follows the outer one, as a scan of both "
                    "sides of a wall does; its %.3g cm3 are taken for hollow "
                    "space; if the part is solid there, give --hollow fill.",
                    hollow / 1000.0),
             {}});
        return;
    }
    work.ledger.steps.back().volume_above_mm3 = assumed;
    const std::size_t shells_within = nesting.assumed_hollow.size();
    work.ledger.findings.push_back(
        {Severity::warning,
         "hollow_assumed",
         format("%zu shell%s inside the part, %.3g cm3 together, taken for hollow space; if "
                "the part is solid there, give --hollow fill.",
                shells_within, shells_within == 1 ? " lies" : "s lie", assumed / 1000.0),
         {}});
}

}  // namespace cavigram
