// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/told.h"
#include "cavigram/report/fields/blocks_detail.h"

namespace cavigram::detail {

namespace {

const std::vector<std::string>& material_choices() {
    static const std::vector<std::string> words = {"steel", "aluminum", "birch", "glass_fiber"};
    return words;
}

const Block<LaidRod>& rod_block() {
    static const Block<LaidRod> block =
        Block<LaidRod>("Armature", "A round rod in the part.")
            .choice(
                "material", material_choices(),
                [](const LaidRod& r) { return to_text(r.rod.material); }, "of what")
            .field(
                "diameter_mm", [](const LaidRod& r) { return r.rod.diameter_mm; }, "its thickness")
            .field(
                "length_mm", [](const LaidRod& r) { return r.path.length_mm; },
                "to cut, before it is bent")
            .field("mass_g", &LaidRod::mass_g, "of the rod")
            .field("volume_mm3", &LaidRod::volume_mm3, "that it takes from the foam")
            .field(
                "cover_mm", [](const LaidRod& r) { return r.path.cover_mm; }, "least foam over it")
            .field(
                "line_mm", [](const LaidRod& r) { return r.path.corners_mm; },
                "from end to end, straight between these places")
            .field(
                "bends_deg", [](const LaidRod& r) { return r.path.bends_deg; },
                "at each place but the ends");
    return block;
}

const Block<RodChoice>& choice_block() {
    static const Block<RodChoice> block =
        Block<RodChoice>("RodChoice", "What rods of one material can do.")
            .choice(
                "material", material_choices(),
                [](const RodChoice& c) { return to_text(c.material); }, "which")
            .object("armature", rod_block(), &RodChoice::laid,
                    "the least that keeps the droop, or else the thickest that fits; absent: none "
                    "fits")
            .field("enough", &RodChoice::enough, "it keeps the droop")
            .nullable(
                "droop_mm",
                [](const RodChoice& c) {
                    return c.laid ? std::optional(c.droop_mm) : std::nullopt;
                },
                "with the softest foam of the range, left hanging")
            .nullable(
                "droop_share",
                [](const RodChoice& c) { return c.laid ? std::optional(c.share) : std::nullopt; },
                "droop over length");
    return block;
}

const Block<HandleSpan>& span_block() {
    static const Block<HandleSpan> block =
        Block<HandleSpan>("DroopSpan", "One end, or the part between two grips.")
            .choice(
                "span", {"first_end", "last_end", "between"},
                [](const HandleSpan& s) {
                    return s.likely.is == DroopSpan::Is::first_end  ? "first_end"
                           : s.likely.is == DroopSpan::Is::last_end ? "last_end"
                                                                    : "between";
                },
                "which")
            .field("at_mm", &HandleSpan::at_mm, "the place that droops")
            .field(
                "where", [](const HandleSpan& s) { return rendered(s.where); }, "by ruler")
            .field(
                "length_mm", [](const HandleSpan& s) { return s.likely.length_mm; },
                "from the grip, or between the grips")
            .field(
                "droop_mm", [](const HandleSpan& s) { return s.likely.droop_mm; },
                "with the likely foam, at once")
            .field("droop_low_mm", &HandleSpan::low_mm, "with the stiffest of the range")
            .field("droop_high_mm", &HandleSpan::high_mm, "with the softest, left hanging for days")
            .field("droop_without_rod_mm", &HandleSpan::bare_mm, "with the likely foam alone")
            .field(
                "droop_share", [](const HandleSpan& s) { return s.likely.share(); },
                "droop over length")
            .field(
                "slope_deg", [](const HandleSpan& s) { return s.likely.slope_deg; },
                "that the part has turned there");
    return block;
}

const HandleSpan* worst(const HandleBlock& hand) {
    return hand.spans.empty() ? nullptr : &hand.spans[hand.worst];
}

// A figure of the span that droops most.
template <class Get>
auto of_worst(Get get) {
    return [get](const HandleBlock& hand) {
        const HandleSpan* const span = worst(hand);
        return span != nullptr ? std::optional<double>(get(*span)) : std::nullopt;
    };
}

}  // namespace

const Block<HandleBlock>& handle_block() {
    static const Block<HandleBlock> block =
        Block<HandleBlock>("Handle", "The part in the hand: weight, droop, armature.")
            .field("part_mass_g", &HandleBlock::part_mass_g, "foam and rod")
            .nullable("droop_mm", of_worst([](const HandleSpan& s) { return s.likely.droop_mm; }),
                      "of the span that droops most for its length, likely; null: the part is no "
                      "beam")
            .nullable("droop_low_mm", of_worst([](const HandleSpan& s) { return s.low_mm; }),
                      "with the stiffest such foam")
            .nullable("droop_high_mm", of_worst([](const HandleSpan& s) { return s.high_mm; }),
                      "with the softest, left hanging for days")
            .nullable("droop_share", of_worst([](const HandleSpan& s) { return s.likely.share(); }),
                      "droop over length")
            .field("most_droop_share", &HandleBlock::most_droop_share, "that counts as holding")
            .choice(
                "verdict", {"holds", "may_sag", "sags"},
                [](const HandleBlock& h) {
                    return h.spans.empty() ? std::nullopt
                                           : std::optional<std::string>(to_text(h.hold));
                },
                "for the whole range, for some of it, for none; null: not known", true)
            .object("armature", rod_block(), &HandleBlock::rod, "as given, where it lies")
            .field("foam_displaced_g", &HandleBlock::foam_displaced_g,
                   "by that rod, taken off the grams")
            .list("armatures", choice_block(), &HandleBlock::choices,
                  "proposed where the part may sag and none was given")
            .list("spans", span_block(), &HandleBlock::spans, "all that droop")
            .field(
                "grips_mm",
                [](const HandleBlock& h) {
                    std::vector<Vec3> at;
                    for (const Grip& grip : h.grips) {
                        at.push_back(grip.at_mm);
                    }
                    return at;
                },
                "one place or two")
            .field(
                "grip_given", [](const HandleBlock& h) { return h.grips.front().given; },
                "false: the middle")
            .field("down", &HandleBlock::down, "the way down in which it droops most")
            .field("length_mm", &HandleBlock::length_mm, "along the part's line")
            .field("straight", &HandleBlock::straight, "that line")
            .field("balance_mm", &HandleBlock::balance_mm,
                   "of its center of mass from the first grip along that line")
            .field(
                "core_modulus_mpa", [](const HandleBlock& h) { return h.core_modulus_mpa.value; },
                "Young's, likely")
            .field(
                "core_modulus_low_mpa", [](const HandleBlock& h) { return h.core_modulus_mpa.low; },
                "likely at least")
            .field(
                "core_modulus_high_mpa",
                [](const HandleBlock& h) { return h.core_modulus_mpa.high; }, "likely at most")
            .field("modulus_given", &HandleBlock::modulus_given, "as measured")
            .field("skin_outside_law", &HandleBlock::outside_law,
                   "too dense for the law of cellular solids")
            .field("creep", &HandleBlock::creep, "so many times as much droop after days");
    return block;
}

}  // namespace cavigram::detail
