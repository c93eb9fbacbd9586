// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/cavity/height_volume.h"
#include "cavigram/geom/vector.h"
#include "cavigram/measure/thickness.h"

namespace cavigram {

/// A place where a part is thin.
struct ThinSample {
    Vec3 at_mm = Vec3::Zero();  ///< Midway between its walls.
    double volume_mm3 = 0.0;    ///< That it stands for, about.
};

/// The thinnest places of a part, which make up this share of its volume, and all that are as thin
/// within 2 % (so that of walls of one thickness all count). Convex edges, where any body is thin,
/// are left out. O(n log n)
///
/// \pre 0 < share <= 1
[[nodiscard]] std::vector<ThinSample> thin_samples(const ThicknessMap& thickness, double volume_mm3,
                                                   double share = 0.1);

/// How full the cavity is, on average by volume, when foam that rises level gets to these places: 0
/// to 1. Early is better: foam thickens as it rises, and thin places hold it back most. None
/// without places.
///
/// The mean over the whole cavity is 1/2 for any way up, and so it is for any foam that swells
/// alike everywhere, since what it fills is its volume: ways up differ only in which places come
/// late. O(places sqrt n)
[[nodiscard]] std::optional<double> arrival_share(const HeightVolume& cavity,
                                                  const std::vector<ThinSample>& places);

}  // namespace cavigram
