// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "cavigram/core/told.h"
#include "cavigram/report/fields/blocks_detail.h"

namespace cavigram::detail {

namespace {

const Block<CaughtPlace>& caught_block() {
    const auto of = [](auto LockedPocket::*member) {
        return [member](const CaughtPlace& c) { return c.pocket.*member; };
    };
    static const Block<CaughtPlace> block =
        Block<CaughtPlace>("CaughtPlace", "A place in which rubber is caught.")
            .field("at_mm", of(&LockedPocket::at_mm), "its innermost place")
            .field(
                "where", [](const CaughtPlace& c) { return rendered(c.where); }, "by ruler")
            .field("volume_mm3", of(&LockedPocket::volume_mm3), "of rubber that is caught")
            .field(
                "depth_mm", [](const CaughtPlace& c) { return c.pocket.depth_mm(); },
                "along the pull")
            .field("lateral_mm", of(&LockedPocket::lateral_mm),
                   "how far the rubber must move aside")
            .field("entry_mm", of(&LockedPocket::entry_mm), "mean height of its border")
            .choice(
                "half", {"upper", "lower"},
                [](const CaughtPlace& c) { return c.upper ? "upper" : "lower"; },
                "whose rubber it is")
            .field(
                "ring_stretch_percent", [](const CaughtPlace& c) { return 100.0 * c.stretch.ring; },
                "around the part")
            .field(
                "plug_stretch_percent", [](const CaughtPlace& c) { return 100.0 * c.stretch.plug; },
                "through a mouth: width behind over the mouth's, less 1")
            .field(
                "mouth_mm", [](const CaughtPlace& c) { return c.stretch.mouth_mm; },
                "width of that mouth; 0: there is none")
            .field(
                "bridge", [](const CaughtPlace& c) { return c.stretch.bridge; },
                "its rubber closes around a piece of the part; only a slit lets it go")
            .field(
                "narrow_mm", [](const CaughtPlace& c) { return c.stretch.narrow_mm; },
                "width of a mouth too narrow to be judged: filled on the master; 0: there is none")
            .field(
                "bent_low_percent", [](const CaughtPlace& c) { return 100.0 * c.bent.low; },
                "if it is bent aside instead, least")
            .field(
                "bent_high_percent", [](const CaughtPlace& c) { return 100.0 * c.bent.high; },
                "most");
    return block;
}

const Block<SmallTunnel>& tunnel_block() {
    static const Block<SmallTunnel> block =
        Block<SmallTunnel>("SmallTunnel",
                           "A tunnel through the part that is too narrow for rubber: filled on the "
                           "master.")
            .field("at_mm", &SmallTunnel::at_mm, "where it is narrow")
            .field("width_mm", &SmallTunnel::width_mm, "of a circle as long as the way around it");
    return block;
}

const Block<LoosePiece>& loose_block() {
    static const Block<LoosePiece> block =
        Block<LoosePiece>("LoosePiece", "A piece of the mold by itself, beside both halves.")
            .field("at_mm", &LoosePiece::at_mm, "its rubber's innermost place")
            .field(
                "where", [](const LoosePiece& p) { return rendered(p.where); }, "by ruler")
            .field("size_mm", &LoosePiece::size_mm, "of what it touches, along x, y and z")
            .field("volume_mm3", &LoosePiece::volume_mm3,
                   "of the rubber that is caught; its wall and keys are beyond")
            .field("area_mm2", &LoosePiece::area_mm2, "of the part, that it touches")
            .field("line_mm", &LoosePiece::line_mm, "around that: parting line more")
            .field("pull", &LoosePiece::pull, "its way off, once both halves are off")
            .field(
                "free_percent", [](const LoosePiece& p) { return 100.0 * p.free_share; },
                "of its surface, from which nothing bars that way");
    return block;
}

const Block<LoosePieces>& loose_pieces_block() {
    static const Block<LoosePieces> block =
        Block<LoosePieces>("LoosePieces",
                           "What would let both halves go, where two alone do not come off.")
            .list("pieces", loose_block(), &LoosePieces::pieces,
                  "the one that helps most first; empty: none of those tried helps")
            .field(
                "stretch_percent", [](const LoosePieces& l) { return 100.0 * l.stretch; },
                "most that the halves' rubber must stretch beside them")
            .field("slits", &LoosePieces::slits, "that the halves take beside them");
    return block;
}

const Block<ShutOff>& shut_off_block() {
    static const Block<ShutOff> block =
        Block<ShutOff>("ShutOff", "A hole in which the halves meet.")
            .field("at_mm", &ShutOff::at_mm, "its middle")
            .field(
                "where", [](const ShutOff& s) { return rendered(s.where); }, "by ruler")
            .field("area_mm2", &ShutOff::area_mm2, "as seen along the pull");
    return block;
}

const Block<GloveMold>& glove_block() {
    static const Block<GloveMold> block =
        Block<GloveMold>("GloveMold", "A mold of one piece, pulled off like a glove.")
            .field("pull", &GloveMold::pull, "the way it comes off")
            .field("open_at_mm", &GloveMold::open_at_mm, "middle of the flat side where it is open")
            .field(
                "open_where", [](const GloveMold& g) { return rendered(g.open_where); }, "by ruler")
            .field("open_mm2", &GloveMold::open_mm2, "that flat side")
            .field(
                "stretch_percent", [](const GloveMold& g) { return 100.0 * g.stretch; },
                "what the rubber must stretch in one piece")
            .field(
                "slit_stretch_percent", [](const GloveMold& g) { return 100.0 * g.slit_stretch; },
                "what it must stretch once it is slit")
            .field(
                "slit_mm",
                [](const GloveMold& g) { return g.slit ? g.slit->points_mm : std::vector<Vec3>(); },
                "places of the slit, from the rim inward; empty: none is needed")
            .field(
                "slit_length_mm",
                [](const GloveMold& g) { return g.slit ? g.slit->length_mm : 0.0; },
                "along the surface")
            .field(
                "slit_show_share",
                [](const GloveMold& g) { return g.slit ? g.slit->show_share : 0.0; },
                "of it, on the show side")
            .field(
                "slit_where", [](const GloveMold& g) { return rendered(g.slit_where); },
                "where it ends, by ruler");
    return block;
}

const Block<HoleAtLine>& hole_block() {
    static const Block<HoleAtLine> block =
        Block<HoleAtLine>("HoleAtLine", "A pour hole or vent, against the parting line.")
            .choice(
                "kind", {"pour_hole", "vent"},
                [](const HoleAtLine& h) { return h.pour_hole ? "pour_hole" : "vent"; }, "which")
            .field("at_mm", &HoleAtLine::at_mm, "where")
            .field("from_line_mm", &HoleAtLine::from_line_mm, "how far from the line");
    return block;
}

const Block<RankedPull>& pull_block() {
    const auto of = [](auto PullValue::*member) {
        return [member](const RankedPull& r) { return r.value.*member; };
    };
    static const Block<RankedPull> block =
        Block<RankedPull>("Pull",
                          "One direction of the search, on a stand-in with fewer triangles.")
            .field("pull", of(&PullValue::pull), "the upper half's way off")
            .field("rank", &RankedPull::rank, "1: recommended")
            .field("locked_mm3", of(&PullValue::locked_mm3), "space in which rubber is caught")
            .field(
                "stretch_percent", [](const RankedPull& r) { return 100.0 * r.value.stretch; },
                "what it must stretch")
            .field("valid", of(&PullValue::valid), "the halves come off without a slit")
            .field("slits", of(&PullValue::slits), "that it takes otherwise")
            .field("loops", of(&PullValue::loops), "of the parting line")
            .field("line_length_mm", of(&PullValue::length_mm), "of all loops")
            .field("off_plane_mm", of(&PullValue::off_plane_mm), "how far the line leaves a plane")
            .field("half_height_mm", of(&PullValue::half_height_mm),
                   "of the part in the taller half")
            .field("steep_share", of(&PullValue::steep_share), "of the surface, with little draft")
            .field("show_share", of(&PullValue::show_share), "of the line, on the show side")
            .field("upright", of(&PullValue::upright),
                   "cosine between it and the way up; 0 where that is not known")
            .field("measured", &RankedPull::measured,
                   "what is caught, stretch and slits are those of the full mesh")
            .field("pareto", &RankedPull::pareto,
                   "no other is better in one respect and no worse in the others");
    return block;
}

const Block<WayAndPull>& pair_block() {
    static const Block<WayAndPull> block =
        Block<WayAndPull>("WayAndPull",
                          "A way up and a pull as one plan; costs count in vents, and are guesses.")
            .field("up", &WayAndPull::up, "how the mold stands while the foam rises")
            .field("pull", &WayAndPull::pull, "the upper half's way off")
            .field("way_rank", &WayAndPull::way_rank, "of the way up among orient's rows")
            .field("pull_rank", &WayAndPull::pull_rank, "of the pull among pulls")
            .field("way_cost", &WayAndPull::way_cost, "of the way up")
            .field("pull_cost", &WayAndPull::pull_cost, "of the pull")
            .field("holes_cost", &WayAndPull::holes_cost,
                   "of holes off the line, and of a pull along the way up")
            .field("holes", &WayAndPull::holes, "pour hole and vents")
            .field("holes_on_line", &WayAndPull::holes_on_line, "of these, on the parting line");
    return block;
}

// What is worth telling of all pairs.
std::optional<std::vector<WayAndPull>> first_pairs(const SplitBlock& split) {
    constexpr std::size_t kMost = 5;
    if (!split.together) {
        return std::nullopt;
    }
    std::vector<WayAndPull> pairs = split.together->pairs;
    pairs.resize(std::min(pairs.size(), kMost));
    return pairs;
}

double deepest_mm(const Split& split) {
    double most = 0.0;
    for (const CaughtPlace& place : split.places) {
        most = std::max(most, place.pocket.lateral_mm);
    }
    return most;
}

}  // namespace

// A description is one list, however long. NOLINTNEXTLINE(readability-function-size)
const Block<SplitBlock>& split_block() {
    const auto line = [](auto Parting::*member) {
        return [member](const SplitBlock& s) { return s.found.parting.*member; };
    };
    const auto loops = [](auto PartingLine::*member) {
        return [member](const SplitBlock& s) { return s.found.parting.line.*member; };
    };
    static const Block<SplitBlock> block =
        Block<SplitBlock>("Split", "A mold of two halves, called upper and lower with the pull up.")
            .field("pull", line(&Parting::pull), "the upper half's way off")
            .field("undercut_area_mm2", line(&Parting::hidden_mm2), "that neither half sees")
            .field(
                "undercut_depth_mm", [](const SplitBlock& s) { return deepest_mm(s.found); },
                "how far rubber must move aside at most")
            .field(
                "parting_line_mm", [](const SplitBlock& s) { return s.line_mm; },
                "loops of places; the last of each is joined to its first")
            .field(
                "release_stretch_percent",
                [](const SplitBlock& s) { return 100.0 * s.found.stretch; },
                "most that the rubber must stretch to let go")
            .field(
                "release_stretch_coarse_percent",
                [](const SplitBlock& s) { return 100.0 * s.found.stretch_coarse; },
                "the same measured half as finely: how sure it is")
            .field(
                "stretch_limit_percent",
                [](const SplitBlock& s) { return 100.0 * s.found.request.stretch_limit; },
                "what the rubber is taken to bear")
            .field(
                "locked_mm3", [](const SplitBlock& s) { return s.found.locked.volume_mm3; },
                "space in which rubber is caught")
            .list(
                "caught", caught_block(),
                [](const SplitBlock& s) -> const std::vector<CaughtPlace>& {
                    return s.found.places;
                },
                "the largest places, largest first")
            .field("valid", loops(&PartingLine::valid), "the halves come off without a slit")
            .field("slits", loops(&PartingLine::slits),
                   "through the rubber that it takes otherwise")
            .field("wrapped", loops(&PartingLine::wrapped), "solids that rubber would close around")
            .list(
                "shut_offs", shut_off_block(),
                [](const SplitBlock& s) -> const std::vector<ShutOff>& {
                    return s.found.shut_offs;
                },
                "holes in which the halves meet")
            .field("line_length_mm", line(&Parting::length_mm), "of all loops")
            .field("line_low_mm", line(&Parting::low_mm), "above the part's lowest place")
            .field("line_high_mm", line(&Parting::high_mm), "above the part's lowest place")
            .field("off_plane_mm", line(&Parting::off_plane_mm), "how far the line leaves a plane")
            .field(
                "along_edges", [](const SplitBlock& s) { return !s.found.parting.smooth; },
                "the line follows edges of the mesh")
            .field("height_mm", line(&Parting::height_mm), "of the part along the pull")
            .field("upper_height_mm", line(&Parting::upper_height_mm), "of it in the upper half")
            .field("lower_height_mm", line(&Parting::lower_height_mm), "of it in the lower half")
            .field(
                "steep_share", [](const SplitBlock& s) { return s.found.draft.steep_share(); },
                "of the surface, with less draft than 3 degrees")
            .field(
                "show_share", [](const SplitBlock& s) { return s.found.show_share; },
                "of the line, on the show side")
            .object(
                "loose", loose_pieces_block(), [](const SplitBlock& s) { return s.found.loose; },
                "pieces of the mold beside the halves; only where two alone do not come off")
            .list(
                "tunnels", tunnel_block(),
                [](const SplitBlock& s) -> const std::vector<SmallTunnel>& {
                    return s.found.tunnels;
                },
                "through the part, too narrow for rubber")
            .object(
                "glove", glove_block(), [](const SplitBlock& s) { return s.found.glove; },
                "if one piece would do")
            .list("holes", hole_block(), &SplitBlock::holes, "pour hole and vents")
            .list(
                "pulls", pull_block(),
                [](const SplitBlock& s) {
                    return s.found.search ? std::optional(s.found.search->rows) : std::nullopt;
                },
                "directions of the search, best first; absent where the pull was given")
            .list("together", pair_block(), &first_pairs,
                  "the best pairs of a way up and a pull, the planned one first; only where ways "
                  "up were searched, too")
            .field(
                "together_why",
                [](const SplitBlock& s) {
                    return s.together ? std::optional(rendered(s.together->why)) : std::nullopt;
                },
                "the first of these against the best of each search");
    return block;
}

}  // namespace cavigram::detail
