// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/measure/view.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/repair/faults.h"
#include "cavigram/repair/part.h"
#include "cavigram/report/picture.h"

namespace cavigram {

/// Of what belongs to one number, at most so many places are marked: the worst, which stand first.
inline constexpr std::size_t kMostMarkedPlaces = 24;

/// The surface as it was read, with a ring at the places of its faults and the number of the fault
/// beside it, counted from 1 in the order given; dashed where the surface hides the place. Places
/// of one number that would be one ring are drawn once. Black and white. Same input, same bytes.
///
/// O(triangles + pixels)
[[nodiscard]] Picture faults_picture(const TriMesh& surface_mm, const std::vector<Fault>& faults,
                                     const View& view, const PictureOptions& options);

/// The same of the mended surface, with the places at which each step changed it.
[[nodiscard]] Picture mending_picture(const TriMesh& mended_mm,
                                      const std::vector<RepairStep>& steps, const View& view,
                                      const PictureOptions& options);

}  // namespace cavigram
