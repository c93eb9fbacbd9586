// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/io/mesh_writer.h"

namespace cavigram {

/// The viridis map at `share` from 0 (dark violet) to 1 (yellow): perceptually even, readable
/// without color vision. Nine knots, linear between. Values outside are clamped. Viridis: van der
/// Walt & Smith, 2015, given to the public domain.
[[nodiscard]] Rgb viridis(double share);

}  // namespace cavigram
