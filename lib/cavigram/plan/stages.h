// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace cavigram {

/// Which stages to compute beyond reading, mending and measuring.
struct Stages {
    bool thin = false;        ///< Where the part is thin.
    bool foam = false;        ///< Grams, and the window of the pour.
    bool density = false;     ///< What is beneath each place of the surface. Needs foam.
    bool air = false;         ///< Pockets and vents.
    bool bench = false;       ///< Needs foam.
    bool handle = false;      ///< Weight and droop in the hand. Needs foam.
    bool orient = false;      ///< The search for a way up.
    bool mold = false;        ///< What to build around the part. Needs foam.
    bool split = false;       ///< Pull direction and parting line.
    bool rise = false;        ///< The foam rising. Needs foam, air and bench.
    bool rise_cases = false;  ///< The same with other holes and other amounts of foam.
    bool display = false;     ///< What the page, the pictures and the templates show.
};

/// The stages of a whole plan: all but the cases of the rise, which take as long again as the rest.
inline constexpr Stages kWholePlan{.thin = true,
                                   .foam = true,
                                   .density = true,
                                   .air = true,
                                   .bench = true,
                                   .handle = true,
                                   .orient = true,
                                   .mold = true,
                                   .split = true,
                                   .rise = true,
                                   .display = true};

}  // namespace cavigram
