// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cavigram/repair/part.h"

namespace cavigram {

/// The only door to a Part. \throw UnusableInput if the mesh is not closed.
class PartMaker {
  public:
    [[nodiscard]] static Part make(TriMesh mesh, std::vector<RepairStep> steps, Verdict verdict);
};

/// Divergence-theorem volume about the box center: plain sum, for decisions. The measure room has the exact one.
[[nodiscard]] double signed_volume_mm3(const TriMesh& mesh);

/// A place for a sentence: "(1.2, 30, -4.5) mm".
[[nodiscard]] std::string place_text(const Vec3& p);

}  // namespace cavigram
