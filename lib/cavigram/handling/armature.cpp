// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/handling/armature.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/core/quantity.h"
#include "cavigram/core/text.h"

namespace cavigram {

namespace {

constexpr double kSteel_mm[] = {2, 2.5, 3, 4, 5, 6, 8, 10, 12};
constexpr double kAluminum_mm[] = {3, 4, 5, 6, 8, 10, 12};
constexpr double kBirch_mm[] = {4, 5, 6, 8, 10, 12, 15, 18, 20};
constexpr double kGlassFiber_mm[] = {2, 3, 4, 5, 6, 8, 10, 12};
constexpr double kLeastRod_mm = 0.5;
constexpr double kMostRod_mm = 50.0;
// A rod that takes up less than this of the beam is no armature.
constexpr double kLeastOfBeam = 0.5;

double disc_mm2(double diameter) {
    return std::numbers::pi / 4.0 * diameter * diameter;
}

double degrees(double radians) {
    return radians * 180.0 / std::numbers::pi;
}

// The point of a line of straight pieces that is nearest to a place.
Vec3 nearest_on(const std::vector<Vec3>& corners, const Vec3& at) {
    Vec3 best = corners.front();
    for (std::size_t i = 1; i < corners.size(); ++i) {
        const Vec3 along = corners[i] - corners[i - 1];
        const double share =
            std::clamp(along.dot(at - corners[i - 1]) / along.squaredNorm(), 0.0, 1.0);
        const Vec3 p = corners[i - 1] + share * along;
        best = (p - at).squaredNorm() < (best - at).squaredNorm() ? p : best;
    }
    return best;
}

// Depth changes no faster than distance: between two samples it is at least the mean of theirs less
// half their distance, and where it was more than that distance the next sample is inside too.
double least_depth(const TriangleBvh& surface, const Vec3& from, const Vec3& to, double length) {
    constexpr double kLeastStep_mm = 1.0;
    constexpr double kSteps = 200.0;  // for the whole part
    const Vec3 way = to - from;
    const int steps = std::max(
        1, static_cast<int>(std::ceil(way.norm() / std::max(kLeastStep_mm, length / kSteps))));
    const double step = way.norm() / steps;
    double least = std::numeric_limits<double>::infinity();
    double before = 0.0;
    std::int32_t hint = -1;
    for (int k = 0; k <= steps && least > 0.0; ++k) {
        const Vec3 p = from + static_cast<double>(k) / steps * way;
        if (before <= step && !surface.inside(p)) {
            return 0.0;
        }
        const NearestPoint nearest =
            surface.nearest(p, std::numeric_limits<double>::infinity(), hint);
        hint = nearest.triangle;
        before = nearest.distance_mm;
        least = std::min(least, before);
    }
    return std::max(0.0, least - (way.norm() > 0.0 ? 0.5 * step : 0.0));
}

// What lines of so many straight pieces reach from a place: most foam on the way to each other
// place, 0: none with enough, and from where each piece came.
struct Reached {
    std::vector<double> foam;
    std::vector<std::vector<std::size_t>> from;
};

Reached reach(const std::vector<double>& clearance, std::size_t n, std::size_t start,
              std::size_t pieces, double needed) {
    Reached reached;
    reached.foam.assign(n, 0.0);
    reached.foam[start] = std::numeric_limits<double>::infinity();
    for (std::size_t k = 0; k < pieces; ++k) {
        std::vector<double> next(n, 0.0);
        std::vector<std::size_t> from(n, n);
        for (std::size_t i = start; i < n; ++i) {
            for (std::size_t j = i + 1; j < n && reached.foam[i] > 0.0; ++j) {
                const double foam = std::min(reached.foam[i], clearance[i * n + j]);
                if (foam >= needed && foam > next[j]) {
                    next[j] = foam;
                    from[j] = i;
                }
            }
        }
        reached.foam = std::move(next);
        reached.from.push_back(std::move(from));
    }
    return reached;
}

}  // namespace

const char* to_text(RodMaterial material) {
    switch (material) {
        case RodMaterial::steel:
            return "steel";
        case RodMaterial::aluminum:
            return "aluminum";
        case RodMaterial::birch:
            return "birch";
        case RodMaterial::glass_fiber:
            return "glass_fiber";
    }
    return "";
}

// Steel and aluminum from a textbook's table (Halliday & Resnick), birch from a course page's,
// glass fiber from memory: below the 45 GPa of a lamina with six tenths of fiber (Callister,
// appendix B).
const std::array<RodStock, 4>& rod_stocks() {
    static const std::array<RodStock, 4> stocks = {
        RodStock{RodMaterial::steel, 200e3, 7850.0, true, kSteel_mm},
        RodStock{RodMaterial::aluminum, 69e3, 2700.0, true, kAluminum_mm},
        RodStock{RodMaterial::birch, 13.8e3, 620.0, false, kBirch_mm},
        RodStock{RodMaterial::glass_fiber, 40e3, 1900.0, false, kGlassFiber_mm}};
    return stocks;
}

const RodStock& stock_of(RodMaterial material) {
    return rod_stocks()[static_cast<std::size_t>(material)];
}

Rod parse_rod(std::string_view text, std::string_view name) {
    const std::size_t colon = text.find(':');
    if (colon == std::string_view::npos) {
        throw InvalidInput(fmt::format(
            "{} is \"{}\"; give a material and a diameter such as steel:3mm.", name, text));
    }
    Rod rod;
    rod.material = parse_choice(
        text.substr(0, colon), name,
        {RodMaterial::steel, RodMaterial::aluminum, RodMaterial::birch, RodMaterial::glass_fiber});
    rod.diameter_mm =
        parse_quantity(text.substr(colon + 1), Kind::length, name, kLeastRod_mm, kMostRod_mm);
    return rod;
}

RodRoom::RodRoom(const Beam& beam, const TriangleBvh& surface, const RunContext& context)
    : length_mm_(beam.length_mm) {
    const std::size_t n = beam.elements.size();
    double along = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
        const BeamElement& e = beam.elements[i];
        const double length = (e.to_mm - e.from_mm).norm();
        node_mm_.push_back(along);
        along_mm_.push_back(along + 0.5 * length);
        along += length;
        // In the middle of the section where there is foam enough around it, as a person would;
        // else at its deepest place, as where the section is a hollow one.
        const Vec3 middle =
            e.section_at_mm + e.foam.center_mm.x() * e.frame.x + e.foam.center_mm.y() * e.frame.y;
        constexpr double kNearlyDeepest = 0.7;
        const bool in_foam = surface.inside(middle) && surface.nearest(middle).distance_mm >=
                                                           kNearlyDeepest * beam.deep[i].depth_mm;
        places_.push_back(in_foam ? middle : beam.deep[i].at_mm);
    }
    node_mm_.push_back(along);
    clearance_.assign(n * n, 0.0);
    for_blocks(n, 1, context, [&](const Block& block) {
        const std::size_t i = block.begin;
        for (std::size_t j = i; j < n; ++j) {
            clearance_[i * n + j] = least_depth(surface, places_[i], places_[j], length_mm_);
        }
    });
}

double RodRoom::clearance(std::size_t i, std::size_t j) const {
    return clearance_[i * places_.size() + j];
}

// Of all lines of so many straight pieces that come to the grips the one that takes up most of the
// beam; among equals the one with most foam over it.
std::vector<std::size_t> RodRoom::best_corners(double needed_mm, std::span<const std::size_t> grips,
                                               std::size_t pieces, double in_hand_mm) const {
    const std::size_t n = places_.size();
    const auto [first_grip, last_grip] = std::minmax_element(grips.begin(), grips.end());
    // On small parts no more than a fifth of the length is in a hand.
    const double slack = std::min(in_hand_mm, 0.2 * length_mm_);
    const double begins_by = node_mm_[*first_grip] + slack;
    const double ends_after = node_mm_[*last_grip] - slack;
    double longest = -1.0;
    double most_foam = 0.0;
    std::vector<std::size_t> chosen;
    for (std::size_t a = 0; a < n && along_mm_[a] <= begins_by; ++a) {
        const Reached reached = reach(clearance_, n, a, pieces, needed_mm);
        for (std::size_t b = n; b-- > a + 1 && along_mm_[b] >= ends_after;) {
            const double foam = reached.foam[b];
            const double length = along_mm_[b] - along_mm_[a];
            if (foam <= 0.0 || length < longest || (length == longest && foam <= most_foam)) {
                continue;
            }
            longest = length;
            most_foam = foam;
            chosen = {b};
            for (std::size_t k = pieces; k-- > 0;) {
                chosen.push_back(reached.from[k][chosen.back()]);
            }
        }
    }
    if (longest < kLeastOfBeam * length_mm_) {
        return {};
    }
    std::reverse(chosen.begin(), chosen.end());
    return chosen;
}

std::optional<RodPath> RodRoom::path_with(const Rod& rod, std::span<const std::size_t> grips,
                                          std::size_t pieces,
                                          const ArmatureOptions& options) const {
    const std::vector<std::size_t> chosen =
        best_corners(options.cover_mm + 0.5 * rod.diameter_mm, grips, pieces, options.in_hand_mm);
    if (chosen.empty()) {
        return std::nullopt;
    }
    const auto bend_at = [&](std::size_t i) {
        const Vec3 in = places_[chosen[i]] - places_[chosen[i - 1]];
        const Vec3 out = places_[chosen[i + 1]] - places_[chosen[i]];
        return std::atan2(in.cross(out).norm(), in.dot(out));
    };
    RodPath path;
    path.first = chosen.front();
    path.last = chosen.back();
    path.corners_mm.push_back(places_[chosen.front()]);
    path.cover_mm = std::numeric_limits<double>::infinity();
    for (std::size_t i = 1; i < chosen.size(); ++i) {
        path.length_mm += (places_[chosen[i]] - places_[chosen[i - 1]]).norm();
        path.cover_mm =
            std::min(path.cover_mm, clearance(chosen[i - 1], chosen[i]) - 0.5 * rod.diameter_mm);
        if (i + 1 == chosen.size()) {
            path.corners_mm.push_back(places_[chosen[i]]);
            break;
        }
        const double angle = bend_at(i);
        constexpr double kNoBend_deg = 1.0;  // nobody bends by that
        if (degrees(angle) < kNoBend_deg) {
            continue;
        }
        path.corners_mm.push_back(places_[chosen[i]]);
        path.bends_deg.push_back(degrees(angle));
        // A bend of radius R cuts the corner by R (1/cos(angle/2) - 1).
        const double inward =
            options.bend_radius * rod.diameter_mm * (1.0 / std::cos(0.5 * angle) - 1.0);
        path.cover_mm = std::min(path.cover_mm,
                                 clearance(chosen[i], chosen[i]) - 0.5 * rod.diameter_mm - inward);
        if (path.bends_deg.back() > options.most_bend_deg) {
            return std::nullopt;
        }
    }
    return path.cover_mm >= options.cover_mm ? std::optional(path) : std::nullopt;
}

std::optional<LaidRod> RodRoom::lay(const Rod& rod, std::span<const std::size_t> grips,
                                    const ArmatureOptions& options) const {
    const RodStock& stock = stock_of(rod.material);
    const std::size_t most = stock.bends ? options.most_bends + 1 : 1;
    std::vector<RodPath> found;
    double longest = 0.0;
    for (std::size_t pieces = 1; pieces <= most; ++pieces) {
        if (std::optional<RodPath> path = path_with(rod, grips, pieces, options)) {
            longest = std::max(longest, along_mm_[path->last] - along_mm_[path->first]);
            found.push_back(*std::move(path));
        }
    }
    constexpr double kNearlyLongest = 0.95;
    for (RodPath& path : found) {
        if (along_mm_[path.last] - along_mm_[path.first] >= kNearlyLongest * longest) {
            LaidRod laid;
            laid.rod = rod;
            laid.volume_mm3 = disc_mm2(rod.diameter_mm) * path.length_mm;
            laid.mass_g = kGramsPerMm3 * stock.density_kg_m3 * laid.volume_mm3;
            laid.path = std::move(path);
            return laid;
        }
    }
    return std::nullopt;
}

double RodRoom::thickest_mm(RodMaterial material, std::span<const std::size_t> grips,
                            const ArmatureOptions& options) const {
    const auto fits = [&](double diameter) {
        return lay({material, diameter}, grips, options).has_value();
    };
    if (!fits(kLeastRod_mm)) {
        return 0.0;
    }
    double low = kLeastRod_mm;
    double high = kMostRod_mm;
    constexpr double kToTenths_mm = 0.05;
    while (high - low > kToTenths_mm) {
        const double middle = 0.5 * (low + high);
        (fits(middle) ? low : high) = middle;
    }
    return std::floor(10.0 * low) / 10.0;
}

// The two elements in which it ends hold only half of it: its stiffness is left out there.
std::vector<BeamElement> with_rod(const Beam& beam, const LaidRod& laid, double foam_mpa,
                                  double foam_kg_m3) {
    std::vector<BeamElement> elements = beam.elements;
    const RodStock& stock = stock_of(laid.rod.material);
    double covered = 0.0;
    for (std::size_t i = laid.path.first; i <= laid.path.last; ++i) {
        covered += (elements[i].to_mm - elements[i].from_mm).norm();
    }
    const double extra_g =
        kGramsPerMm3 * (stock.density_kg_m3 - foam_kg_m3) * laid.volume_mm3 / covered;
    for (std::size_t i = laid.path.first; i <= laid.path.last; ++i) {
        BeamElement& e = elements[i];
        const Vec3 at = nearest_on(laid.path.corners_mm, e.section_at_mm);
        const double g = extra_g * (e.to_mm - e.from_mm).norm();
        e.mass_at_mm = (e.mass_g * e.mass_at_mm + g * at) / (e.mass_g + g);
        e.mass_g += g;
        if (i > laid.path.first && i < laid.path.last) {
            const Vec3 off = at - e.section_at_mm;
            e.rod = rod_rigidity({e.frame.x.dot(off), e.frame.y.dot(off)}, laid.rod.diameter_mm,
                                 stock.young_mpa, foam_mpa);
        }
    }
    return elements;
}

DroopOptions hands_on_rod(DroopOptions held, const LaidRod& laid) {
    const auto onto = [&](std::size_t node) {
        return std::clamp(node, laid.path.first + 1, std::max(laid.path.first + 1, laid.path.last));
    };
    held.grip = onto(held.grip);
    if (held.second_grip) {
        held.second_grip = onto(*held.second_grip);
    }
    return held;
}

const DroopSpan& worst_span(const Droop& droop) {
    return *std::max_element(
        droop.spans.begin(), droop.spans.end(),
        [](const DroopSpan& a, const DroopSpan& b) { return a.share() < b.share(); });
}

std::vector<RodChoice> least_rods(const Beam& beam, const RodRoom& room, const Vec3& down,
                                  const DroopOptions& held, double foam_mpa, double foam_kg_m3,
                                  const ArmatureOptions& options, const RunContext& context) {
    std::vector<std::size_t> grips = {held.grip};
    if (held.second_grip) {
        grips.push_back(*held.second_grip);
    }
    std::vector<RodChoice> choices;
    for (const RodStock& stock : rod_stocks()) {
        RodChoice choice;
        choice.material = stock.material;
        for (const double diameter : stock.diameters_mm) {
            context.check_stop();
            const std::optional<LaidRod> laid =
                room.lay({stock.material, diameter}, grips, options);
            if (!laid) {
                break;  // a thicker one fits no better
            }
            const Droop drooped =
                droop(with_rod(beam, *laid, foam_mpa, foam_kg_m3), down, hands_on_rod(held, *laid));
            const DroopSpan& worst = worst_span(drooped);
            choice.laid = laid;
            choice.droop_mm = worst.droop_mm;
            choice.share = worst.share();
            choice.enough = choice.share <= options.most_share;
            if (choice.enough) {
                break;
            }
        }
        choices.push_back(std::move(choice));
    }
    return choices;
}

}  // namespace cavigram
