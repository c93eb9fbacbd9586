// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/glove.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <tuple>
#include <utility>

#include "cavigram/geom/triangle.h"
#include "cavigram/molding/locked_space.h"
#include "cavigram/molding/release_stretch.h"

namespace cavigram {

namespace {

// A glove is open on a flat side of at least this share of the part as seen from there, within this
// share of its height and this far from level.
constexpr double kOpenShare = 0.1;
constexpr double kFlatShare = 0.01;
constexpr double kLevelCosine = 0.94;  // 20 degrees

// A glove as it is weighed against others.
struct Candidate {
    GloveMold glove;
    double low_mm = 0.0;  // of the part along the pull
    double high_mm = 0.0;
    double held_mm = 0.0;  // up to where rubber stretches around the part
    bool bridge = false;

    [[nodiscard]] double rim_mm() const { return low_mm + kFlatShare * (high_mm - low_mm); }
};

// The flat side that faces away from the way a glove comes off.
Candidate flat_side(const TriMesh& mesh, const Vec3& away) {
    Candidate found;
    found.glove.pull = away;
    found.low_mm = std::numeric_limits<double>::infinity();
    found.high_mm = -found.low_mm;
    for (const Triangle& t : mesh.triangles) {
        for (const std::int32_t v : t) {
            const double z = away.dot(mesh.vertices[static_cast<std::size_t>(v)]);
            found.low_mm = std::min(found.low_mm, z);
            found.high_mm = std::max(found.high_mm, z);
        }
    }
    double seen = 0.0;
    Vec3 sum = Vec3::Zero();
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Vec3 area =
            0.5 * double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
        const double facing = -area.dot(away);
        const Vec3 middle = (mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0;
        seen += std::max(0.0, facing);
        if (facing > kLevelCosine * area.norm() && middle.dot(away) < found.rim_mm()) {
            found.glove.open_mm2 += facing;
            sum += facing * middle;
        }
    }
    if (found.glove.open_mm2 < kOpenShare * seen || !(found.glove.open_mm2 > 0.0)) {
        found.glove.open_mm2 = 0.0;
        return found;
    }
    found.glove.open_at_mm = sum / found.glove.open_mm2;
    return found;
}

void measure(Candidate& found, const TriMesh& mesh, const GloveOptions& options,
             const RunContext& context) {
    const ColumnCut cut =
        cut_columns(mesh, found.glove.pull, {.across = std::max(1, options.across)}, context);
    const LockedSpace space = locked_space(cut, {.one_piece = true, .most_pockets = 8});
    const ReleaseStretch stretch = release_stretch(cut, space);
    found.glove.locked_mm3 = space.volume_mm3;
    found.glove.stretch = stretch.most;
    found.held_mm = found.low_mm;
    for (std::size_t i = 0; i < stretch.pockets.size(); ++i) {
        const PocketStretch& pocket = stretch.pockets[i];
        found.glove.slit_stretch = std::max(found.glove.slit_stretch, pocket.plug);
        found.bridge = found.bridge || pocket.bridge;
        if (pocket.ring > options.easy_stretch) {
            found.held_mm = std::max(found.held_mm, space.pockets[i].high_mm);
        }
    }
}

}  // namespace

std::optional<GloveMold> glove_mold(const PartingSurface& surface, const std::vector<Vec3>& ways,
                                    const GloveOptions& options, const RunContext& context) {
    const bool hole = std::any_of(surface.genus.begin(), surface.genus.end(),
                                  [](int genus) { return genus > 0; });
    if (hole || surface.shells.count > 1) {
        return std::nullopt;
    }
    std::optional<Candidate> best;
    // Nobody feels a hundredth of stretch or of the side.
    const auto key = [&](const Candidate& c) {
        const bool slit = c.glove.stretch > options.stretch_limit;
        return std::tuple(slit, std::round(100.0 * (slit ? c.glove.slit_stretch : c.glove.stretch)),
                          -std::round(std::log(c.glove.open_mm2) * 100.0));
    };
    for (const Vec3& way : ways) {
        Candidate found = flat_side(surface.mesh_mm, way);
        if (!(found.glove.open_mm2 > 0.0)) {
            continue;
        }
        measure(found, surface.mesh_mm, options, context);
        const bool comes_off = found.glove.stretch <= options.stretch_limit ||
                               (found.glove.slit_stretch <= options.stretch_limit && !found.bridge);
        if (comes_off && (!best || key(found) < key(*best))) {
            best = std::move(found);
        }
    }
    if (!best) {
        return std::nullopt;
    }
    if (best->held_mm > best->low_mm && !best->bridge) {
        best->glove.slit = glove_slit(surface.mesh_mm, best->glove.pull, best->rim_mm(),
                                      best->held_mm, options.show);
    }
    if (!best->glove.slit) {
        best->glove.slit_stretch = best->glove.stretch;
        if (best->glove.stretch > options.stretch_limit) {
            return std::nullopt;
        }
    }
    return std::move(best->glove);
}

}  // namespace cavigram
