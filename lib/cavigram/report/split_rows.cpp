// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include <fmt/core.h>

#include "cavigram/report/split_rows_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kMostListed = 4;  // the rest is in the JSON
constexpr std::size_t kMostPulls = 4;
constexpr double kShallow_mm = 5.0;  // nor is so little aside, where nothing stretches
constexpr double kShallow = 0.01;    // less stretch is not worth a row

std::string percent(double share) {
    return fmt::format("{:.0f} %", 100.0 * share);
}

std::string length(double mm) {
    return told_own(mm, Kind::length, 3);
}

std::string direction(const Vec3& d) {
    return up_text(d.x(), d.y(), d.z());
}

std::string pull_words(const Split& split) {
    std::string words = "the upper half comes off along " + direction(split.parting.pull) +
                        ", the lower the other way; ";
    if (!split.search) {
        return words + "as asked";
    }
    const Vec3& best = split.search->rows.front().value.pull;
    return words +
           fmt::format(
               "{} {} directions, of which {} lock{} nothing",
               best == split.parting.pull ? "the best of" : "chosen from",
               thousands(split.search->looked_at),
               split.search->free_directions == 0 ? std::string("none")
                                                  : thousands(split.search->free_directions),
               split.search->free_directions == 1 || split.search->free_directions == 0 ? "s" : "");
}

void together_row(Page& page, const SplitBlock& block) {
    if (block.together) {
        page.row("Together", "with the way up: " + block.together->why);
    }
}

void line_rows(Page& page, const Split& split) {
    const Parting& parting = split.parting;
    if (parting.line.loops.empty()) {
        page.row("Line", "none: no half would let the part go");
        return;
    }
    constexpr double kFlat_mm = 0.05;
    page.row(
        "Line",
        fmt::format(
            "{} in {}, {}, {} to {} above the lowest place with the pull upright, {}",
            length(parting.length_mm), plural(parting.line.loops.size(), "loop", "loops"),
            parting.smooth ? "free over the surface" : "along edges",
            told_end(parting.low_mm, Kind::length, 3), length(parting.high_mm),
            parting.off_plane_mm < kFlat_mm
                ? std::string("in one plane")
                : "within " + told_own(parting.off_plane_mm, Kind::length, 2) + " of a plane"));
    page.row("Halves",
             fmt::format("the part stands {} in the upper half and {} in the lower, of {}",
                         length(parting.upper_height_mm), length(parting.lower_height_mm),
                         length_text(parting.height_mm)));
}

std::string stretch_words(const CaughtPlace& place) {
    const double most = place.stretch.most();
    if (place.stretch.bridge) {
        return "closes around the part: slit it";
    }
    if (place.stretch.narrow_mm > 0.0 && place.stretch.most() < kShallow) {
        return fmt::format("behind a mouth of {}, too narrow for rubber: fill it on the master",
                           told_own(place.stretch.narrow_mm, Kind::length, 2));
    }
    if (place.stretch.most() < kShallow) {
        return "must bend that far";
    }
    return place.stretch.plug > place.stretch.ring
               ? fmt::format("squeezes {} through a mouth of {}", percent(most),
                             told_own(place.stretch.mouth_mm, Kind::length, 2))
               : fmt::format("stretches {} around the part", percent(most));
}

void locked_rows(Page& page, const Split& split, bool is_detail) {
    const std::size_t count = split.places.size() + split.locked.unlisted;
    if (count == 0) {
        page.row("Caught", "nothing: both halves come straight off");
        return;
    }
    page.row("Caught",
             fmt::format("{} of rubber in {}; it must stretch {} at most ({} measured half as "
                         "finely), and is taken to bear {}",
                         told(split.locked.volume_mm3, Kind::volume, 2),
                         plural(count, "place", "places"), percent(split.stretch),
                         percent(split.stretch_coarse), percent(split.request.stretch_limit)));
    // Those that need not stretch are shallow: rubber gives by bending.
    std::size_t listed = 0;
    for (std::size_t i = 0; i < split.places.size() && listed < kMostListed; ++i) {
        const CaughtPlace& place = split.places[i];
        if (place.stretch.most() < kShallow && !place.stretch.bridge &&
            place.pocket.lateral_mm < kShallow_mm) {
            continue;
        }
        page.add("",
                 fmt::format("{}. {}: {}, {} aside, {} half, {}", letters(listed), place.where,
                             told_own(place.pocket.volume_mm3, Kind::volume, 2),
                             told_own(place.pocket.lateral_mm, Kind::length, 2),
                             place.upper ? "upper" : "lower", stretch_words(place)),
                 is_detail);
        ++listed;
    }
    if (count > listed) {
        page.add("",
                 fmt::format("{}{} where the rubber hardly stretches, or smaller; the JSON has the "
                             "largest",
                             listed > 0 ? "and " : "", plural(count - listed, "place", "places")),
                 is_detail);
    }
}

void loose_rows(Page& page, const Split& split) {
    if (!split.loose) {
        return;
    }
    for (std::size_t i = 0; i < split.loose->pieces.size(); ++i) {
        const LoosePiece& piece = split.loose->pieces[i];
        page.row(i == 0 ? "Loose piece" : "",
                 fmt::format("{}: {} by {} by {} along x, y and z, off along {} ({} of its surface "
                             "free), {} of line",
                             piece.where, length(piece.size_mm.x()), length(piece.size_mm.y()),
                             length(piece.size_mm.z()), direction(piece.pull),
                             percent(piece.free_share), length(piece.line_mm)));
    }
    if (!split.loose->pieces.empty()) {
        page.row("", fmt::format("beside it the halves take {}, and rubber that stretches {}",
                                 split.loose->slits == 0
                                     ? std::string("no slit")
                                     : plural(static_cast<std::size_t>(split.loose->slits), "slit",
                                              "slits"),
                                 percent(split.loose->stretch)));
    }
}

void other_pulls(Page& page, const PullSearch& search) {
    page.cells("", {"", "Pull", "Stretch", "Caught", "Line", "Off a plane", "Taller half", "Slits"},
               true);
    for (std::size_t i = 0; i < search.rows.size() && i < kMostPulls; ++i) {
        const PullValue& v = search.rows[i].value;
        page.cells(i == 0 ? "Pulls" : "",
                   {fmt::format("{}.", i + 1), direction(v.pull), percent(v.stretch),
                    told_own(v.locked_mm3, Kind::volume, 2), length(v.length_mm),
                    told_own(v.off_plane_mm, Kind::length, 2), length(v.half_height_mm),
                    v.valid ? std::string("none") : fmt::format("{}", std::max(1, v.slits))},
                   true);
    }
}

void hole_row(Page& page, const SplitBlock& block) {
    if (block.holes.empty()) {
        return;
    }
    std::string words;
    std::size_t vents = 0;
    for (const HoleAtLine& hole : block.holes) {
        words += (words.empty() ? "" : ", ") +
                 (hole.pour_hole ? std::string("pour hole") : fmt::format("vent {}", ++vents)) +
                 " " + told_own(hole.from_line_mm, Kind::length, 2);
    }
    page.add("Holes", "from the parting line: " + words, true);
}

}  // namespace

void split_rows(Page& page, const Plan& plan, bool is_detail) {
    const Split& split = plan.split->found;
    page.row("Pull", pull_words(split));
    together_row(page, *plan.split);
    line_rows(page, split);
    locked_rows(page, split, is_detail);
    loose_rows(page, split);
    page.row("Draft", fmt::format("{} of the surface leans less than {:g} degrees",
                                  percent(split.draft.steep_share()), split.draft.limit_deg));
    hole_row(page, *plan.split);
    if (split.search) {
        other_pulls(page, *split.search);
    }
}

}  // namespace cavigram
