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
             std::optional<PullSearch> search, const RunContext& context)
        : mesh_(mesh),
          index_(index),
          options_(options),
          context_(context),
          mass_(mass_properties(mesh, context)),
          frame_(place_frame(mass_, options.up)),
          surface_(parting_surface(mesh)) {
        split_.request = options;
        split_.search = std::move(search);
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
        split_.search = split_search(mesh_, index_, options_, context_);
        return split_.search->rows.front().value.pull;
    }

    void measure_locked() {
        const Vec3& pull = split_.parting.pull;
        const ColumnCut cut = cut_columns(mesh_, pull, {.across = options_.across}, context_);
        split_.locked = locked_space(cut);
        const ReleaseStretchOptions judged = {.least_mm3 = PullSearchOptions{}.least_pocket *
                                                           std::abs(mass_.volume_mm3)};
        const ReleaseStretch stretch = release_stretch(cut, split_.locked, judged);
        split_.stretch = stretch.most;
        const ColumnCut coarse =
            cut_columns(mesh_, pull, {.across = std::max(1, options_.across / 2)}, context_);
        split_.stretch_coarse = release_stretch(coarse, locked_space(coarse), judged).most;
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

    void find_glove() {
        std::vector<Vec3> ways;
        for (const double sign : {1.0, -1.0}) {
            for (int i = 2; i >= 0; --i) {
                ways.push_back(sign * Vec3::Unit(i));
            }
            ways.push_back(sign * split_.parting.pull);
        }
        split_.glove = glove_mold(surface_, ways,
                                  {.stretch_limit = options_.stretch_limit,
                                   .across = std::max(1, options_.across / 2),
                                   .show = options_.show},
                                  context_);
        if (!split_.glove) {
            return;
        }
        split_.glove->open_where = place_words(frame_, split_.glove->open_at_mm).words;
        if (split_.glove->slit) {
            split_.glove->slit_where =
                place_words(frame_, split_.glove->slit->points_mm.back()).words;
        }
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
        places.reserve(at.size());
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
        say_glove();
    }

    void say_glove() {
        if (!split_.glove) {
            return;
        }
        const GloveMold& glove = *split_.glove;
        const bool must_slit = glove.stretch > options_.stretch_limit;
        std::vector<Vec3> at = {glove.open_at_mm};
        std::string how = must_slit ? std::string()
                                    : fmt::format(", that stretches {} as it is pulled off",
                                                  percent(glove.stretch));
        if (glove.slit) {
            at.push_back(glove.slit->points_mm.front());
            at.push_back(glove.slit->points_mm.back());
            how += fmt::format(
                "{} from its rim by {} to the place {}{}", must_slit ? ", slit" : "; slit",
                told(glove.slit->length_mm, Kind::length, 2), glove.slit_where,
                must_slit ? ", and held shut while it is poured" : ", it comes off with less");
        }
        add(Severity::note, "one_piece_mold",
            fmt::format(
                "A mold of one piece would do as well: a glove, open on the flat side ({}){}.",
                glove.open_where, how),
            at);
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

void validate(const SplitOptions& options) {
    if (options.pull && (!(options.pull->squaredNorm() > 0.0) || !options.pull->allFinite())) {
        throw InvalidInput("The pull direction must not be zero.");
    }
    if (!(options.stretch_limit > 0.0) || !(options.rubber_mm > 0.0)) {
        throw InvalidInput("The rubber's stretch and thickness must be above zero.");
    }
    if (options.show) {
        validate(*options.show);
    }
}

}  // namespace

Split split_mold(const TriMesh& mesh_mm, const TriangleBvh& index, const SplitOptions& options,
                 const RunContext& context) {
    validate(options);
    return Splitter(mesh_mm, index, options, std::nullopt, context).run();
}

Split split_mold(const TriMesh& mesh_mm, const TriangleBvh& index, const SplitOptions& options,
                 PullSearch search, const RunContext& context) {
    validate(options);
    return Splitter(mesh_mm, index, options, std::move(search), context).run();
}

PullSearch split_search(const TriMesh& mesh_mm, const TriangleBvh& index,
                        const SplitOptions& options, const RunContext& context) {
    return search_pull(mesh_mm, index,
                       {.directions = options.directions,
                        .up = options.up,
                        .show = options.show,
                        .only = options.pull,
                        .draft_deg = options.draft_deg},
                       context);
}

}  // namespace cavigram
