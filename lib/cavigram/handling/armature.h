// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/handling/beam.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// What rods are sold of.
enum class RodMaterial { steel, aluminum, birch, glass_fiber };

/// The word for a material: `steel`, `aluminum`, `birch`, `glass_fiber`.
[[nodiscard]] const char* to_text(RodMaterial material);

/// A rod's stuff, in generic figures.
struct RodStock {
    RodMaterial material = RodMaterial::steel;  ///< Which.
    double young_mpa = 0.0;      ///< Along the rod. Textbook tables (docs/checks.md B6 to B9).
    double density_kg_m3 = 0.0;  ///< As young_mpa.
    bool bends = false;          ///< Cold, in a shop's vise; else it takes no bend.
    /// Diameters that are sold everywhere. Common practice, no source.
    std::span<const double> diameters_mm;
};

/// All of them, as to_text names them.
[[nodiscard]] const std::array<RodStock, 4>& rod_stocks();
/// The stock of a material.
[[nodiscard]] const RodStock& stock_of(RodMaterial material);

/// A round rod.
struct Rod {
    RodMaterial material = RodMaterial::steel;  ///< Of what.
    double diameter_mm = 0.0;                   ///< Above 0.

    /// Field by field.
    friend bool operator==(const Rod&, const Rod&) = default;
};

/// `steel:3mm`. \throw InvalidInput naming the materials; for a diameter outside 0.5 to 50 mm
[[nodiscard]] Rod parse_rod(std::string_view text, std::string_view name);

/// What a rod in a part must keep to.
struct ArmatureOptions {
    double cover_mm = 6.0;     ///< Foam over it, at least. Common practice, no source.
    double most_share = 0.03;  ///< Droop over length, at most. Common practice, no source.
    /// A person bends at a few places.
    std::size_t most_bends = 3;
    double bend_radius =
        3.0;  ///< Of the rod's middle line, in diameters. Common practice, no source.
    double most_bend_deg = 100.0;  ///< At one place.
    /// A rod that ends so near to the grip is still in the hand: half a hand's width. Common
    /// practice, no source.
    double in_hand_mm = 40.0;
};

/// Where a rod lies.
struct RodPath {
    std::vector<Vec3> corners_mm;   ///< From end to end; between them it is straight.
    std::vector<double> bends_deg;  ///< At each corner but the ends.
    double length_mm = 0.0;         ///< Along the corners: to cut before it is bent.
    double cover_mm = 0.0;          ///< Least foam over it.
    std::size_t first = 0;          ///< Element in which it begins,
    std::size_t last = 0;           ///< and ends.
};

/// A rod laid out in a part.
struct LaidRod {
    Rod rod;                  ///< Which.
    RodPath path;             ///< Where.
    double mass_g = 0.0;      ///< Of the rod.
    double volume_mm3 = 0.0;  ///< That it takes from the foam.
};

/// Where rods can lie in a part: straight pieces between places deep in its sections, each with the
/// least depth along it.
class RodRoom {
  public:
    /// About a nearest-point query for each millimeter of each piece; 0.2 s for 60 elements.
    ///
    /// \pre `surface` is of the beam's mesh. \throw Cancelled
    RodRoom(const Beam& beam, const TriangleBvh& surface, const RunContext& context = {});

    /// The rod's place: through all of `grips` (nodes), or to where it is in that hand, as far
    /// toward both ends as the cover lets it, with the fewest bends that come within a twentieth of
    /// the longest; none where it can't come to the grips, or takes up less than half of the beam.
    [[nodiscard]] std::optional<LaidRod> lay(const Rod& rod, std::span<const std::size_t> grips,
                                             const ArmatureOptions& options = {}) const;

    /// The thickest that can be laid, in mm, of a material that bends or does not; 0: none.
    [[nodiscard]] double thickest_mm(RodMaterial material, std::span<const std::size_t> grips,
                                     const ArmatureOptions& options = {}) const;

  private:
    [[nodiscard]] double clearance(std::size_t i, std::size_t j) const;
    [[nodiscard]] std::vector<std::size_t> best_corners(double needed_mm,
                                                        std::span<const std::size_t> grips,
                                                        std::size_t pieces,
                                                        double in_hand_mm) const;
    [[nodiscard]] std::optional<RodPath> path_with(const Rod& rod,
                                                   std::span<const std::size_t> grips,
                                                   std::size_t pieces,
                                                   const ArmatureOptions& options) const;

    std::vector<Vec3> places_;
    std::vector<double> along_mm_;   // of each place, on the beam's line
    std::vector<double> node_mm_;    // of each node
    std::vector<double> clearance_;  // least depth from place i to place j, row by row
    double length_mm_ = 0.0;
};

/// The beam with a rod in it: its stiffness where it lies, its mass in place of the foam's.
///
/// \pre the rod was laid in this beam; foam_mpa and foam_kg_m3 are what it displaces
[[nodiscard]] std::vector<BeamElement> with_rod(const Beam& beam, const LaidRod& laid,
                                                double foam_mpa, double foam_kg_m3);

/// The same hands, on a beam with that rod: a hand near a rod's end holds the rod too, or the foam
/// before it would be a hinge.
[[nodiscard]] DroopOptions hands_on_rod(DroopOptions held, const LaidRod& laid);

/// How one material's rods do.
struct RodChoice {
    RodMaterial material = RodMaterial::steel;  ///< Which.
    /// The least that keeps the droop, or where none does the thickest that fits. None: none fits.
    std::optional<LaidRod> laid;
    bool enough = false;    ///< It keeps the droop under the share.
    double droop_mm = 0.0;  ///< Of the span that droops most by its length, with that rod.
    double share = 0.0;     ///< Droop over length of that span.
};

/// The least rod of each material that keeps droop under a share of length.
///
/// \throw Cancelled
[[nodiscard]] std::vector<RodChoice> least_rods(const Beam& beam, const RodRoom& room,
                                                const Vec3& down, const DroopOptions& held,
                                                double foam_mpa, double foam_kg_m3,
                                                const ArmatureOptions& options = {},
                                                const RunContext& context = {});

/// The span that droops most for its length. \pre there is one
[[nodiscard]] const DroopSpan& worst_span(const Droop& droop);

}  // namespace cavigram
