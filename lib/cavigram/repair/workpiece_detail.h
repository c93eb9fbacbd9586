// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "cavigram/core/error.h"
#include "cavigram/core/finding.h"
#include "cavigram/repair/mend.h"

namespace cavigram {

/// What was done, what was wrong and what is worth a word, in the order in which it came up.
struct Ledger {
    std::vector<RepairStep> steps;
    std::vector<Fault> faults;
    std::vector<Finding> findings;

    /// Adds a step with at most 32 of the places; the caller fills in what it did to the volume.
    RepairStep& log(const char* action, std::size_t count, const std::vector<Vec3>& places);
    /// Adds a fault with at most kMostFaultPlaces of the places.
    void fault(const char* kind, std::size_t count, const std::vector<Vec3>& places);
};

inline constexpr std::size_t kMostStepPlaces = 32;

/// A surface on the bench, which the stages of mending take in turn.
struct Workpiece {
    MendOptions options;
    RunContext context;
    TriMesh mesh;
    Adjacency adjacent;  ///< Of the mesh, once a stage has called refresh().
    Shells shells;
    std::vector<CrossingPair> crossings;  ///< What still crosses; empty until they are looked for.
    bool rounded_crossings = false;  ///< These are what rounding left, and in the range already.
    bool touching = false;  ///< Vertices were parted, so that several may lie in one place.
    Ledger ledger;

    void refresh();
    /// The first corners of triangles of the mesh, at most kMostFaultPlaces.
    [[nodiscard]] std::vector<Vec3> places_of(const std::vector<std::int32_t>& triangles) const;
};

/// A mesh that can't be closed by patches, but perhaps by a wrap.
class NotClosed : public UnusableInput {
  public:
    using UnusableInput::UnusableInput;
};

[[nodiscard]] double area_of(const TriMesh& mesh, std::size_t triangle);
[[nodiscard]] double area_of(const TriMesh& mesh);

/// Sewing: everything that only a broken surface needs, cheapest first, until every edge has its
/// two triangles and every vertex its one fan. Leaves `adjacent` as it was. \throw UnusableInput,
/// NotClosed
void sew(Workpiece& work);

/// Parts the surface where it touches itself, and writes that down.
void part_touching(Workpiece& work);

/// Looks for crossings and, with full mending, cuts tangles out and unites what crosses.
/// \pre closed, `adjacent` and `shells` fresh
void settle_crossings(Workpiece& work);

/// Widens the range for crossings that are left, and says so. \pre shells are turned
void allow_for_crossings(Workpiece& work);

/// Turns shells outward, those within others inward, and says what hollows were taken for.
/// \pre closed, `adjacent` and `shells` fresh \throw UnusableInput if mending is off and a shell
/// lies inside out
void nest_shells(Workpiece& work);

}  // namespace cavigram
