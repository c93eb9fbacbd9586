// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/holes.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/compressed_rows.h"
#include "cavigram/repair/continuation_detail.h"
#include "cavigram/repair/crossings.h"
#include "cavigram/repair/hole_triangles_detail.h"
#include "cavigram/repair/mirrored_piece_detail.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/rims_detail.h"
#include "cavigram/repair/workpiece_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kPlainRim = 8;  // edges; too few to tell a shape from
constexpr double kBaseShare = 0.3;    // of the part's largest extent
// Radians, 60 degrees: a side that leans less runs on, one that leans more was cut off.
constexpr double kBaseTurn = 1.05;
// Of the diameter: how uneven a foot may be, and what of the sides above the table may be lost;
// common practice, no source.
constexpr double kBaseSag = 0.02;
constexpr double kBaseLost = 0.035;
constexpr double kLargeShare = 0.01;  // of the area
constexpr double kLimbSine = 0.82;    // of the turn: the surface runs out of the hole
constexpr double kLimbGrowth = 0.35;
constexpr double kBallTrial = 0.03;  // of the volume that the patch adds
constexpr double kFacing = 0.6;      // cosine
constexpr double kCrumpled = 0.5;    // of a circle's area for its length
// Cosine of the turn, 160 degrees: the surface runs back beneath the hole, as a sheet's does, and
// which side of it is the outer one is for rounding and noise to say. Common practice, no source.
constexpr double kSheetTurn = -0.94;
constexpr std::size_t kMostRimsForRings = 64;  // beyond, it is a sieve and no foot
// How much larger than the faired patch a mirrored piece may be where no limb is missing: it would
// bring a handle to the side that has none. Common practice, no source.
constexpr double kMirroredArea = 2.0;

// The surface curves over toward the hole as a ball does, that is by the sine of its lean: it ran
// on, and was not cut off.
bool runs_on(const Rim& rim) {
    const double ball = std::sin(rim.turn);
    return rim.turn > 0.0 && rim.bend > 0.3 * ball && rim.bend < 2.0 * ball;
}

void measure_patch(Patch& patch, const TriMesh& mesh, const std::vector<Triangle>& triangles,
                   const Rim& rim) {
    for (const Triangle& t : triangles) {
        const Vec3 a = position(mesh, t[0]) - rim.center;
        const Vec3 b = position(mesh, t[1]) - rim.center;
        const Vec3 c = position(mesh, t[2]) - rim.center;
        patch.area_mm2 += 0.5 * (b - a).cross(c - a).norm();
        patch.volume_change_mm3 +=
            a.dot(b.cross(c)) / 6.0;  // the flat fan from the center has none
    }
    // However the patch lies, the true surface may be as uneven as the rim is.
    const double uneven = patch.area_mm2 * rim.unevenness_mm;
    if (patch.kind == PatchKind::base) {
        patch.volume_below_mm3 = std::max(uneven, patch.area_mm2 * kBaseSag * patch.diameter_mm);
        patch.volume_above_mm3 =
            std::max({uneven, patch.area_mm2 * kBaseLost * patch.diameter_mm,
                      runs_on(rim) ? cap_volume_mm3(patch.diameter_mm, rim.turn) : 0.0});
        return;
    }
    const double cap = cap_volume_mm3(patch.diameter_mm, rim.turn);
    const bool either_side = std::cos(rim.turn) < kSheetTurn;
    const double low = either_side ? -std::abs(cap) : cap;
    const double high = either_side ? std::abs(cap) : cap;
    patch.volume_below_mm3 =
        patch.volume_change_mm3 - std::min({0.0, patch.volume_change_mm3, low}) + uneven;
    patch.volume_above_mm3 =
        std::max({0.0, patch.volume_change_mm3, high}) - patch.volume_change_mm3 + uneven;
}

// How many triangles of the patch cross each other or the surface around it.
std::size_t crossings_of(const TriMesh& mesh, const CompressedRows& at, const Rim& rim,
                         const std::vector<Triangle>& patch, const RunContext& context) {
    TriMesh local;
    local.vertices = mesh.vertices;
    local.triangles = patch;
    for (const std::int32_t t : triangles_near(mesh, at, rim.vertices, kFairingRings)) {
        local.triangles.push_back(mesh.triangles[static_cast<std::size_t>(t)]);
    }
    return crossing_pairs(local, adjacency(local), context).size();
}

// Carries the surface on across a faired patch and takes its range from the trials; false, and
// nothing changed, if that can't be done or makes triangles cross.
//
// Missing pieces are seldom flatter than their continuation and often fuller, so the range reaches
// up four times as far as down; the terms in the patch's own size were found on 20 shapes with
// holes of 2 to 25 % and held on 15 others.
bool carry_on_large(Patch& patch, TriMesh& mesh, const CompressedRows& at, const Rim& rim,
                    const std::vector<Triangle>& triangles, std::size_t first, double volume_mm3,
                    const RunContext& context) {
    const std::vector<Vec3> before(mesh.vertices.begin() + static_cast<std::ptrdiff_t>(first),
                                   mesh.vertices.end());
    const std::size_t crossed = crossings_of(mesh, at, rim, triangles, context);
    const std::optional<LargePatch> large =
        carry_on(mesh, at, rim, triangles, first, patch.area_mm2, context);
    if (large && crossings_of(mesh, at, rim, triangles, context) > crossed) {
        std::copy(before.begin(), before.end(),
                  mesh.vertices.begin() + static_cast<std::ptrdiff_t>(first));
        return false;
    }
    if (!large) {
        return false;
    }
    const double uneven = patch.area_mm2 * rim.unevenness_mm;
    patch.volume_change_mm3 += large->moved_mm3;
    patch.carried_on = true;
    patch.trial_mm3 = large->trial_mm3;
    const double size = std::pow(patch.area_mm2, 1.5);
    const double trial = large->trial_mm3 >= 0.0 ? large->trial_mm3 : uneven;
    const double doubt = large->doubt_mm3 + trial + 0.002 * size;
    patch.volume_above_mm3 = 4.0 * doubt + 0.1 * size + 5e-4 * volume_mm3;
    patch.volume_below_mm3 = doubt + 0.01 * size + 5e-4 * volume_mm3;
    if (patch.limb || patch.crumpled) {  // or it ends right there
        patch.volume_below_mm3 = std::max(patch.volume_below_mm3, patch.volume_change_mm3);
    }
    return true;
}

// A flat wide rim whose sides curve over may be a foot or the rest of a ball. It is the latter if
// pieces cut for trial elsewhere come back within a few hundredths of what the patch adds.
std::vector<Triangle> ball_patch(Patch& patch, TriMesh& mesh, const CompressedRows& at,
                                 const Rim& rim, double volume_mm3, const RunContext& context) {
    const std::size_t first = mesh.vertices.size();
    std::vector<Triangle> triangles = faired_patch(mesh, at, rim);
    Patch trial = patch;
    trial.kind = PatchKind::faired;
    if (!triangles.empty()) {
        measure_patch(trial, mesh, triangles, rim);
        if (carry_on_large(trial, mesh, at, rim, triangles, first, volume_mm3, context) &&
            trial.trial_mm3 >= 0.0 && trial.trial_mm3 < kBallTrial * trial.volume_change_mm3) {
            patch = trial;
            return triangles;
        }
    }
    mesh.vertices.resize(first);
    return {};
}

// Two rims that look at each other, as where a limb was cut through: what lay between may be
// missing, so the range of each reaches half way over.
void allow_for_bridges(std::vector<Patch>& patches) {
    for (std::size_t i = 0; i < patches.size(); ++i) {
        for (std::size_t k = i + 1; k < patches.size(); ++k) {
            const Vec3 way = patches[k].center_mm - patches[i].center_mm;
            const double small = std::min(patches[i].area_mm2, patches[k].area_mm2);
            const double large = std::max(patches[i].area_mm2, patches[k].area_mm2);
            if (patches[i].outward.dot(way) < kFacing * way.norm() ||
                patches[k].outward.dot(way) > -kFacing * way.norm() || small < 0.5 * large ||
                !patches[i].limb || !patches[k].limb) {
                continue;
            }
            for (Patch* patch : {&patches[i], &patches[k]}) {
                patch->volume_above_mm3 += 0.25 * (small + large) * way.norm();
            }
        }
    }
}

// Fills the rims of one mesh, one after the other.
class HoleFiller {
  public:
    HoleFiller(const TriMesh& mesh, const HoleOptions& options, const RunContext& context)
        : open_(mesh),
          options_(options),
          context_(context),
          adjacent_(adjacency(mesh)),
          at_(triangles_at_vertices(mesh)),
          extent_mm_(bounds(mesh).sizes().maxCoeff()),
          area_mm2_(area_of(mesh)),
          volume_mm3_(std::abs(signed_volume_mm3(mesh))) {
        result_.mesh = mesh;
        for (auto& loop : border_loops(mesh, adjacent_)) {
            rims_.push_back(measure_rim(mesh, std::move(loop), at_));
        }
    }

    HoleFilling fill() {
        for (std::size_t i = 0; rims_.size() <= kMostRimsForRings && i < rims_.size(); ++i) {
            for (std::size_t k = 0; k < rims_.size(); ++k) {
                close_ring(i, k);
            }
        }
        for (std::size_t i = 0; i < rims_.size(); ++i) {
            context_.report("closing holes",
                            static_cast<double>(i) / static_cast<double>(rims_.size()));
            if (!rims_[i].vertices.empty()) {  // otherwise closed as a ring
                close(rims_[i]);
            }
        }
        allow_for_bridges(result_.patches);
        return std::move(result_);
    }

  private:
    [[nodiscard]] bool too_wide(const Patch& patch) const {
        return options_.largest_rim_diameter_mm > 0.0 &&
               patch.diameter_mm > options_.largest_rim_diameter_mm;
    }

    static Patch patch_for(const Rim& rim) {
        Patch patch;
        patch.center_mm = rim.center;
        patch.outward = rim.outward;
        patch.rim_edges = rim.vertices.size();
        patch.rim_mm = rim.length_mm;
        patch.diameter_mm = 2.0 * std::sqrt(rim.flat_area_mm2 / std::numbers::pi);
        patch.limb = std::sin(rim.turn) > kLimbSine && rim.growth < kLimbGrowth && !runs_on(rim);
        patch.crumpled = rim.vertices.size() > kPlainRim && rim.roundness < kCrumpled;
        return patch;
    }

    void add(const Patch& patch, const std::vector<Triangle>& triangles) {
        result_.mesh.triangles.insert(result_.mesh.triangles.end(), triangles.begin(),
                                      triangles.end());
        result_.patches.push_back(patch);
    }

    // Two rims that are those of a ring-shaped foot are closed together.
    void close_ring(std::size_t i, std::size_t k) {
        const bool fits = i != k && rims_[i].vertices.size() >= 3 &&
                          rims_[k].vertices.size() >= 3 &&
                          rims_[i].vertices.size() + rims_[k].vertices.size() < kCubicSearch &&
                          ring_of(open_, rims_[i], rims_[k]);
        if (!fits) {
            return;
        }
        const Rim both = bridged(open_, rims_[i], rims_[k]);
        const std::vector<Triangle> triangles = plain_patch(open_, both, false);
        Patch patch = patch_for(both);
        patch.kind = PatchKind::base;
        patch.rim_edges = rims_[i].vertices.size() + rims_[k].vertices.size();
        patch.limb = patch.crumpled = false;
        if (triangles.empty() || too_wide(patch)) {
            return;
        }
        measure_patch(patch, open_, triangles, both);
        add(patch, triangles);
        rims_[i].vertices.clear();
        rims_[k].vertices.clear();
    }

    void close(const Rim& rim) {
        Patch patch = patch_for(rim);
        if (too_wide(patch) || rim.vertices.size() < 3) {
            result_.left_open.push_back(patch);
            return;
        }
        const std::vector<Triangle> triangles = triangles_over(patch, rim);
        if (triangles.empty()) {
            result_.left_open.push_back(patch);
        } else {
            add(patch, triangles);
        }
    }

    // Of the first kind that suits the rim and can be had; none if none can.
    std::vector<Triangle> triangles_over(Patch& patch, const Rim& rim) {
        const bool flat = rim.unevenness_mm <= kFlatShare * patch.diameter_mm;
        std::vector<Triangle> triangles;
        if (flat && patch.diameter_mm > kBaseShare * extent_mm_ && std::abs(rim.turn) > kBaseTurn) {
            patch.kind = PatchKind::base;
            if (options_.large && runs_on(rim)) {
                triangles = ball_patch(patch, result_.mesh, at_, rim, volume_mm3_, context_);
            }
            if (!triangles.empty()) {
                return triangles;
            }
            triangles = plain_patch(result_.mesh, rim, true);
        } else if (rim.vertices.size() > kPlainRim && options_.faired) {
            triangles = faired(patch, rim);
            if (!triangles.empty()) {
                return triangles;
            }
        }
        if (triangles.empty()) {
            triangles = plain_patch(result_.mesh, rim, false);
        }
        if (!triangles.empty()) {
            measure_patch(patch, result_.mesh, triangles, rim);
        }
        return triangles;
    }

    std::vector<Triangle> faired(Patch& patch, const Rim& rim) {
        const std::size_t first = result_.mesh.vertices.size();
        std::vector<Triangle> triangles = faired_patch(result_.mesh, at_, rim);
        if (triangles.empty()) {
            return {};
        }
        patch.kind = PatchKind::faired;
        measure_patch(patch, result_.mesh, triangles, rim);
        if (options_.large && patch.area_mm2 > kLargeShare * area_mm2_ &&
            !(options_.mirror && mirror(patch, rim, triangles, first))) {
            carry_on_large(patch, result_.mesh, at_, rim, triangles, first, volume_mm3_, context_);
        }
        return triangles;
    }

    // Puts the image of what lies across a mirror plane in place of a faired patch, if there is
    // one. The range: both residuals over the area of the patch, as if all of it lay off to one
    // side, half as much again, and 0.15 % of the volume; found on 20 shapes with holes of 2 to
    // 25 % of the area and held on 15 others, and wide enough for the pieces through other planes.
    bool mirror(Patch& patch, const Rim& rim, std::vector<Triangle>& triangles, std::size_t first) {
        if (!mirroring_) {
            mirroring_.emplace(open_, adjacent_, context_);
        }
        const std::vector<Vec3> faired(
            result_.mesh.vertices.begin() + static_cast<std::ptrdiff_t>(first),
            result_.mesh.vertices.end());
        const std::optional<MirroredPiece> piece = mirroring_->piece_for(rim);
        if (!piece ||
            (piece->area_mm2 > kMirroredArea * patch.area_mm2 && !patch.limb && !patch.crumpled)) {
            return false;
        }
        const std::size_t crossed = crossings_of(result_.mesh, at_, rim, triangles, context_);
        std::vector<Triangle> mirrored = piece->triangles;
        const auto known = static_cast<std::int32_t>(open_.vertices.size());
        for (Triangle& t : mirrored) {
            for (std::int32_t& v : t) {
                v += v < known ? 0 : static_cast<std::int32_t>(first) - known;
            }
        }
        result_.mesh.vertices.resize(first);
        result_.mesh.vertices.insert(result_.mesh.vertices.end(), piece->vertices.begin(),
                                     piece->vertices.end());
        if (crossings_of(result_.mesh, at_, rim, mirrored, context_) > crossed) {
            result_.mesh.vertices.resize(first);
            result_.mesh.vertices.insert(result_.mesh.vertices.end(), faired.begin(), faired.end());
            return false;
        }
        triangles = std::move(mirrored);
        patch.kind = PatchKind::mirrored;
        patch.area_mm2 = piece->area_mm2;
        patch.volume_change_mm3 = piece->volume_mm3;
        patch.agreeing_share = piece->agreeing_share;
        patch.taken_from_mm = piece->taken_from_mm;
        patch.limb = patch.crumpled = false;
        const double doubt = 1.5 * piece->residual_mm * piece->area_mm2 + 0.0015 * volume_mm3_;
        patch.volume_below_mm3 = std::max(doubt, piece->others_below_mm3);
        patch.volume_above_mm3 = std::max(doubt, piece->others_above_mm3);
        return true;
    }

    const TriMesh& open_;
    const HoleOptions& options_;
    const RunContext& context_;
    Adjacency adjacent_;
    CompressedRows at_;
    double extent_mm_ = 0.0;
    double area_mm2_ = 0.0;
    double volume_mm3_ = 0.0;
    std::vector<Rim> rims_;
    std::optional<Mirroring> mirroring_;  // made when the first large hole needs it
    HoleFilling result_;
};

}  // namespace

HoleFilling fill_holes(const TriMesh& mesh, const HoleOptions& options, const RunContext& context) {
    return HoleFiller(mesh, options, context).fill();
}

}  // namespace cavigram
