// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/told.h"
#include "cavigram/mesh/manifold.h"
#include "cavigram/repair/cracks.h"
#include "cavigram/repair/duplicates.h"
#include "cavigram/repair/holes.h"
#include "cavigram/repair/orientation.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/submesh_detail.h"
#include "cavigram/repair/workpiece_detail.h"

namespace cavigram {

namespace {

// Cracks wider than this share of the part's diagonal are holes. A tenth of a millimeter on a
// hand-sized part.
constexpr double kCrackShare = 3e-4;
// Patches that make up more than this of the area mean that the file holds a piece of a surface,
// not a part with holes.
constexpr double kMostPatched = 0.45;
// What closing one hole may make up of the area, or put the volume off by, without a word, and
// without being asked for it.
constexpr double kWorthAWarning = 0.03;
constexpr double kAskedFor = 0.15;
// A width that is named to three digits, in whatever unit, must not come out narrower than the
// hole.
constexpr double kAcceptedWidth = 1.02;
// Gentle mending closes no hole wider than this share of the diagonal: 2 mm on a hand-sized part.
constexpr double kGentleHole = 0.02;

void remove_repeated(Workpiece& work) {
    DuplicateRemoval removal = remove_duplicates(work.mesh);
    if (!removal.repeated.empty()) {
        work.ledger.log("drop_repeated", removal.repeated.size(), work.places_of(removal.repeated));
        work.ledger.fault("duplicate", removal.repeated.size(), work.places_of(removal.repeated));
    }
    if (!removal.folded.empty()) {
        work.ledger.log("drop_folded", removal.folded.size(), work.places_of(removal.folded));
        work.ledger.fault("folded", removal.folded.size(), work.places_of(removal.folded));
    }
    work.mesh = std::move(removal.mesh);
    if (work.mesh.triangles.empty()) {
        throw UnusableInput(
            "The surface is folded flat onto itself and encloses nothing; export a part with a "
            "thickness.");
    }
}

bool closed_when_parted(const Workpiece& work) {
    return adjacency(cut_to_manifold(work.mesh).mesh).closed();
}

void turn_faces(Workpiece& work) {
    Consistency consistent = make_consistent(work.mesh);
    if (consistent.turned > 0) {
        work.ledger.log("turn_faces", consistent.turned,
                        work.places_of(consistent.turned_triangles));
        work.ledger.fault("flipped", consistent.turned,
                          work.places_of(consistent.turned_triangles));
        work.mesh = std::move(consistent.mesh);
    }
}

void join_cracks(Workpiece& work) {
    CrackClosing closing =
        close_cracks(work.mesh, kCrackShare * bounds(work.mesh).diagonal().norm());
    if (closing.joined > 0) {
        work.ledger.fault("crack", closing.joined, closing.places_mm);
        RepairStep& step = work.ledger.log("close_cracks", closing.joined, closing.places_mm);
        step.volume_below_mm3 = step.volume_above_mm3 = closing.volume_bound_mm3;
        work.mesh = std::move(closing.mesh);
    }
}

void drop_scraps(Workpiece& work) {
    const Adjacency adjacent = adjacency(work.mesh);
    const Shells pieces = shells(work.mesh, adjacent);
    std::vector<double> area(static_cast<std::size_t>(pieces.count), 0.0);
    std::vector<bool> open(area.size(), false);
    double whole = 0.0;
    for (std::size_t t = 0; t < work.mesh.triangles.size(); ++t) {
        const double a = area_of(work.mesh, t);
        const auto piece = static_cast<std::size_t>(pieces.of_triangle[t]);
        area[piece] += a;
        whole += a;
        for (std::size_t i = 0; i < 3; ++i) {
            open[piece] = open[piece] || adjacent.twin[3 * t + i] < 0;
        }
    }
    std::vector<std::int32_t> kept;
    std::vector<Vec3> places;
    std::vector<bool> counted(area.size(), false);
    for (std::size_t t = 0; t < work.mesh.triangles.size(); ++t) {
        const auto piece = static_cast<std::size_t>(pieces.of_triangle[t]);
        if (area[piece] >= work.options.scrap_share * whole ||
            (work.options.keep_scraps && !open[piece])) {
            kept.push_back(static_cast<std::int32_t>(t));
        } else if (!counted[piece]) {
            counted[piece] = true;
            places.push_back(work.mesh.corner(t, 0));
        }
    }
    if (places.empty()) {
        return;
    }
    const double before = signed_volume_mm3(work.mesh);
    work.mesh = submesh(work.mesh, kept);
    work.ledger.fault("scrap", places.size(), places);
    RepairStep& step = work.ledger.log("drop_scraps", places.size(), places);
    step.volume_change_mm3 =
        adjacency(work.mesh).closed() ? signed_volume_mm3(work.mesh) - before : 0.0;
}

void note_patch(Workpiece& work, const Patch& patch) {
    if (patch.kind == PatchKind::base) {
        work.ledger.findings.push_back(
            {Severity::note,
             "base_closed",
             fmt::format("The flat open side, {} wide, was closed flat, as if the part had stood "
                         "there.",
                         told(patch.diameter_mm, Kind::length)),
             {to_array(patch.center_mm)}});
    }
    if (patch.kind == PatchKind::mirrored) {
        work.ledger.findings.push_back(
            {Severity::note,
             "hole_mirrored",
             fmt::format("The hole {} wide near {} was closed with the mirror image of the surface "
                         "near {}, as {:.0f} % of the part is its own mirror image; if the two "
                         "sides differ there, scan the part there again.",
                         told(patch.diameter_mm, Kind::length), told_at(patch.center_mm),
                         told_at(patch.taken_from_mm), 100.0 * patch.agreeing_share),
             {to_array(patch.center_mm), to_array(patch.taken_from_mm)}});
    }
}

// What closing a hole made up, and what that may do to the volume, as shares.
struct MadeUp {
    double area = 0.0;
    double below = 0.0;
    double above = 0.0;
    [[nodiscard]] double most(PatchKind kind) const {
        // A foot that is flat is no doubt by its size alone.
        return std::max({kind == PatchKind::base ? 0.0 : area, below, above});
    }
};

std::string hole_text(const Patch& patch, const MadeUp& made) {
    return fmt::format(
        "the hole {} wide near {}, which makes up {:.0f} % of the area and may put the "
        "volume off by -{:.1f} to +{:.1f} %",
        told(patch.diameter_mm, Kind::length), told_at(patch.center_mm), 100.0 * made.area,
        100.0 * made.below, 100.0 * made.above);
}

// Large holes are told of, and very large ones closed only for someone who asked for it.
void judge_patch(Workpiece& work, const Patch& patch, const MadeUp& made) {
    const double most = made.most(patch.kind);
    if (most > kAskedFor && !work.options.largest_hole_mm) {
        throw UnusableInput(
            fmt::format("Mending would close {}; scan the part there too, or accept it with {} of "
                        "{}.",
                        hole_text(patch, made), setting("largest-hole"),
                        told_own(kAcceptedWidth * patch.diameter_mm, Kind::length, 3)));
    }
    if (most > kWorthAWarning) {
        work.ledger.findings.push_back(
            {Severity::warning,
             "large_hole",
             fmt::format("Mending closed {}{}; scan the part there again if that matters.",
                         hole_text(patch, made),
                         patch.kind == PatchKind::base ? ""
                         : patch.limb ? "; something ran on out of it, how far can't be known"
                         : patch.crumpled
                             ? "; its rim is ragged, so more than a smooth piece may be "
                               "missing"
                             : ""),
             {to_array(patch.center_mm)}});
    }
}

void fault_holes(Workpiece& work, const std::vector<Patch>& patches) {
    for (const bool base : {false, true}) {
        Fault holes{base ? "missing_base" : "hole", 0, {}, {}};
        for (const Patch& patch : patches) {
            if ((patch.kind == PatchKind::base) == base) {
                ++holes.count;
                if (holes.places_mm.size() < kMostFaultPlaces) {
                    holes.places_mm.push_back(to_array(patch.center_mm));
                    holes.sizes_mm.push_back(patch.rim_mm);
                }
            }
        }
        if (holes.count > 0) {
            work.ledger.faults.push_back(std::move(holes));
        }
    }
}

void close_holes(Workpiece& work) {
    HoleOptions holes;
    holes.largest_rim_diameter_mm = work.options.largest_hole_mm.value_or(0.0);
    if (work.options.level == MendLevel::gentle) {
        const double gentle = kGentleHole * bounds(work.mesh).diagonal().norm();
        holes.largest_rim_diameter_mm =
            std::min(work.options.largest_hole_mm.value_or(gentle), gentle);
    }
    const double limit = holes.largest_rim_diameter_mm;
    HoleFilling filling = fill_holes(work.mesh, holes, work.context);
    if (!filling.left_open.empty()) {
        const Patch& hole = filling.left_open.front();
        const bool limited = limit > 0.0 && hole.diameter_mm > limit;
        const std::string text = fmt::format(
            "{} hole{} can't be closed, the first {} wide near {}; mend the mesh there{}.",
            filling.left_open.size(), filling.left_open.size() == 1 ? "" : "s",
            told(hole.diameter_mm, Kind::length), told_at(hole.center_mm),
            !limited ? std::string()
            : work.options.level == MendLevel::gentle
                ? ", or allow " + setting("mend") + " full"
                : ", or allow a larger " + setting("largest-hole"));
        if (limited) {
            throw UnusableInput(text);
        }
        work.mesh = std::move(filling.mesh);
        throw NotClosed(text);
    }
    double patched = 0.0;
    RepairStep step;
    step.action = "close_holes";
    step.count = filling.patches.size();
    std::sort(filling.patches.begin(), filling.patches.end(),
              [](const Patch& p, const Patch& q) { return p.area_mm2 > q.area_mm2; });
    for (const Patch& patch : filling.patches) {
        patched += patch.area_mm2;
        step.volume_change_mm3 += patch.volume_change_mm3;
        step.volume_below_mm3 += patch.volume_below_mm3;
        step.volume_above_mm3 += patch.volume_above_mm3;
        if (step.places_mm.size() < kMostStepPlaces) {
            step.places_mm.push_back(to_array(patch.center_mm));
        }
        note_patch(work, patch);
    }
    fault_holes(work, filling.patches);
    work.ledger.steps.push_back(step);
    work.mesh = std::move(filling.mesh);
    const double whole = area_of(work.mesh);
    const double volume = std::abs(signed_volume_mm3(work.mesh));
    if (patched <= kMostPatched * whole) {
        for (const Patch& patch : filling.patches) {
            judge_patch(work, patch,
                        {patch.area_mm2 / whole, patch.volume_below_mm3 / volume,
                         patch.volume_above_mm3 / volume});
        }
    } else {
        throw UnusableInput(fmt::format(
            "The surface is open: closing it would add {:.0f} % of its area, the largest "
            "gap {} wide near {}; "
            "give a mesh that goes all around the part.",
            100.0 * patched / (whole - patched),
            told(filling.patches.front().diameter_mm, Kind::length),
            told_at(filling.patches.front().center_mm)));
    }
}

}  // namespace

void part_touching(Workpiece& work) {
    ManifoldCut cut = cut_to_manifold(work.mesh);
    if (cut.vertices_parted > 0) {
        std::vector<Vec3> places(
            cut.mesh.vertices.end() - static_cast<std::ptrdiff_t>(cut.vertices_parted),
            cut.mesh.vertices.end());
        work.ledger.log("part_touching", cut.edges_parted + cut.vertices_parted, places);
        work.ledger.fault(cut.edges_parted > 0 ? "nonmanifold_edge" : "nonmanifold_vertex",
                          std::max(cut.edges_parted, std::size_t{1}), places);
        work.touching = true;
    }
    work.mesh = std::move(cut.mesh);
}

void sew(Workpiece& work) {
    remove_repeated(work);
    if (!closed_when_parted(work)) {
        turn_faces(work);
    }
    if (!closed_when_parted(work)) {
        join_cracks(work);
        remove_repeated(work);
        turn_faces(work);
    }
    part_touching(work);
    drop_scraps(work);
    if (!adjacency(work.mesh).closed()) {
        close_holes(work);
        part_touching(work);  // a patch may run along an edge that is there already
    }
    drop_scraps(work);
}

}  // namespace cavigram
