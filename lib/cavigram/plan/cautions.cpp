// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/cautions.h"

namespace cavigram {

std::vector<std::string> pouring_cautions() {
    return {
        "Part A holds isocyanates: they irritate eyes, skin and airways and can make a person "
        "allergic for good, even with asthma. Ventilate, "
        "wear gloves and eye protection, and stop for good if breathing reacts; the supplier's own "
        "safety sheet and local rules come first.",
        "Never close a container that holds mixed liquid or liquid that has taken up water: carbon "
        "dioxide can burst it. Let leftovers cure "
        "open, in small amounts; large ones run hot.",
        "A closed mold is under pressure while the foam rises: strap it, keep vents open and your "
        "face away from them.",
    };
}

std::vector<std::string> molding_cautions() {
    return {
        "Plaster grows hot as it sets: never let a hand or any skin be enclosed by it, it burns "
        "deep before it hurts. Its dust, and that of sanded resin and fibers, does not belong into "
        "lungs: mix and sand with a mask and ventilation.",
        "Rubber, hardener and resin: gloves, eye protection, ventilation; their makers' safety "
        "sheets and local rules come first. Saws want guards and two free hands.",
        "A mold full of rubber and plaster is heavy and slips: lift it with the legs, close to the "
        "body, by two when it is more than one lifts with ease, and never across anyone's feet.",
    };
}

std::vector<std::string> handling_cautions() {
    return {
        "A soft copy can still hurt, by its weight, its dense skin and a rod in it: only trained "
        "people, rehearsed moves, nothing near eyes and throats; local rules come first.",
        "Cut the ends of a rod square, file them round and look at each copy before it is used: a "
        "rod that comes through the foam is a spike.",
        "Droop is that of a part held still. What swinging, blows and falls do to it is not in "
        "these figures.",
    };
}

}  // namespace cavigram
