// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/split.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/told.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/molding/levels_detail.h"

namespace cavigram {

namespace {

// A glove is open on a flat side of at least this share of the part as seen from there, within this
// share of its height and this far from level.
constexpr double kOpenShare = 0.1;
constexpr double kFlatShare = 0.01;
constexpr double kLevelCosine = 0.94;  // 20 degrees
// Nobody feels less stretch.
constexpr double kNothing = 0.01;
// A flash line on less of the show side is not worth a word.
constexpr double kShowWorth = 0.05;

std::string percent(double share) {
    return fmt::format("{:.0f} %", 100.0 * share);
}

class Splitter {
  public:
    Splitter(const TriMesh& mesh, const TriangleBvh& index, const SplitOptions& options,
             const RunContext& context)
        : mesh_(mesh),
          index_(index),
          options_(options),
          context_(context),
          mass_(mass_properties(mesh, context)),
          frame_(place_frame(mass_, options.up)),
          surface_(parting_surface(mesh)) {
        split_.request = options;
    }

    Split run() {
        const Vec3 pull = choose_pull();
        context_.report("parting", 0.0);
        split_.parting = parting(surface_, index_, pull, {}, context_);
        context_.report("undercuts", 0.0);
        measure_locked();
        split_.draft = draft(mesh_, pull, options_.draft_deg);
        find_glove();
        list_shut_offs();
        if (options_.show) {
            split_.show_share = share_on_show(split_.parting.line, mesh_, *options_.show);
        }
        find();
        return std::move(split_);
    }

  private:
    Vec3 choose_pull() {
        if (options_.pull) {
            return options_.pull->normalized();
        }
        split_.search = search_pull(mesh_, index_,
                                    {.directions = options_.directions,
                                     .up = options_.up,
                                     .show = options_.show,
                                     .draft_deg = options_.draft_deg},
                                    context_);
        return split_.search->rows.front().value.pull;
    }

    void measure_locked() {
        const Vec3& pull = split_.parting.pull;
        const ColumnCut cut = cut_columns(mesh_, pull, {.across = options_.across}, context_);
        split_.locked = locked_space(cut);
        const ReleaseStretch stretch = release_stretch(cut, split_.locked);
        split_.stretch = stretch.most;
        const ColumnCut coarse =
            cut_columns(mesh_, pull, {.across = std::max(1, options_.across / 2)}, context_);
        split_.stretch_coarse = release_stretch(coarse, locked_space(coarse)).most;
        double low = std::numeric_limits<double>::infinity();
        double high = -low;
        for (const PartingLoop& loop : split_.parting.line.loops) {
            low = std::min(low, loop.low_mm);
            high = std::max(high, loop.high_mm);
        }
        for (std::size_t i = 0; i < split_.locked.pockets.size(); ++i) {
            const LockedPocket& pocket = split_.locked.pockets[i];
            CaughtPlace place{pocket, stretch.pockets[i], {}, false, {}};
            place.upper = owner_is_upper(pocket);
            place.where = place_words(frame_, pocket.at_mm).words;
            // From the rim at the parting line to the pocket's middle, no shorter than itself.
            const double middle = 0.5 * (pocket.low_mm + pocket.high_mm);
            const double from_line = std::max({0.0, low - middle, middle - high});
            const double free = std::max(from_line, pocket.depth_mm());
            if (free > 0.0) {
                place.bent = tongue_stretch(options_.rubber_mm, pocket.lateral_mm, free);
            }
            split_.places.push_back(std::move(place));
        }
    }

    // Where both could own it the half whose surface is nearest to its innermost place does.
    [[nodiscard]] bool owner_is_upper(const LockedPocket& pocket) const {
        if (pocket.opens_to != OpensTo::both) {
            return pocket.opens_to == OpensTo::above;
        }
        const NearestPoint near = index_.nearest(pocket.at_mm);
        return near.triangle >= 0 &&
               split_.parting.upper_face[static_cast<std::size_t>(near.triangle)];
    }

    // The flat side that faces away from the way a glove comes off.
    [[nodiscard]] GloveMold flat_side(const Vec3& away) const {
        GloveMold glove;
        glove.pull = away;
        double low = std::numeric_limits<double>::infinity();
        double high = -low;
        for (const Triangle& t : mesh_.triangles) {
            for (const std::int32_t v : t) {
                const double z = away.dot(mesh_.vertices[static_cast<std::size_t>(v)]);
                low = std::min(low, z);
                high = std::max(high, z);
            }
        }
        double seen = 0.0;
        Vec3 sum = Vec3::Zero();
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            const Vec3 area = 0.5 * double_area_vector(mesh_.corner(t, 0), mesh_.corner(t, 1),
                                                       mesh_.corner(t, 2));
            const double facing = -area.dot(away);
            const Vec3 middle =
                (mesh_.corner(t, 0) + mesh_.corner(t, 1) + mesh_.corner(t, 2)) / 3.0;
            seen += std::max(0.0, facing);
            if (facing > kLevelCosine * area.norm() &&
                middle.dot(away) < low + kFlatShare * (high - low)) {
                glove.open_mm2 += facing;
                sum += facing * middle;
            }
        }
        if (glove.open_mm2 < kOpenShare * seen || !(glove.open_mm2 > 0.0)) {
            glove.open_mm2 = 0.0;
            return glove;
        }
        glove.open_at_mm = sum / glove.open_mm2;
        return glove;
    }

    void find_glove() {
        if (has_hole() || surface_.shells.count > 1) {
            return;
        }
        std::vector<Vec3> ways;
        for (const double sign : {1.0, -1.0}) {
            for (int i = 2; i >= 0; --i) {
                ways.push_back(sign * Vec3::Unit(i));
            }
            ways.push_back(sign * split_.parting.pull);
        }
        const int across = std::max(1, options_.across / 2);
        for (const Vec3& way : ways) {
            GloveMold glove = flat_side(way);
            if (!(glove.open_mm2 > 0.0)) {
                continue;
            }
            const ColumnCut cut = cut_columns(mesh_, way, {.across = across}, context_);
            const LockedSpace space = locked_space(cut, {.one_piece = true, .most_pockets = 8});
            glove.locked_mm3 = space.volume_mm3;
            glove.stretch = release_stretch(cut, space).most;
            const bool better = !split_.glove || glove.stretch < split_.glove->stretch - 0.01 ||
                                (glove.stretch < split_.glove->stretch + 0.01 &&
                                 glove.open_mm2 > 1.01 * split_.glove->open_mm2);
            if (glove.stretch <= options_.stretch_limit && better) {
                glove.open_where = place_words(frame_, glove.open_at_mm).words;
                split_.glove = std::move(glove);
            }
        }
    }

    // Through a hole the rubber of a glove would hold the part like a ring on a finger.
    [[nodiscard]] bool has_hole() const {
        return std::any_of(surface_.genus.begin(), surface_.genus.end(),
                           [](int genus) { return genus > 0; });
    }

    void list_shut_offs() {
        for (const PartingLoop& loop : split_.parting.line.loops) {
            if (!loop.through()) {
                continue;
            }
            Vec3 middle = Vec3::Zero();
            for (const Vec3& p : loop.points_mm) {
                middle += p / static_cast<double>(loop.points_mm.size());
            }
            split_.shut_offs.push_back({middle, -loop.area_mm2, place_words(frame_, middle).words});
        }
    }

    void add(Severity severity, FindingCode code, std::string text, const std::vector<Vec3>& at) {
        std::vector<std::array<double, 3>> places;
        for (const Vec3& p : at) {
            places.push_back(to_array(p));
        }
        split_.findings.push_back({severity, code, std::move(text), std::move(places)});
    }

    void find() {
        find_caught();
        find_slits();
        find_far_aside();
        const PartingLine& line = split_.parting.line;
        if (line.wrapped > 0) {
            add(Severity::warning, "wrapped_in_rubber",
                fmt::format(
                    "{} of the part lies wholly within one half, whose rubber would close "
                    "around it: cast it by itself, or pull another way, {}.",
                    line.wrapped == 1 ? "One solid" : fmt::format("{} solids", line.wrapped),
                    setting("pull")),
                {});
        }
        if (!split_.shut_offs.empty()) {
            std::vector<Vec3> at;
            for (const ShutOff& hole : split_.shut_offs) {
                at.push_back(hole.at_mm);
            }
            add(Severity::note, "shut_off_needed",
                fmt::format("{}: in {} the halves must meet, or the foam closes it; the first lies "
                            "{}.",
                            at.size() == 1 ? "A hole goes through the part"
                                           : fmt::format("{} holes go through the part", at.size()),
                            at.size() == 1 ? "it" : "each", split_.shut_offs.front().where),
                at);
        }
        if (split_.show_share > kShowWorth) {
            add(Severity::warning, "line_on_show_side",
                fmt::format(
                    "{} of the parting line runs over the side that is seen, where flash "
                    "must be trimmed and shows: pull another way, {}, or trim it with care.",
                    percent(split_.show_share), setting("pull")),
                {});
        }
        if (split_.glove) {
            add(Severity::note, "one_piece_mold",
                fmt::format("A mold of one piece would do as well: a glove, open on the flat side "
                            "({}), that stretches {} as it is pulled off.",
                            split_.glove->open_where, percent(split_.glove->stretch)),
                {split_.glove->open_at_mm});
        }
    }

    void find_caught() {
        const auto worst = std::max_element(split_.places.begin(), split_.places.end(),
                                            [](const CaughtPlace& a, const CaughtPlace& b) {
                                                return a.stretch.most() < b.stretch.most();
                                            });
        if (worst != split_.places.end() && worst->stretch.most() > options_.stretch_limit) {
            add(Severity::warning, "stretch_over_limit",
                fmt::format("To let go the rubber must stretch {}, more than the {} it is taken to "
                            "bear, {}: slit the {} half there, make a third part for it, take a "
                            "softer rubber and say so with {}, or pull another way.",
                            percent(worst->stretch.most()), percent(options_.stretch_limit),
                            worst->where, worst->upper ? "upper" : "lower",
                            setting("stretch-limit")),
                {worst->pocket.at_mm});
        }
        if (split_.search && split_.search->free_directions == 0 && split_.stretch > kNothing) {
            add(Severity::note, "every_pull_locks",
                fmt::format("Of {} directions none lets two rigid halves go: rubber gives where it "
                            "stretches little, else a slit or a third part frees it.",
                            split_.search->looked_at),
                worst == split_.places.end() ? std::vector<Vec3>{}
                                             : std::vector<Vec3>{worst->pocket.at_mm});
        }
    }

    // What no stretching brings out.
    void find_far_aside() {
        for (const CaughtPlace& place : split_.places) {
            if (place.pocket.lateral_mm > detail::kFarAside * mass_.bounds_mm.diagonal().norm()) {
                add(Severity::warning, "mold_needs_slits",
                    fmt::format(
                        "Rubber reaches {} behind the part across this pull, {}: no half can "
                        "be drawn off it; make a third part for it, or pull another way, {}.",
                        told(place.pocket.lateral_mm, Kind::length, 2), place.where,
                        setting("pull")),
                    {place.pocket.at_mm});
                return;
            }
        }
    }

    // Slits begin at the loops that a patch has beyond its first.
    void find_slits() {
        const PartingLine& line = split_.parting.line;
        std::vector<Vec3> at;
        for (const CaughtPlace& place : split_.places) {
            if (place.stretch.bridge) {
                at.push_back(place.pocket.at_mm);
            }
        }
        const int bridges = static_cast<int>(at.size());
        // What is wrapped is said by itself.
        const bool threaded = line.slits > 0 || (!line.valid && line.wrapped == 0);
        if ((!threaded && bridges == 0) || line.loops.empty()) {
            return;
        }
        std::vector<int> seen(line.patches.size());
        for (const PartingLoop& loop : line.loops) {
            for (const std::int32_t patch : {loop.upper_patch, loop.lower_patch}) {
                if (!loop.through() && seen[static_cast<std::size_t>(patch)]++ > 0) {
                    at.push_back(loop.points_mm.front());
                }
            }
        }
        if (at.empty() && !split_.places.empty()) {
            at.push_back(split_.places.front().pocket.at_mm);
        }
        const int slits = std::max(1, line.slits + bridges);
        add(Severity::warning, "mold_needs_slits",
            fmt::format(
                "Two halves do not come off along this pull: a piece of the part runs through "
                "the rubber. {} would free it{}; or pull another way, {}, or make a third "
                "part.",
                slits == 1 ? "A slit" : fmt::format("{} slits", slits),
                at.empty() ? std::string() : ", the first " + place_words(frame_, at.front()).words,
                setting("pull")),
            at);
    }

    const TriMesh& mesh_;
    const TriangleBvh& index_;
    const SplitOptions& options_;
    const RunContext& context_;
    MassProperties mass_;
    PlaceFrame frame_;
    PartingSurface surface_;
    Split split_;
};

}  // namespace

Split split_mold(const TriMesh& mesh_mm, const TriangleBvh& index, const SplitOptions& options,
                 const RunContext& context) {
    if (options.pull && (!(options.pull->squaredNorm() > 0.0) || !options.pull->allFinite())) {
        throw InvalidInput("The pull direction must not be zero.");
    }
    if (!(options.stretch_limit > 0.0) || !(options.rubber_mm > 0.0)) {
        throw InvalidInput("The rubber's stretch and thickness must be above zero.");
    }
    if (options.show) {
        validate(*options.show);
    }
    return Splitter(mesh_mm, index, options, context).run();
}

}  // namespace cavigram
