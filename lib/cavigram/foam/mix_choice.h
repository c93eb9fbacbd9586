// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/foam/card.h"

namespace cavigram {

/// Free-rise density of the card's mix: its own figure where the card states that; a core's, since
/// a core rises freely; a molded figure divided by the card's packing.
[[nodiscard]] Ranged free_rise_kg_m3(const FoamCard& card);

/// `other` with its times carried to the temperature of `card`, by its own rule.
///
/// \throw InvalidInput if that is too far away
[[nodiscard]] FoamCard at_temperature_of(const FoamCard& card, FoamCard other);

/// The mixes known of the card's foam: the card itself first, then those of its family that state
/// their density on the same basis, each ratio once.
[[nodiscard]] std::vector<FoamCard> mixes_of(const FoamCard& card,
                                             const std::vector<FoamCard>& family);

/// The card `card` at another mix, between its family's two nearest: specific volume (1/density) in
/// free rise linear in parts of A for each part of B, as the gas is blown by A; skin, packing,
/// viscosity and times linear too, times after they were brought to the card's temperature.
/// Stiffness is never interpolated (checks.md G7).
///
/// \throw InvalidInput if no two mixes of the family enclose `mix` (checks.md T1: outside, refuse),
/// or their times were measured too far apart in temperature
[[nodiscard]] FoamCard card_at_mix(const FoamCard& card, const std::vector<FoamCard>& family,
                                   const MixRatio& mix);

/// The mix of a foam that rises freely to a wanted density.
struct MixChoice {
    FoamCard card;         ///< At that mix.
    bool clamped = false;  ///< The family has no mix that light or that dense: the nearest end.
};

/// Chooses the ratio of A to B within a foam's family: a variable-density foam is made to be run at
/// different ratios.
///
/// Specific volume is linear in r = A/B (card_at_mix), so between neighbors r1 and r2
///     r = r1 + (r2 - r1) (1/rho - 1/rho1) / (1/rho2 - 1/rho1),
/// clamped to the family's ends, never beyond (foam_model.md 1, FM1, FM2). A family of one mix
/// gives that mix, clamped unless it fits.
///
/// O(family).
///
/// \pre free_rise above 0
[[nodiscard]] MixChoice mix_for_free_rise(const FoamCard& card, const std::vector<FoamCard>& family,
                                          double wanted_kg_m3);

}  // namespace cavigram
