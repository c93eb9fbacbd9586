// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <vector>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/repair/crossings.h"
#include "cavigram/repair/faults.h"

namespace cavigram {

/// What may be done to a surface.
enum class RepairAction {
    weld,                ///< Equal corners became one vertex.
    drop_degenerate,     ///< Triangles without area went.
    drop_repeated,       ///< Repeated triangles went.
    drop_folded,         ///< Triangles that lie back to back went.
    turn_faces,          ///< Faces were turned to agree with their neighbors.
    close_cracks,        ///< Borders that nearly met were joined.
    part_touching,       ///< The surface was parted where it touches itself.
    drop_scraps,         ///< Small pieces went.
    close_holes,         ///< Holes were closed.
    cut_tangles,         ///< Triangles that cross within a patch were cut out and closed anew.
    cut_crossings,       ///< A shell that crosses itself became one solid.
    unite,               ///< Solids that cross became one.
    fill_broken_hollow,  ///< A hollow that breaks through its wall counts as solid.
    keep_crossings,      ///< Crossings stay; what they count wrongly is in the range.
    turn_shells,         ///< Shells were turned outward or inward.
    drop_within,         ///< Solid in solid counts once.
    fill_hollows,        ///< Hollows were filled, as asked.
    keep_hollow,         ///< An inner skin is taken for hollow space, which the range allows for.
    wrap,                ///< A wrap took the place of the surface.
    allow_for_noise,     ///< The range was widened by the noise.
};

/// The word for an action in text and JSON: `close_holes`.
[[nodiscard]] const char* to_text(RepairAction action);

/// One thing that was done to the surface, and what it did to the volume.
struct RepairStep {
    RepairAction action = RepairAction::weld;  ///< What was done.
    std::size_t count = 0;           ///< How many vertices, triangles or holes it touched.
    double volume_change_mm3 = 0.0;  ///< Signed change of the part's volume by this step.
    /// How far below and above the true volume may lie because of this step, both >= 0.
    double volume_below_mm3 = 0.0;
    double volume_above_mm3 = 0.0;  ///< By how much the true volume could be more.
    std::vector<std::array<double, 3>>
        places_mm;  ///< Where, in the part's coordinates; the worst first, at most 32.
};

/// How the part came to be closed.
enum class Verdict {
    sound,     ///< As read it was closed and outward oriented.
    repaired,  ///< Closed by mending; see the steps.
    wrapped,   ///< Replaced by a wrap around it, as the last resort.
};

/// The word for a verdict in text and JSON.
[[nodiscard]] const char* to_text(Verdict verdict);

/// A closed, outward-oriented, edge- and vertex-manifold surface in millimeters, with the log of
/// every change that made it so.
///
/// Only the repair room makes one, so every later room may rely on it: each edge has exactly two
/// triangles that run against each other, each vertex one fan, all coordinates are finite, no
/// triangle repeats a vertex. Shells of hollows are oriented inward. Not promised: that the surface
/// never crosses itself.
class Part {
  public:
    /// The mended surface.
    [[nodiscard]] const TriMesh& mesh() const { return mesh_; }
    /// Its neighbors.
    [[nodiscard]] const Adjacency& adjacent() const { return adjacent_; }
    /// Its closed surfaces.
    [[nodiscard]] const Shells& shells() const { return shells_; }
    /// What mending did, in order.
    [[nodiscard]] const std::vector<RepairStep>& steps() const { return steps_; }
    /// What kind of file it was.
    [[nodiscard]] Verdict verdict() const { return verdict_; }
    /// What was wrong with the surface as read, and what remains to know about it.
    [[nodiscard]] const std::vector<Fault>& faults() const { return faults_; }
    /// Pairs of triangles that still cross each other, for the air tree; empty also if crossings
    /// were not looked for.
    [[nodiscard]] const std::vector<CrossingPair>& crossings() const { return crossings_; }
    /// Sum of the steps' allowances: how far the true volume may lie below and above the mesh's.
    [[nodiscard]] double volume_below_mm3() const;
    /// By how much the volume could be more.
    [[nodiscard]] double volume_above_mm3() const;

  private:
    friend class PartMaker;
    Part() = default;

    TriMesh mesh_;
    Adjacency adjacent_;
    Shells shells_;
    std::vector<RepairStep> steps_;
    std::vector<Fault> faults_;
    std::vector<CrossingPair> crossings_;
    Verdict verdict_ = Verdict::sound;
};

/// Takes a mesh that is already closed, oriented and manifold. For solids made by a program, and
/// for tests.
///
/// O(n).
///
/// \throw UnusableInput naming a place, if it is not closed or lies inside out.
[[nodiscard]] Part part_from_closed(TriMesh mesh_mm);

}  // namespace cavigram
