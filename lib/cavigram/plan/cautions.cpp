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
