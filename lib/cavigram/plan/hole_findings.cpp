// SPDX-License-Identifier: GPL-3.0-or-later
#include <string>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/told.h"
#include "cavigram/plan/hole_findings_detail.h"

namespace cavigram::detail {

namespace {

// A point that was given for an opening and lies farther off than this was meant a bit loosely.
constexpr double kMoved_mm = 0.05;

std::string told_at(const Vec3& place_mm) {
    return told_place(place_mm.x(), place_mm.y(), place_mm.z());
}

const char* kind_of(const Opening& opening) {
    return opening.pour_hole ? "pour hole" : "vent";
}

std::string wide(double mm) {
    return told_own(mm, Kind::length, 3);
}

Finding finding_at(Severity severity, FindingCode code, std::string text, const Vec3& place) {
    return {severity, code, std::move(text), {{place.x(), place.y(), place.z()}}};
}

void refuse_underside(const PlacedHoles& holes) {
    if (!holes.on_underside.empty()) {
        const Opening& hole = holes.on_underside.front();
        throw InvalidInput(fmt::format(
            "The {} at {} lies on the part's underside, where liquid can't be poured in and would "
            "run out; give a place that looks up ({}), or turn the part ({}).",
            kind_of(hole), told_at(hole.place_mm), setting(hole.pour_hole ? "pour-hole" : "vent"),
            setting("up")));
    }
}

std::string takes(double widest_mm) {
    return widest_mm > 0.0 ? "takes none wider than " + wide(widest_mm) : "takes none at all";
}

// A hole that hangs over an edge is still a hole; one of which little or nothing is on the part
// can't be poured through.
Finding tight(const TightHole& hole, const HoleRules& rules) {
    const std::string what =
        fmt::format("The pour hole at {} is {} wide and the part {} there; ",
                    told_at(hole.place_mm), wide(hole.width_mm), takes(hole.widest_mm));
    if (hole.widest_mm >= rules.least_pour_hole_mm) {
        return finding_at(Severity::warning, "pour_hole_too_wide",
                          what + fmt::format("make it no wider ({}), or give it a place that is "
                                             "broader ({}).",
                                             setting("pour-hole-width"), setting("pour-hole")),
                          hole.place_mm);
    }
    return finding_at(
        Severity::stop, "pour_hole_too_wide",
        what + fmt::format("give it a place that is broader ({}), turn the part "
                           "({}), or pour into the open half ({} none).",
                           setting("pour-hole"), setting("up"), setting("pour-hole-after")),
        hole.place_mm);
}

// Made smaller, and what that means where it is a trickle.
Finding smaller(const PlacedHoles& holes, const HoleRules& rules) {
    const std::string what =
        fmt::format("The pour hole is {} wide instead of {}: the part takes none wider there",
                    wide(holes.pour_hole_mm), wide(rules.pour_hole_mm));
    if (holes.pour_hole_mm < rules.least_pour_hole_mm) {
        return {Severity::warning,
                "pour_hole_smaller",
                what + fmt::format("; pour into the open half ({} none), or turn the part ({}).",
                                   setting("pour-hole-after"), setting("up")),
                {}};
    }
    return {Severity::note, "pour_hole_smaller", what + ".", {}};
}

void say_close(std::vector<Finding>& found, const PlacedHoles& holes, const HoleRules& rules) {
    for (const CloseHoles& pair : holes.close) {
        const std::string vent = told_at(pair.vent.place_mm);
        if (pair.other.pour_hole && !pair.other.lets_air_out && pair.wall_mm < 0.0) {
            found.push_back(finding_at(
                Severity::warning, "vent_in_pour_hole",
                fmt::format("The vent at {} lies in the plugged pour hole; drill the plug ({} "
                            "vented), or move one of them.",
                            vent, setting("pour-hole-after")),
                pair.vent.place_mm));
            continue;
        }
        found.push_back(finding_at(
            Severity::warning, "holes_too_close",
            fmt::format("The vent at {} {} the {} at {}; keep {} between two holes, or leave one "
                        "of them out: a thinner wall tears when the foam is pulled out.",
                        vent,
                        pair.wall_mm > 0.0 ? "leaves a wall of only " + wide(pair.wall_mm) + " to"
                                           : std::string("runs into"),
                        kind_of(pair.other), told_at(pair.other.place_mm),
                        wide(rules.least_wall_mm)),
            pair.vent.place_mm));
    }
}

}  // namespace

std::vector<Finding> pour_hole_findings(const PlacedHoles& holes, const HoleRules& rules) {
    refuse_underside(holes);
    std::vector<Finding> found;
    for (const MovedPourHole& moved : holes.moved) {
        found.push_back(finding_at(
            Severity::note, "pour_hole_elsewhere",
            fmt::format("The highest place, {}, {}: the pour hole of {} goes to {} instead.",
                        told_at(moved.from_mm), takes(moved.widest_mm), wide(holes.pour_hole_mm),
                        told_at(moved.to_mm)),
            moved.to_mm));
    }
    if (holes.narrowed) {
        found.push_back(smaller(holes, rules));
    }
    for (const TightHole& hole : holes.tight_pour_holes) {
        found.push_back(tight(hole, rules));
    }
    return found;
}

std::vector<Finding> hole_findings(const PlacedHoles& holes, const HoleRules& rules) {
    std::vector<Finding> found;
    if (holes.nothing_shown) {
        found.push_back(
            {Severity::note,
             "nothing_shown",
             "No surface of the part lies on the show side; check its direction or box.",
             {}});
    }
    for (const Opening& opening : holes.on_show_side) {
        found.push_back(finding_at(
            Severity::warning, "hole_on_show_side",
            fmt::format("The {} at {} lies on the show side, or cuts into it; move it, turn the "
                        "part, or leave the mark where it is least seen.",
                        kind_of(opening), told_at(opening.place_mm)),
            opening.place_mm));
    }
    for (const Opening& opening : holes.openings) {
        if (opening.given && opening.moved_mm > kMoved_mm) {
            found.push_back(finding_at(
                Severity::note, "opening_moved",
                fmt::format("A {} was given {} off the part and is taken as the nearest place on "
                            "it, {}.",
                            kind_of(opening), told_own(opening.moved_mm, Kind::length, 2),
                            told_at(opening.place_mm)),
                opening.place_mm));
        }
    }
    say_close(found, holes, rules);
    if (holes.kept_apart > 0) {
        found.push_back(
            {Severity::note,
             "holes_kept_apart",
             fmt::format("{} moved or left out, so that a wall of {} stays between two holes.",
                         holes.kept_apart == 1 ? "One vent was"
                                               : fmt::format("{} vents were", holes.kept_apart),
                         wide(rules.least_wall_mm)),
             {}});
    }
    for (const TightHole& vent : holes.tight_vents) {
        found.push_back(finding_at(
            Severity::note, "vent_too_wide",
            fmt::format("The vent at {} is {} wide and the part {} there: its stub is as wide as "
                        "the tip that it stands on; trim it with care, or make the tip broader.",
                        told_at(vent.place_mm), told_drill(vent.width_mm), takes(vent.widest_mm)),
            vent.place_mm));
    }
    return found;
}

}  // namespace cavigram::detail
