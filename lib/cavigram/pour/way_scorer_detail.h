// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>

#include "cavigram/geom/vector.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/pour/orientations.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/pockets.h"

namespace cavigram::detail {

inline constexpr int kSides = 8;  // of the cone of leans

// `up` leaned by `degrees` toward side `k` of kSides.
Vec3 leaned(const Vec3& up, double degrees, int k);

double degrees_between(const Vec3& a, const Vec3& b);

// Air that counts: the user's limit, or its default for a solid.
double limit_of(const OrientationOptions& options, const MassProperties& mass);

// Scores ways up on one solid. One for each thread.
class WayScorer {
  public:
    WayScorer(const AirTreeBuilder& solid, const OrientationOptions& options, double limit_mm3,
              const Vec3& center_mm)
        : solid_(solid), options_(options), limit_mm3_(limit_mm3), center_mm_(center_mm) {}

    // Without leaning: the first look.
    WayUp glance(const Vec3& up);
    WayUp full(const Vec3& up);
    // As full where `may_win` is so of the way up; else as much of it as tells that it is not.
    // Asked with the air of some leans only, to which the others can but add. A lean toward side
    // `first` is looked at first; it becomes the worst of those looked at.
    WayUp full_if(const Vec3& up, int& first, const std::function<bool(const WayUp&)>& may_win);
    // With the holes where they would be drilled, which are given back too.
    WayUp with_holes(const Vec3& up, const HoleRules& rules, Openings& holes);

    // The largest lean of those tried at which no more than the limit is added.
    double forgiving_deg(const Vec3& up);

    // The way from the pour hole to the farthest place; 0 without one.
    double path_mm(const Openings& holes);

  private:
    [[nodiscard]] WayUp value_of(const AirTree& tree) const;
    // The holes that are made for this way up; counts those on the show side.
    Openings holes(const AirTree& tree, WayUp& way) const;
    // Whether the surface at a vertex looks toward the show side.
    [[nodiscard]] bool shown(std::int32_t vertex) const;
    // Air with the mold leaned, the holes where they are.
    double air_leaned(const Vec3& up, double lean_deg, int side, const Openings& made);
    // Most of it over the sides of a lean.
    double worst(const Vec3& up, double lean_deg, const Openings& made);

    const AirTreeBuilder& solid_;
    const OrientationOptions& options_;
    double limit_mm3_;
    Vec3 center_mm_;
    AirTreeWorkspace workspace_;
};

}  // namespace cavigram::detail
