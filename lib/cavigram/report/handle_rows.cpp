// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <string>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/report/handle_rows_detail.h"

namespace cavigram {

namespace {

std::string percent(double share, int digits = 2) {
    return significant(100.0 * share, digits) + " %";
}

std::string material_words(RodMaterial material) {
    std::string words = to_text(material);
    std::replace(words.begin(), words.end(), '_', ' ');
    return words;
}

std::string rod_words(const Rod& rod) {
    return material_words(rod.material) + " " + told(rod.diameter_mm, Kind::length, 3);
}

void weight_row(Page& page, const Plan& plan) {
    const HandleBlock& hand = *plan.handle;
    std::string text = mass_text(hand.part_mass_g);
    if (hand.rod) {
        text += fmt::format(": {} of foam and a rod of {}, which takes {} of foam's place",
                            told_own(plan.foam->mass.part_mass_g, Kind::mass, 3),
                            told_own(hand.rod->mass_g, Kind::mass, 3),
                            told_own(hand.foam_displaced_g, Kind::mass, 2));
    }
    page.row("In hand", text);
}

// What no eye sees is not spelled out.
constexpr double kSeen_mm = 0.1;

std::string span_words(const HandleSpan& span) {
    const char* const what =
        span.likely.is == DroopSpan::Is::between ? " between the grips" : " at the end";
    std::string droops = span.likely.droop_mm < kSeen_mm
                             ? "under " + told(kSeen_mm, Kind::length, 1) + what
                             : told(span.likely.droop_mm, Kind::length, 2) + what;
    if (span.high_mm >= kSeen_mm) {
        droops += span.low_mm < kSeen_mm
                      ? ", likely up to " + told_own(span.high_mm, Kind::length, 2)
                      : ", likely " + told_end(span.low_mm, Kind::length, 2) + " to " +
                            told_own(span.high_mm, Kind::length, 2);
    }
    if (span.likely.droop_mm >= kSeen_mm) {
        droops += fmt::format(" ({} of {})", percent(span.likely.share()),
                              told_own(span.likely.length_mm, Kind::length, 3));
    }
    return droops + ", " + span.where;
}

void droop_rows(Page& page, const HandleBlock& hand) {
    std::string held = hand.grips.front().given ? "held at " : "held at its middle, ";
    held += hand.grips.front().where;
    if (hand.grips.size() > 1) {
        held += ", and at " + hand.grips.back().where;
    }
    page.row("Held", held);
    const HandleSpan& worst = hand.spans[hand.worst];
    page.row("Droops", span_words(worst));
    if (hand.rod) {
        page.detail("", "without the rod " + told(worst.bare_mm, Kind::length, 2));
    }
    for (std::size_t i = 0; i < hand.spans.size(); ++i) {
        if (i != hand.worst) {
            page.detail("", span_words(hand.spans[i]));
        }
    }
    const std::string limit = percent(hand.most_droop_share);
    page.row("So it",
             hand.hold == Hold::holds
                 ? "holds its shape: even the softest such foam droops by no more than " + limit
             : hand.hold == Hold::may_sag
                 ? "may sag by more than " + limit + ", as soft or stiff as this foam is"
                 : "sags: even the stiffest such foam droops by more than " + limit);
}

std::string path_words(const RodPath& path) {
    std::string text = "cut " + told(path.length_mm, Kind::length, 3);
    if (path.bends_deg.empty()) {
        text += ", straight";
    } else {
        text += path.bends_deg.size() == 1 ? ", one bend of " : ", bends of ";
        for (std::size_t i = 0; i < path.bends_deg.size(); ++i) {
            text += fmt::format("{}{:.0f}", i == 0 ? "" : ", ", path.bends_deg[i]);
        }
        text += " degrees";
    }
    return text + ", at least " + told(path.cover_mm, Kind::length, 2) + " of foam over it";
}

std::string corners_words(const RodPath& path) {
    std::string text;
    for (const Vec3& corner : path.corners_mm) {
        text += (text.empty() ? "from " : " to ") + place_text(corner.x(), corner.y(), corner.z());
    }
    return text;
}

void choice_rows(Page& page, const HandleBlock& hand) {
    std::string fits;
    std::string none;
    for (const RodChoice& choice : hand.choices) {
        if (!choice.laid) {
            none += (none.empty() ? "" : ", ") + material_words(choice.material);
            continue;
        }
        fits +=
            fmt::format("{}{}{} (droops {})", fits.empty() ? "" : ", ", rod_words(choice.laid->rod),
                        choice.enough ? "" : ", not enough", percent(choice.share));
    }
    if (!fits.empty()) {
        page.row("Armature", "would keep it: " + fits + "; give one with " + setting("armature") +
                                 ", and its foam is taken off the grams");
    }
    if (!none.empty()) {
        page.row(fits.empty() ? "Armature" : "",
                 "no rod of " + none + " fits along it with enough foam over it");
    }
    const auto first = std::find_if(hand.choices.begin(), hand.choices.end(),
                                    [](const RodChoice& c) { return c.laid && c.enough; });
    if (first != hand.choices.end()) {
        page.row("", rod_words(first->laid->rod) + ": " + path_words(first->laid->path));
        page.detail("", corners_words(first->laid->path));
    }
}

void basis_rows(Page& page, const HandleBlock& hand) {
    const auto mpa = [](double value) { return significant(value, 2); };
    const Ranged& core = hand.core_modulus_mpa;
    page.detail(
        "Rests on",
        (hand.modulus_given ? fmt::format("a core of {} MPa, as given", mpa(core.value))
                            : fmt::format("a core of {} MPa ({} to {}) by its density and mix",
                                          mpa(core.value), mpa(core.low), mpa(core.high))) +
            fmt::format(", and {} times as much droop where it hangs for days; held level, the "
                        "way down that bends it most: {}",
                        significant(hand.creep, 2),
                        up_text(hand.down.x(), hand.down.y(), hand.down.z())));
    if (hand.outside_law) {
        page.detail("",
                    "the skin is denser than the law of foams holds for: its stiffness is "
                    "carried over");
    }
    page.detail("Balance", told(std::abs(hand.balance_mm), Kind::length, 2) +
                               " from the first grip along the part, which is " +
                               told(hand.length_mm, Kind::length, 3) +
                               (hand.straight ? " long" : " long along its bends"));
}

}  // namespace

void handle_rows(Page& page, const Plan& plan) {
    const HandleBlock& hand = *plan.handle;
    // A pour that ends short leaves no part that could be held as this one is.
    if (plan.foam && plan.foam->mass.unfilled_mm3 > 0.0) {
        page.row("In hand", "told for a pour that fills the mold");
        return;
    }
    weight_row(page, plan);
    if (hand.spans.empty()) {
        return;
    }
    droop_rows(page, hand);
    if (hand.rod) {
        page.row("Armature", rod_words(hand.rod->rod) + ", " + path_words(hand.rod->path));
        page.row("", corners_words(hand.rod->path));
    }
    choice_rows(page, hand);
    basis_rows(page, hand);
}

}  // namespace cavigram
