// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/told.h"
#include "cavigram/repair/holes.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/workpiece_detail.h"

namespace cavigram {

namespace {

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

void note_patch(Workpiece& work, const Patch& patch) {
    if (patch.kind == PatchKind::base) {
        work.ledger.find(
            Severity::note, "base_closed",
            fmt::format("The flat open side, {} wide, was closed flat, as if it had stood there.",
                        told(patch.diameter_mm, Kind::length)),
            {patch.center_mm});
    }
    if (patch.kind == PatchKind::mirrored) {
        work.ledger.find(
            Severity::note, "hole_mirrored",
            fmt::format("The hole {} wide near {} was closed with the mirror image of the surface "
                        "near {}, as {:.0f} % of the part is its own mirror image; if the two "
                        "sides differ there, scan the part there again.",
                        told(patch.diameter_mm, Kind::length), told_at(patch.center_mm),
                        told_at(patch.taken_from_mm), 100.0 * patch.agreeing_share),
            {patch.center_mm, patch.taken_from_mm});
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

// What the rim says beyond the figures.
const char* remark(const Patch& patch) {
    if (patch.limb) {
        return "; something ran on out of it, how far can't be known";
    }
    return patch.crumpled ? "; its rim is ragged, so more than a smooth piece may be missing" : "";
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
        work.ledger.find(
            Severity::warning, "large_hole",
            fmt::format("Mending closed {}{}; scan the part there again if that matters.",
                        hole_text(patch, made), patch.kind == PatchKind::base ? "" : remark(patch)),
            {patch.center_mm});
    }
}

void fault_holes(Workpiece& work, const std::vector<Patch>& patches) {
    for (const bool base : {false, true}) {
        Fault holes{base ? FaultKind::missing_base : FaultKind::hole, 0, {}, {}};
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

// How wide a hole may be; 0: any.
double widest(const Workpiece& work) {
    const std::optional<double>& asked = work.options.largest_hole_mm;
    if (work.options.level != MendLevel::gentle) {
        return asked.value_or(0.0);
    }
    const double gentle = kGentleHole * bounds(work.mesh()).diagonal().norm();
    return std::min(asked.value_or(gentle), gentle);
}

// Holes that are wider than may be closed are for the person to settle; others for a wrap, of the
// surface as far as it could be closed.
[[noreturn]] void refuse_open(Workpiece& work, HoleFilling filling, double limit) {
    const Patch& hole = filling.left_open.front();
    const bool limited = limit > 0.0 && hole.diameter_mm > limit;
    std::string allow;
    if (limited) {
        allow = work.options.level == MendLevel::gentle
                    ? ", or allow " + setting("mend") + " full"
                    : ", or allow a larger " + setting("largest-hole");
    }
    const std::string text =
        fmt::format("{} hole{} can't be closed, the first {} wide near {}; mend the mesh there{}.",
                    filling.left_open.size(), filling.left_open.size() == 1 ? "" : "s",
                    told(hole.diameter_mm, Kind::length), told_at(hole.center_mm), allow);
    if (limited) {
        throw UnusableInput(text);
    }
    work.put(std::move(filling.mesh));
    throw NotClosed(text);
}

// Each patch by what it makes up of the closed surface and its volume.
void judge_patches(Workpiece& work, const std::vector<Patch>& patches) {
    double patched = 0.0;
    for (const Patch& patch : patches) {
        patched += patch.area_mm2;
    }
    const double whole = area_of(work.mesh());
    const double volume = std::abs(signed_volume_mm3(work.mesh()));
    if (patched > kMostPatched * whole) {
        throw UnusableInput(fmt::format(
            "The surface is open: closing it would add {:.0f} % of its area, the largest gap {} "
            "wide near {}; give a mesh that goes all around the part.",
            100.0 * patched / (whole - patched), told(patches.front().diameter_mm, Kind::length),
            told_at(patches.front().center_mm)));
    }
    for (const Patch& patch : patches) {
        judge_patch(work, patch,
                    {patch.area_mm2 / whole, patch.volume_below_mm3 / volume,
                     patch.volume_above_mm3 / volume});
    }
}

}  // namespace

void close_holes(Workpiece& work) {
    HoleOptions options;
    options.largest_rim_diameter_mm = widest(work);
    HoleFilling filling = fill_holes(work.mesh(), options, work.context);
    if (!filling.left_open.empty()) {
        refuse_open(work, std::move(filling), options.largest_rim_diameter_mm);
    }
    std::sort(filling.patches.begin(), filling.patches.end(),
              [](const Patch& p, const Patch& q) { return p.area_mm2 > q.area_mm2; });
    VolumeEffect effect;
    std::vector<Vec3> places;
    for (const Patch& patch : filling.patches) {
        effect.change_mm3 += patch.volume_change_mm3;
        effect.below_mm3 += patch.volume_below_mm3;
        effect.above_mm3 += patch.volume_above_mm3;
        places.push_back(patch.center_mm);
        note_patch(work, patch);
    }
    fault_holes(work, filling.patches);
    work.ledger.log(RepairAction::close_holes, filling.patches.size(), places, effect);
    work.put(std::move(filling.mesh));
    judge_patches(work, filling.patches);
}

}  // namespace cavigram
