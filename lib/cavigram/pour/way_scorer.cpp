// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "cavigram/geom/directions.h"
#include "cavigram/pour/farthest.h"
#include "cavigram/pour/footing.h"
#include "cavigram/pour/way_scorer_detail.h"
#include "cavigram/venting/show_side.h"
#include "cavigram/venting/vents.h"

namespace cavigram::detail {

namespace {

constexpr std::array kLeans_deg = {1.0, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0};

}  // namespace

Vec3 leaned(const Vec3& up, double degrees, int k) {
    const Frame frame = frame_along(up);
    const double around = 2.0 * std::numbers::pi * k / kSides;
    const double tilt = degrees * std::numbers::pi / 180.0;
    return (std::cos(tilt) * frame.z +
            std::sin(tilt) * (std::cos(around) * frame.x + std::sin(around) * frame.y))
        .normalized();
}

double limit_of(const OrientationOptions& options, const MassProperties& mass) {
    return options.limit_mm3.value_or(
        std::max(default_min_volume_mm3(mass.volume_mm3), 1e-3 * mass.volume_mm3));
}

double degrees_between(const Vec3& a, const Vec3& b) {
    return std::atan2(a.cross(b).norm(), a.dot(b)) * 180.0 / std::numbers::pi;
}

WayUp WayScorer::glance(const Vec3& up) {
    const AirTree tree = solid_.build(up, workspace_);
    WayUp way = value_of(tree);
    if (options_.show) {
        static_cast<void>(holes(tree, way));
    }
    if (options_.weights && options_.weights->of(WayMeasure::footprint) > 0.0) {
        way.footing = footing(solid_.mesh(), up, center_mm_);
    }
    return way;
}

WayUp WayScorer::full(const Vec3& up) {
    int first = 0;
    return full_if(up, first, [](const WayUp& /*way*/) { return true; });
}

WayUp WayScorer::full_if(const Vec3& up, int& first,
                         const std::function<bool(const WayUp&)>& may_win) {
    const AirTree tree = solid_.build(up, workspace_);
    WayUp way = value_of(tree);
    const bool weighed = options_.weights && options_.weights->of(WayMeasure::footprint) > 0.0;
    if (weighed) {
        way.footing = footing(solid_.mesh(), up, center_mm_);
    }
    if (!may_win(way)) {
        return way;
    }
    const Openings made = holes(tree, way);
    int worst_side = first;
    for (int k = 0; k < kSides && options_.lean_deg > 0.0; ++k) {
        if (!may_win(way)) {
            break;
        }
        const int side = (first + k) % kSides;
        const double air = air_leaned(up, options_.lean_deg, side, made);
        if (air > way.worst_vented_mm3) {
            way.worst_vented_mm3 = air;
            worst_side = side;
        }
    }
    first = worst_side;
    if (!weighed && may_win(way)) {
        way.footing = footing(solid_.mesh(), up, center_mm_);
    }
    return way;
}

WayUp WayScorer::with_holes(const Vec3& up, const HoleRules& rules, Openings& holes) {
    const AirTree tree = solid_.build(up, workspace_);
    WayUp way = value_of(tree);
    const PlacedHoles placed = placed_holes(solid_, tree, rules);
    way.unvented_mm3 = placed.unvented.total_mm3;
    way.vented_mm3 = placed.trapped_mm3;
    way.vents_made = placed.vents.size();
    way.holes_on_show = placed.on_show_side.size();
    holes = {};
    holes.pour_hole_after = rules.given.pour_hole_after;
    holes.mouth_mm = rules.poured_through ? placed.pour_hole_mm : 0.0;
    for (const Opening& opening : placed.openings) {
        (opening.pour_hole ? holes.pour_holes_mm : holes.vents_mm).push_back(opening.place_mm);
        way.vents_made += opening.pour_hole ? 0 : 1;
    }
    for (const Vent& vent : placed.vents) {
        holes.vents_mm.push_back(vent.place_mm);
    }
    way.vents_needed = std::max(way.vents_needed, way.vents_made);
    way.worst_vented_mm3 = std::max(way.vented_mm3, worst(up, options_.lean_deg, holes));
    way.footing = footing(solid_.mesh(), up, center_mm_);
    return way;
}

double WayScorer::forgiving_deg(const Vec3& up) {
    const AirTree tree = solid_.build(up, workspace_);
    WayUp way = value_of(tree);
    const Openings made = holes(tree, way);
    double forgiven = 0.0;
    for (const double lean : kLeans_deg) {
        if (worst(up, lean, made) > way.vented_mm3 + limit_mm3_) {
            break;
        }
        forgiven = lean;
    }
    return forgiven;
}

double WayScorer::path_mm(const Openings& holes) {
    return holes.pour_holes_mm.empty() ? 0.0 : farthest_place(solid_, holes.pour_holes_mm).path_mm;
}

WayUp WayScorer::value_of(const AirTree& tree) const {
    WayUp way;
    way.up = tree.up;
    const std::vector<double> gains = vent_gains_mm3(tree, options_.pour_hole_after);
    way.vents_needed = vents_needed(gains, limit_mm3_);
    way.vents_made = std::min(options_.most_vents, way.vents_needed);
    // From the smallest up, so that little ones are not lost beside large ones.
    for (std::size_t i = gains.size(); i-- > 0;) {
        way.unvented_mm3 += gains[i];
        way.vented_mm3 += i >= way.vents_made ? gains[i] : 0.0;
    }
    way.worst_vented_mm3 = way.vented_mm3;
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    for (const std::int32_t root : tree.roots) {
        low = std::min(low, tree.arcs[static_cast<std::size_t>(root)].saddle_height_mm);
        high = std::max(high, tree.arcs[static_cast<std::size_t>(root)].peak_height_mm);
    }
    way.height_mm = high - low;
    return way;
}

Openings WayScorer::holes(const AirTree& tree, WayUp& way) const {
    VentOptions wanted;
    wanted.openings.pour_hole_after = options_.pour_hole_after;
    wanted.min_gain_mm3 = 0.0;
    wanted.most_listed = way.vents_made;
    const VentPlan plan = vent_plan(solid_, tree, wanted);
    Openings made = wanted.openings;
    for (const Opening& opening : plan.openings) {
        made.pour_holes_mm.push_back(opening.place_mm);
        way.holes_on_show +=
            shown(solid_.mesh().triangles[static_cast<std::size_t>(opening.triangle)][0]) ? 1 : 0;
    }
    for (const Vent& vent : plan.vents) {
        made.vents_mm.push_back(vent.place_mm);
        way.holes_on_show += shown(vent.peak_vertex) ? 1 : 0;
    }
    return made;
}

bool WayScorer::shown(std::int32_t vertex) const {
    if (!options_.show) {
        return false;
    }
    const std::vector<Vec3>& at = solid_.mesh().vertices;
    const auto ring = solid_.around(vertex);
    const Vec3& middle = at[static_cast<std::size_t>(vertex)];
    if (options_.show->box_mm) {
        return options_.show->box_mm->squaredExteriorDistance(middle) == 0.0;
    }
    Vec3 normal = Vec3::Zero();
    for (std::size_t i = 0; i < ring.size(); ++i) {
        const Vec3 a = at[static_cast<std::size_t>(ring[i])] - middle;
        const Vec3 b = at[static_cast<std::size_t>(ring[(i + 1) % ring.size()])] - middle;
        normal += a.cross(b);
    }
    return looks_toward(normal, *options_.show->toward);
}

double WayScorer::worst(const Vec3& up, double lean_deg, const Openings& made) {
    double most = 0.0;
    for (int k = 0; k < kSides && lean_deg > 0.0; ++k) {
        most = std::max(most, air_leaned(up, lean_deg, k, made));
    }
    return most;
}

double WayScorer::air_leaned(const Vec3& up, double lean_deg, int side, const Openings& made) {
    PocketOptions unlisted;
    unlisted.min_volume_mm3 = std::numeric_limits<double>::infinity();
    const AirTree tree = solid_.build(leaned(up, lean_deg, side), workspace_);
    return air_pockets(solid_, tree, made, unlisted).vented.total_mm3;
}

}  // namespace cavigram::detail
