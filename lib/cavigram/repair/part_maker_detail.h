// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cavigram/repair/part.h"

namespace cavigram {

/// All that a Part is made of. `shells` and `crossings` belong to `mesh`, as does `adjacent`.
struct PartPieces {
    TriMesh mesh;
    Adjacency adjacent;
    Shells shells;
    std::vector<RepairStep> steps;
    std::vector<Fault> faults;
    std::vector<CrossingPair> crossings;
    Verdict verdict = Verdict::sound;
};

/// The only door to a Part.
///
/// \throw UnusableInput if the mesh is not closed.
class PartMaker {
  public:
    [[nodiscard]] static Part make(PartPieces pieces);
};

/// Whether a vertex has two fans of triangles.
///
/// \pre `adjacent` is closed
[[nodiscard]] bool pinched_somewhere(const TriMesh& mesh, const Adjacency& adjacent);

/// Divergence-theorem volume about the box center: plain sum, for decisions. The measure room has
/// the exact one.
[[nodiscard]] double signed_volume_mm3(const TriMesh& mesh);

/// A place for a sentence (told_place).
[[nodiscard]] std::string told_at(const Vec3& p);

}  // namespace cavigram
