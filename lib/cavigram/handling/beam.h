// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/handling/centerline.h"
#include "cavigram/handling/droop.h"
#include "cavigram/handling/foam_stiffness.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// How finely a part is taken as a beam.
struct BeamOptions {
    CenterlineOptions line;           ///< Its line.
    std::size_t section_cells = 800;  ///< About so many squares fill a section.
};

/// The deepest place of a section: where a rod has most foam around it.
struct DeepPlace {
    Vec3 at_mm = Vec3::Zero();  ///< In the part's coordinates.
    double depth_mm = 0.0;      ///< Below the nearest surface.
};

/// A part as a beam.
struct Beam {
    std::vector<BeamElement> elements;  ///< From end to end.
    std::vector<DeepPlace> deep;        ///< Of each element's section.
    bool straight = true;               ///< As Centerline.
    double length_mm = 0.0;             ///< Along its line.
    std::vector<double> area_mm2;       ///< Of each section, as far as it belongs to the beam.
    /// Some section is empty: the part is in pieces along its line, and no beam.
    bool parted = false;

    /// Where a node lies, 0 to the number of elements.
    [[nodiscard]] const Vec3& node_mm(std::size_t i) const {
        return i < elements.size() ? elements[i].from_mm : elements.back().to_mm;
    }
    /// The node nearest to a place.
    [[nodiscard]] std::size_t node_near(const Vec3& at_mm) const;
};

/// A part as a beam: sections across its line, what foam and skin make of them, and what they
/// weigh.
///
/// Area and moments are exact for the mesh (sections.h) times the core's modulus; on top comes what
/// the skin adds, summed over squares of the section by their true depth below the surface, along
/// which the profile is integrated in closed form, so that a skin thinner than a square counts in
/// full. Regions of a section that do not touch bend each for itself: softer than if they were
/// tied. Curved parts take the region that holds the line, and planes across it.
///
/// O(triangles * elements) for curved parts, O(triangles + crossings) for straight ones, and some
/// 50,000 nearest-point queries.
///
/// \pre `surface` is the index of `mesh`, closed; mass_g > 0: elements add up to it
///
/// \throw Cancelled
[[nodiscard]] Beam beam(const TriMesh& mesh, const TriangleBvh& surface, const MassProperties& mass,
                        const StiffLayers& foam, double mass_g, const BeamOptions& options = {},
                        const RunContext& context = {});

}  // namespace cavigram
