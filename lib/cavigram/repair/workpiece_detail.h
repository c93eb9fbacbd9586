// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "cavigram/core/error.h"
#include "cavigram/core/finding.h"
#include "cavigram/repair/mend.h"
#include "cavigram/repair/part_maker_detail.h"

namespace cavigram {

/// What a step did to the volume: by how much it changed, and how far below and above the true one
/// may lie because of it.
struct VolumeEffect {
    double change_mm3 = 0.0;
    double below_mm3 = 0.0;
    double above_mm3 = 0.0;
};

/// What was done, what was wrong and what is worth a word, in the order in which it came up.
struct Ledger {
    std::vector<RepairStep> steps;
    std::vector<Fault> faults;
    std::vector<Finding> findings;

    /// Adds a step with at most kMostStepPlaces of the places.
    void log(RepairAction action, std::size_t count, const std::vector<Vec3>& places,
             const VolumeEffect& effect = {});
    /// Adds a fault with at most kMostFaultPlaces of the places.
    void fault(FaultKind kind, std::size_t count, const std::vector<Vec3>& places);
    /// Adds a finding with at most kMostStepPlaces of the places.
    void find(Severity severity, FindingCode code, std::string text,
              const std::vector<Vec3>& places = {});
};

inline constexpr std::size_t kMostStepPlaces = 32;

/// A surface on the bench, which the stages of mending take in turn.
///
/// What belongs to the mesh can't be older than it: a stage that puts another mesh forgets
/// neighbors, shells and crossings, and those who ask find them anew.
class Workpiece {
  public:
    Workpiece(const MendOptions& how, const RunContext& run) : options(how), context(run) {}

    MendOptions options;
    RunContext context;
    Ledger ledger;

    [[nodiscard]] const TriMesh& mesh() const { return mesh_; }
    /// Of the mesh as it is now. O(n) when first asked for.
    [[nodiscard]] const Adjacency& adjacent();
    [[nodiscard]] const Shells& shells();
    /// Pairs that cross, as far as they were looked for.
    [[nodiscard]] const std::vector<CrossingPair>& crossings() const { return crossings_; }
    /// These are what rounding left, and in the range already.
    [[nodiscard]] bool crossings_are_rounding() const { return crossings_are_rounding_; }

    /// Another surface in its place; all that belonged to the old one is forgotten.
    void put(TriMesh mesh);
    /// Turns whole shells over, which leaves shells and crossings as they are.
    void turn(const std::vector<std::int32_t>& turned);
    /// Looks for crossings, by place where vertices were parted, so that several lie in one place.
    void look_for_crossings();
    void keep_as_rounding() { crossings_are_rounding_ = !crossings_.empty(); }
    /// Vertices were parted from here on.
    void note_parted() { parted_ = true; }

    /// The first corners of triangles of the mesh, at most kMostFaultPlaces.
    [[nodiscard]] std::vector<Vec3> places_of(const std::vector<std::int32_t>& triangles) const;

    /// The mesh and all that belongs to it, for a Part; nothing is left.
    [[nodiscard]] PartPieces released();

  private:
    TriMesh mesh_;
    Adjacency adjacent_;
    Shells shells_;
    bool adjacent_known_ = false;
    bool shells_known_ = false;
    std::vector<CrossingPair> crossings_;
    bool crossings_are_rounding_ = false;
    bool parted_ = false;
};

/// A mesh that can't be closed by patches, but perhaps by a wrap.
class NotClosed : public UnusableInput {
  public:
    using UnusableInput::UnusableInput;
};

[[nodiscard]] double area_of(const TriMesh& mesh, std::size_t triangle);
[[nodiscard]] double area_of(const TriMesh& mesh);

/// Sewing: everything that only a broken surface needs, cheapest first, until every edge has its
/// two triangles and every vertex its one fan.
///
/// \throw UnusableInput, NotClosed
void sew(Workpiece& work);

/// Closes all holes, tells of the large ones, and refuses those that must be asked for.
///
/// \throw UnusableInput, NotClosed
void close_holes(Workpiece& work);

/// Parts the surface where it touches itself, and writes that down.
void part_touching(Workpiece& work);

/// Looks for crossings and, with full mending, cuts tangles out and unites what crosses.
///
/// \pre closed
void settle_crossings(Workpiece& work);

/// Widens the range for crossings that are left, and says so.
///
/// \pre shells are turned
void allow_for_crossings(Workpiece& work);

/// Turns shells outward, those within others inward, and says what hollows were taken for.
///
/// \pre closed
/// \throw UnusableInput if mending is off and a shell lies inside out
void nest_shells(Workpiece& work);

/// Puts a wrap in the place of the surface. `refusal` says what went wrong before, null when the
/// wrap was asked for and `mended_mm3` is what the mended surface holds.
///
/// \throw UnusableInput, InvalidInput
void put_wrap(Workpiece& work, const NotClosed* refusal, std::optional<double> mended_mm3);

}  // namespace cavigram
