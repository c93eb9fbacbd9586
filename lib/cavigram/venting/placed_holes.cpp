// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/placed_holes.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <span>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/venting/air_tree_detail.h"
#include "cavigram/venting/hole_fit.h"
#include "cavigram/venting/plateau.h"

namespace cavigram {

using detail::at;
using detail::dot;

namespace {

// A point of the surface where a hole might go.
struct Spot {
    Vec3 place_mm = Vec3::Zero();
    double height_mm = 0.0;
    std::int32_t triangle = -1;
};

// Points spread evenly over the surface that looks up within 60 degrees. Within a triangle they
// follow the fractional parts of multiples of two irrational numbers, which fill it evenly however
// many fall into it.
std::vector<Spot> spots_looking_up(const TriMesh& mesh, const Vec3& up) {
    constexpr double kCount = 2000.0;
    const auto area_vector = [&](std::size_t t) {
        return double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
    };
    double all = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Vec3 normal = area_vector(t);
        all += looks_toward(normal, up) ? normal.norm() : 0.0;
    }
    std::vector<Spot> spots;
    const double each = all / kCount;
    double until = 0.5 * each;
    double sum = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size() && each > 0.0; ++t) {
        const Vec3 normal = area_vector(t);
        sum += looks_toward(normal, up) ? normal.norm() : 0.0;
        for (int k = 0; until < sum; until += each, ++k) {
            double u = std::fmod(1.0 / 3.0 + 0.7548776662466927 * k, 1.0);
            double v = std::fmod(1.0 / 3.0 + 0.5698402909980532 * k, 1.0);
            if (u + v > 1.0) {
                u = 1.0 - u;
                v = 1.0 - v;
            }
            const Vec3& corner = mesh.corner(t, 0);
            const Vec3 place =
                corner + u * (mesh.corner(t, 1) - corner) + v * (mesh.corner(t, 2) - corner);
            spots.push_back({place, dot(up, place), static_cast<std::int32_t>(t)});
        }
    }
    return spots;
}

std::vector<char> leaves(const AirTree& tree) {
    std::vector<char> leaf(tree.arcs.size(), 1);
    for (const AirTree::Arc& arc : tree.arcs) {
        if (arc.parent >= 0) {
            at(leaf, arc.parent) = 0;
        }
    }
    return leaf;
}

class Placer {
  public:
    Placer(const AirTreeBuilder& solid, const AirTree& tree, const HoleRules& rules)
        : solid_(solid),
          tree_(tree),
          rules_(rules),
          openings_(rules.given),
          width_mm_(rules.pour_hole_mm) {
        CAVIGRAM_ASSERT(rules.pour_hole_mm > 0.0 && rules.vent_mm > 0.0 &&
                        rules.least_wall_mm >= 0.0);
    }

    PlacedHoles run() {
        keep_off_given();
        settle_pour_holes();
        count_air();
        if (rules_.given.vents_mm.empty()) {
            make_vents();
        }
        check_vents();
        count_closed();
        return std::move(found_);
    }

  private:
    [[nodiscard]] bool plugged() const {
        return rules_.given.pour_hole_after == PourHoleAfter::plugged;
    }
    [[nodiscard]] double vent_radius_mm() const { return 0.5 * rules_.vent_mm; }
    [[nodiscard]] double pour_radius_mm() const { return 0.5 * width_mm_; }
    [[nodiscard]] std::vector<Opening> pour_holes() const {
        std::vector<Opening> holes = placed_openings(solid_, tree_, openings_);
        std::erase_if(holes, [](const Opening& o) { return !o.pour_hole || o.within; });
        return holes;
    }

    void keep_off_given() {
        if (rules_.show) {
            off_show_ = ShowSurface(solid_.mesh(), *rules_.show);
            found_.nothing_shown = off_show_.empty();
        }
        for_vents_ = off_show_;
        for_pour_holes_ = off_show_;
        for (const Opening& opening : placed_openings(solid_, tree_, rules_.given)) {
            if (opening.given &&
                on_underside(solid_, opening.place_mm, opening.triangle, tree_.up)) {
                found_.on_underside.push_back(opening);
            }
            if (opening.given && opening.pour_hole && plugged()) {
                for_vents_.add_hole(opening.place_mm, pour_radius_mm() + rules_.least_wall_mm);
                limited_ = true;
            }
        }
    }

    void settle_pour_holes() {
        if (plugged()) {
            leave_the_top_to_vents();
        }
        if (rules_.show || plugged()) {
            openings_ = with_pour_holes(
                solid_, tree_, places_off(solid_, tree_, for_pour_holes_, pour_radius_mm()),
                std::move(openings_));
        }
        const std::size_t listed = openings_.pour_holes_mm.size();
        const std::vector<Opening> wished = pour_holes();
        for (std::size_t i = 0; i < wished.size(); ++i) {
            const std::optional<Vec3> elsewhere =
                fitted(wished[i], i < rules_.given.pour_holes_mm.size());
            if (elsewhere && i < listed) {
                openings_.pour_holes_mm[i] = *elsewhere;
            } else if (elsewhere) {
                openings_.pour_holes_mm.push_back(*elsewhere);
            }
        }
        const std::vector<Opening> settled = pour_holes();
        found_.pour_hole_mm = settled.empty() ? 0.0 : width_mm_;
        found_.widest_mm = settled.empty() ? 0.0 : std::numeric_limits<double>::infinity();
        for (const Opening& hole : settled) {
            const double widest = widest_at(hole.place_mm);
            found_.widest_mm = std::min(found_.widest_mm, widest);
            if (widest <= width_mm_ - kFitStep_mm) {
                found_.tight_pour_holes.push_back({hole.place_mm, width_mm_, widest});
            }
        }
        openings_.mouth_mm = rules_.poured_through ? width_mm_ : 0.0;
    }

    [[nodiscard]] double widest_at(const Vec3& place) const {
        HoleFitOptions options;
        options.most_mm = std::max(options.most_mm, rules_.pour_hole_mm);
        return widest_hole_mm(solid_, place, tree_.up, options);
    }

    // Makes the width such that the part takes it here, or says where else the hole goes.
    std::optional<Vec3> fitted(const Opening& hole, bool given) {
        const double widest = widest_at(hole.place_mm);
        if (widest > rules_.pour_hole_mm - kFitStep_mm) {
            return std::nullopt;
        }
        const bool may_shrink = !rules_.pour_hole_asked;
        if (may_shrink && widest >= rules_.least_pour_hole_mm) {
            shrink_to(widest);
            return std::nullopt;
        }
        if (!given) {
            std::optional<Vec3> place = elsewhere(hole, rules_.pour_hole_mm);
            if (!place && may_shrink) {
                place = elsewhere(hole, rules_.least_pour_hole_mm);
                if (place) {
                    shrink_to(widest_at(*place));
                }
            }
            if (place) {
                found_.moved.push_back({hole.place_mm, *place, widest});
                return place;
            }
        }
        if (may_shrink && widest >= rules_.vent_mm) {
            shrink_to(widest);
        }
        return std::nullopt;
    }

    // To a half millimeter, as drills come.
    void shrink_to(double widest_mm) {
        constexpr double kDrill_mm = 0.5;
        const double drill = std::floor(widest_mm / kDrill_mm) * kDrill_mm;
        if (drill < width_mm_) {
            width_mm_ = drill;
            found_.narrowed = true;
        }
    }

    // The highest place of the same solid that takes a hole so wide, to a millimeter of height;
    // there the nearest.
    [[nodiscard]] std::optional<Vec3> elsewhere(const Opening& hole, double width_mm) {
        constexpr double kLevel_mm = 1.0;
        if (spots_.empty()) {
            spots_ = spots_looking_up(solid_.mesh(), tree_.up);
        }
        const auto key = [&](const Spot& spot) {
            return std::pair(-std::floor(spot.height_mm / kLevel_mm),
                             (spot.place_mm - hole.place_mm).squaredNorm());
        };
        std::stable_sort(spots_.begin(), spots_.end(),
                         [&](const Spot& p, const Spot& q) { return key(p) < key(q); });
        for (const Spot& spot : spots_) {
            const double radius = 0.5 * width_mm;
            if (root_of(solid_.arc_at(tree_, spot.triangle, spot.height_mm)) == hole.root &&
                for_pour_holes_.clear(spot.place_mm, radius) &&
                for_pour_holes_.apart(spot.place_mm, radius) &&
                hole_fits(solid_, spot.place_mm, tree_.up, width_mm)) {
                return spot.place_mm;
            }
        }
        return std::nullopt;
    }

    [[nodiscard]] std::int32_t root_of(std::int32_t arc) const {
        while (at(tree_.arcs, arc).parent >= 0) {
            arc = at(tree_.arcs, arc).parent;
        }
        return arc;
    }

    // A pour hole that lets no air out leaves the highest place to the vent and goes beside it.
    void leave_the_top_to_vents() {
        const double wall = rules_.least_wall_mm;
        Openings all = openings_;
        if (all.vents_mm.empty()) {
            for (const Vent& vent : vents_for(first_places()).vents) {
                if (all.vents_mm.size() < rules_.most_vents) {
                    all.vents_mm.push_back(vent.place_mm);
                }
            }
        }
        const std::vector<Opening> placed = placed_openings(solid_, tree_, all);
        for (const Opening& opening : placed) {
            if (!opening.pour_hole) {
                for_pour_holes_.add_hole(opening.place_mm, vent_radius_mm() + wall);
            }
        }
        for (const std::int32_t root : tree_.roots) {
            const Opening* vent = nullptr;
            bool has = false;
            for (const Opening& opening : placed) {
                has = has || (opening.pour_hole && opening.given && opening.root == root);
                if (!opening.pour_hole && opening.root == root &&
                    (vent == nullptr || opening.height_mm > vent->height_mm)) {
                    vent = &opening;
                }
            }
            if (!has && vent != nullptr) {
                const HolePlace beside =
                    place_beside(solid_, tree_, for_pour_holes_, vent->place_mm,
                                 vent_radius_mm() + wall, pour_radius_mm());
                if (beside.there) {
                    openings_.pour_holes_mm.push_back(beside.place_mm);
                }
            }
        }
    }

    void count_air() {
        PocketOptions options;
        options.min_volume_mm3 = rules_.smallest_pocket_mm3;
        AirPockets pockets = air_pockets(solid_, tree_, openings_, options);
        for (std::size_t i = rules_.given.pour_holes_mm.size(); i < pockets.openings.size(); ++i) {
            pockets.openings[i].given = pockets.openings[i].given && !pockets.openings[i].pour_hole;
        }
        std::erase_if(pockets.openings, [](const Opening& o) { return o.within; });
        found_.openings = std::move(pockets.openings);
        found_.unvented = std::move(pockets.unvented);
        found_.trapped_mm3 = pockets.vented.total_mm3;
        found_.smallest_pocket_mm3 = pockets.min_volume_mm3;
        for (const Opening& opening : found_.openings) {
            const double radius = opening.pour_hole ? pour_radius_mm() : vent_radius_mm();
            if (rules_.show && !off_show_.clear(opening.place_mm, radius)) {
                found_.on_show_side.push_back(opening);
            }
        }
    }

    // Where vents may be, one place for each arc: the middle of its peak, else the highest place
    // that keeps off.
    [[nodiscard]] std::vector<HolePlace> places_for_vents(const ShowSurface& off) const {
        std::vector<HolePlace> places = places_off(solid_, tree_, off, vent_radius_mm());
        const std::vector<char> leaf = leaves(tree_);
        for (std::size_t a = 0; a < tree_.arcs.size(); ++a) {
            if (leaf[a] == 0) {
                continue;
            }
            const Vec3 middle = plateau_middle_mm(solid_, tree_.up, tree_.arcs[a].peak_vertex);
            if (off.clear(middle, vent_radius_mm()) && off.apart(middle, vent_radius_mm())) {
                places[a] = {true, middle, tree_.arcs[a].peak_height_mm};
            }
        }
        return places;
    }

    // Empty, any peak, where nothing is to be kept off.
    [[nodiscard]] std::vector<HolePlace> first_places() const {
        return rules_.show || limited_ ? places_for_vents(for_vents_) : std::vector<HolePlace>();
    }

    [[nodiscard]] VentPlan vents_for(std::vector<HolePlace> allowed) const {
        VentOptions wanted;
        wanted.openings = openings_;
        wanted.min_gain_mm3 = rules_.smallest_pocket_mm3;
        wanted.width_mm = rules_.vent_mm;
        wanted.allowed = std::move(allowed);
        return vent_plan(solid_, tree_, wanted);
    }

    void make_vents() {
        ShowSurface walls = for_vents_;
        for (const Opening& opening : found_.openings) {
            walls.add_hole(opening.place_mm, pour_radius_mm() + rules_.least_wall_mm);
        }
        std::vector<HolePlace> allowed = first_places();
        bool off_pour_holes = false;
        VentPlan plan = vents_for(allowed);
        constexpr int kMostRounds = 64;
        for (int round = 0; round < kMostRounds; ++round) {
            const auto made =
                std::span(plan.vents).first(std::min(plan.vents.size(), rules_.most_vents));
            const auto at_pour_hole = std::count_if(made.begin(), made.end(), [&](const Vent& v) {
                return !walls.apart(v.place_mm, vent_radius_mm());
            });
            const Vent* const second = too_close(made);
            if (at_pour_hole == 0 && second == nullptr) {
                break;
            }
            found_.kept_apart += at_pour_hole > 0 ? static_cast<std::size_t>(at_pour_hole) : 1;
            if (!off_pour_holes) {
                allowed = places_for_vents(walls);
                off_pour_holes = true;
            }
            if (at_pour_hole == 0) {
                at(allowed, second->arc).there = false;
            }
            plan = vents_for(allowed);
        }
        found_.trapped_mm3 = plan.trapped_mm3;
        found_.left_mm3.push_back(plan.trapped_mm3);
        for (const Vent& vent : plan.vents) {
            found_.left_mm3.push_back(vent.residual_mm3);
            if (found_.vents.size() < rules_.most_vents) {
                found_.vents.push_back(vent);
                found_.trapped_mm3 = vent.residual_mm3;
            }
        }
    }

    // The first vent that leaves too little wall to one before it.
    [[nodiscard]] const Vent* too_close(std::span<const Vent> vents) const {
        const double apart = rules_.vent_mm + rules_.least_wall_mm;
        for (std::size_t i = 1; i < vents.size(); ++i) {
            for (std::size_t j = 0; j < i; ++j) {
                if ((vents[i].place_mm - vents[j].place_mm).norm() < apart) {
                    return &vents[i];
                }
            }
        }
        return nullptr;
    }

    void check_vents() {
        HoleFitOptions options;
        options.most_mm = std::max(rules_.vent_mm, options.step_mm);
        const auto check = [&](const Vec3& place) {
            const double widest = widest_hole_mm(solid_, place, tree_.up, options);
            if (widest <= rules_.vent_mm - options.step_mm) {
                found_.tight_vents.push_back({place, rules_.vent_mm, widest});
            }
        };
        for (const Vent& vent : found_.vents) {
            check(vent.place_mm);
        }
        for (std::size_t i = 0; i < found_.openings.size(); ++i) {
            const Opening& vent = found_.openings[i];
            if (vent.pour_hole) {
                continue;
            }
            check(vent.place_mm);
            for (std::size_t j = 0; j < i; ++j) {
                const Opening& other = found_.openings[j];
                const double wall = (vent.place_mm - other.place_mm).norm() - vent_radius_mm() -
                                    (other.pour_hole ? pour_radius_mm() : vent_radius_mm());
                if (wall < rules_.least_wall_mm) {
                    found_.close.push_back({vent, other, wall});
                }
            }
        }
    }

    void count_closed() {
        std::vector<std::int32_t> open;
        for (const Opening& opening : found_.openings) {
            if (opening.lets_air_out) {
                open.push_back(opening.root);
            }
        }
        for (const Vent& vent : found_.vents) {
            open.push_back(root_of(vent.arc));
        }
        found_.closed_solids = static_cast<std::size_t>(
            std::count_if(tree_.roots.begin(), tree_.roots.end(), [&](std::int32_t root) {
                return std::find(open.begin(), open.end(), root) == open.end();
            }));
    }

    static constexpr double kFitStep_mm = HoleFitOptions{}.step_mm;

    const AirTreeBuilder& solid_;
    const AirTree& tree_;
    const HoleRules& rules_;
    Openings openings_;
    double width_mm_;             // of the pour holes
    ShowSurface off_show_;        // what is seen
    ShowSurface for_vents_;       // and given pour holes that are plugged
    ShowSurface for_pour_holes_;  // what is seen, and the vents where these come first
    bool limited_ = false;        // for_vents_ holds more than what is seen
    std::vector<Spot> spots_;     // where a pour hole might go; empty until they are needed
    PlacedHoles found_;
};

}  // namespace

PlacedHoles placed_holes(const AirTreeBuilder& solid, const AirTree& tree, const HoleRules& rules) {
    return Placer(solid, tree, rules).run();
}

}  // namespace cavigram
