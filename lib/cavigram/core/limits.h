// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace cavigram {

/// From and to, both allowed, in the unit of the name.
struct Limits {
    double least = 0.0;  ///< Allowed.
    double most = 0.0;   ///< Allowed.
    /// Whether a value lies within.
    [[nodiscard]] constexpr bool hold(double value) const {
        return value >= least && value <= most;
    }
};

// What makes sense of each kind. Outside lies a typing error or a wrong unit, and whatever is
// computed from it is no recipe. Options, cards and stages take their limits from here.

/// A part's longest side: below is a grain of rice, above a house.
inline constexpr Limits kPartSize_mm{1.0, 10'000.0};
/// Any length of a part or its mold: the smallest is a step of the file, the largest the part.
inline constexpr Limits kLength_mm{1e-3, 10'000.0};
/// Foam is heavier than the air that it displaces (1.225 kg/m3 at 15 C: ISO 2533), and lighter than
/// the densest liquid that it is made of (part A is 1,120 to 1,250; from memory).
inline constexpr Limits kFoam_kg_m3{1.225, 1300.0};
/// The smallest step of a scale: a laboratory's, and a postman's.
inline constexpr Limits kScaleStep_g{1e-4, 1000.0};
/// What a person lifts and pours in one go. Common practice, no source.
inline constexpr Limits kPour_g{1e-3, 10'000.0};
/// The most that is stirred by hand, evenly, in the seconds that such a foam leaves: a liter or so.
/// Common practice, no source.
inline constexpr double kStirredByHand_g = 1000.0;
inline constexpr Limits kCopies{1.0, 1000.0};
/// Rooms in which a person pours.
inline constexpr Limits kRoom_c{-10.0, 60.0};
/// Molds, warmed ones too.
inline constexpr Limits kMold_c{-10.0, 100.0};
/// Air, from the highest towns to the deepest shores, with room.
inline constexpr Limits kAir_kpa{40.0, 120.0};
/// Dust, or a coat of paint as thick as rubber.
inline constexpr Limits kFinishRate_g_m2{0.0, 5000.0};
/// Holes in a mold: a needle's, and a funnel's.
inline constexpr Limits kHole_mm{0.5, 200.0};
/// What a mold may hold: a box of card, and one of steel.
inline constexpr Limits kMoldPressure_kpa{0.1, 10'000.0};
/// Foam over a rod in the part: none, and a thick part's all.
inline constexpr Limits kRodCover_mm{0.0, 200.0};
/// Young's modulus of a soft foam: a whipped one's, and a hard rubber's.
inline constexpr Limits kFoamModulus_kpa{1.0, 100'000.0};
/// No mold of rubber, plaster or printed plastic that is strapped by hand holds more than about the
/// pressure of the air, a metric ton on a square of 31 cm, unless its maker knows and says so.
/// Common practice, no source.
inline constexpr double kStrappedByHand_kpa = 100.0;

}  // namespace cavigram
