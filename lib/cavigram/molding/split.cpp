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
// What is free along a way to this share comes off by itself: rays miss a little at edges.
constexpr double kComesOff = 0.97;
// What is free to less than this closes around the part as the half did. A guess.
constexpr double kHoldsItself = 0.75;
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
          bridged_(bridge_small_tunnels(mesh, index, kThinnestTongue_mm, context)),
          surface_(parting_surface(std::move(bridged_.mesh_mm))) {
        split_.request = options;
        split_.search = std::move(search);
        split_.tunnels = bridged_.tunnels;
    }

    Split run() {
        const Vec3 pull = choose_pull();
        context_.report("parting", 0.0);
        split_.parting = parting(surface_, index_, pull, {}, context_);
        context_.report("undercuts", 0.0);
        measure_locked();
        leave_out_walls();
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

    // What is told is of the part's own triangles, not of the walls across small tunnels.
    void leave_out_walls() {
        const std::size_t own = mesh_.triangles.size();
        Parting& parting = split_.parting;
        parting.upper_face.resize(own);
        parting.views.resize(own);
        parting.field.resize(parting.smooth ? mesh_.vertices.size() : 0);
        parting.line.patch_of.resize(parting.smooth ? mesh_.vertices.size() : own);
        for (PartingLoop& loop : parting.line.loops) {
            for (std::int32_t& face : loop.faces) {
                const auto t = static_cast<std::size_t>(face);
                face = t < own ? face : bridged_.grown_on[t - own];
            }
        }
    }

    void measure_locked() {
        const Vec3& pull = split_.parting.pull;
        const ColumnCut cut = cut_columns(mesh_, pull, {.across = options_.across}, context_);
        split_.locked = locked_space(cut);
        const ReleaseStretchOptions judged = {.least_mm3 = least_mm3(),
                                              .least_mouth_mm = kThinnestTongue_mm};
        ReleaseStretch stretch = release_stretch(cut, split_.locked, judged);
        detail::leave_out_filled(cut, split_.locked, split_.tunnels, stretch);
        split_.stretch = stretch.most;
        const ColumnCut coarse =
            cut_columns(mesh_, pull, {.across = std::max(1, options_.across / 2)}, context_);
        LockedSpace coarse_space = locked_space(coarse);
        ReleaseStretch coarse_stretch = release_stretch(coarse, coarse_space, judged);
        detail::leave_out_filled(coarse, coarse_space, split_.tunnels, coarse_stretch);
        split_.stretch_coarse = coarse_stretch.most;
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
        find_loose(cut, stretch);
    }

    // Rubber so far behind the part that no stretching brings it out.
    [[nodiscard]] bool lump(const LockedPocket& pocket) const {
        return pocket.lateral_mm > far_mm() && pocket.volume_mm3 >= least_mm3();
    }
    // Smaller pockets are not judged.
    [[nodiscard]] double least_mm3() const {
        return PullSearchOptions{}.least_pocket * std::abs(mass_.volume_mm3);
    }
    [[nodiscard]] double far_mm() const {
        return detail::kFarAside * mass_.bounds_mm.diagonal().norm();
    }

    // Where two halves alone do not come off. What is wrapped is cast by itself.
    void find_loose(const ColumnCut& cut, const ReleaseStretch& stretch) {
        const PartingLine& line = split_.parting.line;
        const bool caught = std::any_of(
            split_.places.begin(), split_.places.end(), [this](const CaughtPlace& place) {
                return place.stretch.bridge || place.stretch.most() > options_.stretch_limit ||
                       lump(place.pocket);
            });
        if (!caught && line.slits == 0) {
            return;
        }
        split_.loose = loose_pieces(
            surface_, index_, split_.parting, cut, split_.locked, stretch,
            {.stretch_limit = options_.stretch_limit, .far_mm = far_mm(), .least_mm3 = least_mm3()},
            context_);
        for (LoosePiece& piece : split_.loose->pieces) {
            piece.where = place_words(frame_, piece.at_mm).words;
            std::erase_if(piece.faces, [this](std::int32_t t) {
                return static_cast<std::size_t>(t) >= mesh_.triangles.size();
            });
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
        std::vector<std::array<double, 3>> places(at.size());
        std::transform(at.begin(), at.end(), places.begin(), to_array);
        split_.findings.push_back({severity, code, std::move(text), std::move(places)});
    }

    void find() {
        find_caught();
        find_slits();
        find_far_aside();
        say_loose();
        say_narrow();
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
        const bool bridged = std::any_of(split_.places.begin(), split_.places.end(),
                                         [](const CaughtPlace& p) { return p.stretch.bridge; });
        if (split_.search && split_.search->free_directions == 0 &&
            (split_.stretch > kNothing || bridged)) {
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
            if (lump(place.pocket)) {
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

    void say_loose() {
        if (!split_.loose) {
            return;
        }
        const LoosePieces& loose = *split_.loose;
        const bool slits = loose.slits > 0;
        const bool stretches = loose.stretch > options_.stretch_limit;
        if (loose.pieces.empty()) {
            if (slits || stretches) {
                add(Severity::note, "loose_piece",
                    "No loose piece of the mold was found that would let both halves go: this "
                    "part takes slits, or a mold of more parts, which is not planned here.",
                    {});
            }
            return;
        }
        std::vector<Vec3> at;
        for (const LoosePiece& piece : loose.pieces) {
            at.push_back(piece.at_mm);
        }
        const LoosePiece& first = loose.pieces.front();
        const bool one = at.size() == 1;
        const std::string takes = fmt::format(
            "{}{}{}",
            !slits             ? ""
            : loose.slits == 1 ? "a slit"
                               : fmt::format("{} slits", loose.slits),
            slits && stretches ? " and " : "",
            stretches ? fmt::format("rubber that stretches {}", percent(loose.stretch)) : "");
        add(Severity::note, "loose_piece",
            fmt::format(
                "{} of the mold, {}{}, {}; {} takes {} of rubber on {} of the part and {} of "
                "parting line more, and {} of its surface is free along its own way off{}.",
                one ? "A loose piece" : fmt::format("{} loose pieces", at.size()),
                one ? "" : "the first ", first.where,
                takes.empty() ? "would let both halves go"
                              : "would help, but the halves would still take " + takes,
                one ? "it" : "the first", told(first.volume_mm3, Kind::volume, 2),
                told(first.area_mm2, Kind::area, 2), told(first.line_mm, Kind::length, 2),
                percent(first.free_share),
                first.free_share < kHoldsItself
                    ? ": it holds the part itself, and must be slit or made of several pieces, or "
                      "the half be slit there instead"
                : first.free_share < kComesOff ? ", so that it must be bent to come off"
                                               : ""),
            at);
    }

    // What is filled on the master.
    void say_narrow() {
        std::vector<Vec3> at;
        for (const SmallTunnel& tunnel : split_.tunnels) {
            at.push_back(tunnel.at_mm);
        }
        const std::size_t tunnels = at.size();
        double widest = kThinnestTongue_mm;
        for (const CaughtPlace& place : split_.places) {
            if (place.stretch.narrow_mm > 0.0) {
                at.push_back(place.pocket.at_mm);
                widest = std::max(widest, place.stretch.narrow_mm);
            }
        }
        if (at.empty()) {
            return;
        }
        const auto count = [](std::size_t n, const char* one, const char* many) {
            return n == 0   ? std::string()
                   : n == 1 ? std::string(one)
                            : fmt::format("{} {}", n, many);
        };
        const std::size_t crevices = at.size() - tunnels;
        add(Severity::note, "narrow_for_rubber",
            fmt::format(
                "{}{}{} no wider than {}: rubber so thin tears as it is drawn out, and the "
                "halves were judged without it; fill {} on the master with wax or clay, "
                "{}{}.",
                count(tunnels, "A tunnel through the part", "tunnels through the part"),
                tunnels > 0 && crevices > 0 ? " and " : "",
                count(crevices, tunnels > 0 ? "a crevice with a mouth" : "A crevice with a mouth",
                      "crevices with mouths"),
                told_own(widest, Kind::length, 2), at.size() == 1 ? "it" : "them",
                at.size() == 1 ? "" : "the first ", place_words(frame_, at.front()).words),
            at);
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
    BridgedSurface bridged_;
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

PullSearchOptions search_options(const SplitOptions& options) {
    return {.directions = options.directions,
            .up = options.up,
            .show = options.show,
            .only = options.pull,
            .draft_deg = options.draft_deg};
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
    return search_pull(mesh_mm, index, search_options(options), context);
}

PullSearch split_search(const TriMesh& mesh_mm, Proxy stand_in, const SplitOptions& options,
                        const RunContext& context) {
    return search_pull(mesh_mm, std::move(stand_in), search_options(options), context);
}

}  // namespace cavigram
