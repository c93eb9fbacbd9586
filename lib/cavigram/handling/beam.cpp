// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/handling/beam.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <span>

#include "cavigram/core/constants.h"
#include "cavigram/core/parallel.h"
#include "cavigram/measure/sections.h"

namespace cavigram {

namespace {

// What the skin adds to a region of a section.
struct SkinSums {
    double ea_n = 0.0;
    Vec2 first_n_mm = Vec2::Zero();
    Eigen::Matrix2d second_n_mm2 = Eigen::Matrix2d::Zero();
    double mass_g_mm = 0.0;  // for each mm along the beam
    DeepPlace deep;
};

// A region of a section cut into squares.
class Squares {
  public:
    Squares(std::span<const SectionPiece> pieces, double area_mm2, std::size_t wanted)
        : pieces_(pieces) {
        for (const SectionPiece& piece : pieces) {
            box_.extend(piece.from_mm);
        }
        // Slender regions have large boxes: no more than ten times as many squares there.
        constexpr double kMostInBox = 10.0;
        const auto count = static_cast<double>(wanted);
        edge_ = std::max(std::sqrt(area_mm2 / count),
                         std::sqrt(box_.sizes().prod() / (kMostInBox * count)));
    }

    [[nodiscard]] double edge_mm() const { return edge_; }

    // Calls with the middle of each square of the box, widened by one on each side, and whether it
    // lies within.
    template <class Call>
    void each(const Call& call) const {
        const auto steps = [&](int axis) {
            return static_cast<int>(std::ceil(box_.sizes()[axis] / edge_)) + 2;
        };
        const Vec2 corner =
            box_.center() -
            0.5 * edge_ * Vec2(static_cast<double>(steps(0)), static_cast<double>(steps(1)));
        for (int j = 0; j < steps(1); ++j) {
            const double y = corner.y() + (j + 0.5) * edge_;
            std::vector<std::pair<double, int>> crossings = crossings_at(y);
            std::size_t next = 0;
            int winding = 0;
            for (int i = 0; i < steps(0); ++i) {
                const double x = corner.x() + (i + 0.5) * edge_;
                for (; next < crossings.size() && crossings[next].first < x; ++next) {
                    winding += crossings[next].second;
                }
                call(Vec2(x, y), winding > 0);
            }
        }
    }

  private:
    // Where the outline crosses a row: downward pieces have the solid on their right in the row's
    // direction, so there it begins.
    [[nodiscard]] std::vector<std::pair<double, int>> crossings_at(double y) const {
        std::vector<std::pair<double, int>> found;
        for (const SectionPiece& piece : pieces_) {
            const bool from_below = piece.from_mm.y() < y;
            if (from_below == (piece.to_mm.y() < y)) {
                continue;
            }
            const double share = (y - piece.from_mm.y()) / (piece.to_mm.y() - piece.from_mm.y());
            found.emplace_back(piece.from_mm.x() + share * (piece.to_mm.x() - piece.from_mm.x()),
                               from_below ? -1 : 1);
        }
        std::sort(found.begin(), found.end());
        return found;
    }

    std::span<const SectionPiece> pieces_;
    Eigen::AlignedBox2d box_;
    double edge_ = 1.0;
};

class SkinAdder {
  public:
    SkinAdder(const TriangleBvh& surface, const StiffLayers& foam)
        : surface_(surface), foam_(foam) {}

    [[nodiscard]] SkinSums sums(const Section& section, std::span<const SectionPiece> pieces,
                                double area_mm2, std::size_t wanted) const {
        const Squares squares(pieces, area_mm2, wanted);
        SkinSums total;
        std::int32_t hint = -1;
        squares.each([&](const Vec2& at, bool inside) {
            const Vec3 p = section.place_mm(at);
            const double reach =
                inside ? std::numeric_limits<double>::infinity() : squares.edge_mm();
            const NearestPoint nearest = surface_.nearest(p, reach, hint);
            if (nearest.triangle < 0) {
                return;
            }
            hint = nearest.triangle;
            if (inside && nearest.distance_mm > total.deep.depth_mm) {
                total.deep = {p, nearest.distance_mm};
            }
            add(total, section, at, inside, p, nearest, squares.edge_mm());
        });
        return total;
    }

  private:
    // Across a square the depth is taken as linear. Its slope in the section's plane is less than 1
    // where the surface lies aslant to it. The skin within lies at a depth of its own, not at the
    // square's middle.
    void add(SkinSums& total, const Section& section, const Vec2& at, bool inside, const Vec3& p,
             const NearestPoint& nearest, double edge) const {
        const double depth = inside ? nearest.distance_mm : -nearest.distance_mm;
        const Vec3 inward = inside ? Vec3(p - nearest.point_mm) : Vec3(nearest.point_mm - p);
        const double length = inward.norm();
        if (length <= 0.0) {
            return;
        }
        constexpr double kLeastSlope = 0.2;
        const Vec2 in_plane =
            Vec2(section.frame.x.dot(inward), section.frame.y.dot(inward)) / length;
        const double slope = std::max(kLeastSlope, in_plane.norm());
        const double from = std::max(0.0, depth - 0.5 * slope * edge);
        const double to = std::max(0.0, depth + 0.5 * slope * edge);
        if (to <= from) {
            return;
        }
        const StiffLayers::Surplus stiff = foam_.stiffer(from, to);
        const double per = edge / slope;  // depth to area
        const double ea = per * stiff.sum;
        total.mass_g_mm += per * foam_.denser(from, to).sum * kGramsPerMm3;
        if (stiff.sum == 0.0) {
            return;
        }
        const Vec2 lies = at + (stiff.first / stiff.sum - depth) / (slope * slope) * in_plane;
        total.ea_n += ea;
        total.first_n_mm += ea * lies;
        total.second_n_mm2 += ea * lies * lies.transpose();
    }

    const TriangleBvh& surface_;
    const StiffLayers& foam_;
};

struct Cut {
    Section section;
    std::vector<std::vector<SectionPiece>> regions;
};

double distance_to(std::span<const SectionPiece> pieces, const Vec2& p) {
    double least = std::numeric_limits<double>::infinity();
    for (const SectionPiece& piece : pieces) {
        least = std::min(least, (piece.from_mm - p).norm());
    }
    return least;
}

// Of several regions the one that holds the line, or is nearest to it.
Cut cut_at(const TriMesh& mesh, const Vec3& at, const Vec3& along, const RunContext& context) {
    Cut cut;
    cut.section = sections(mesh, at, along, std::array<double, 1>{0.0}, context).front();
    std::vector<std::vector<SectionPiece>> all = regions(cut.section);
    std::size_t chosen = all.size();
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < all.size(); ++i) {
        const double d = within(all[i], Vec2::Zero()) ? -1.0 : distance_to(all[i], Vec2::Zero());
        if (d < least) {
            least = d;
            chosen = i;
        }
    }
    if (chosen < all.size()) {
        cut.regions.push_back(std::move(all[chosen]));
    }
    return cut;
}

std::vector<Cut> straight_cuts(const TriMesh& mesh, const Centerline& line,
                               const RunContext& context) {
    const std::vector<Vec3>& nodes = line.nodes_mm;
    const Vec3 axis = nodes.back() - nodes.front();
    const double step = axis.norm() / static_cast<double>(nodes.size() - 1);
    std::vector<double> heights;
    for (std::size_t i = 0; i + 1 < nodes.size(); ++i) {
        heights.push_back((static_cast<double>(i) + 0.5) * step);
    }
    std::vector<Cut> cuts;
    for (Section& section : sections(mesh, nodes.front(), axis, heights, context)) {
        std::vector<std::vector<SectionPiece>> all = regions(section);
        cuts.push_back({std::move(section), std::move(all)});
    }
    return cuts;
}

// Where the line goes by a section: to its centroid. Not in a bend, where the plane cuts much more
// than the band of cubes holds there, and never by more than a quarter of its half width: planes
// that turn with a line that they move themselves do not settle.
Vec3 moved_to(const Cut& cut, const Vec3& at, double band_mm2) {
    constexpr double kMostOfBand = 1.25;
    constexpr double kMostMove = 0.25;
    if (cut.regions.empty()) {
        return at;
    }
    const AreaMoments moments = area_moments(cut.regions[0]);
    if (moments.area_mm2 > kMostOfBand * band_mm2) {
        return at;
    }
    const Vec3 move = cut.section.place_mm(moments.centroid_mm) - at;
    const double most = kMostMove * std::sqrt(moments.area_mm2 / std::numbers::pi);
    return at + std::min(1.0, most / std::max(most, move.norm())) * move;
}

// The line's direction over about the part's width there: across a sharp bend single pieces of the
// line would lay the plane along one of its legs.
Vec3 direction_at(const Centerline& line, std::size_t i) {
    const std::size_t count = line.nodes_mm.size() - 1;
    const double length = (line.nodes_mm[i + 1] - line.nodes_mm[i]).norm();
    const double half_width = std::sqrt(line.volume_mm3[i] / length / std::numbers::pi);
    const auto wanted = static_cast<std::size_t>(half_width / length);
    const std::size_t around = std::min({wanted, i, count - 1 - i});
    return line.nodes_mm[i + 1 + around] - line.nodes_mm[i - around];
}

// Cubes give the line to about their width; the sections' own centroids give it exactly, once they
// lie across it.
std::vector<Cut> curved_cuts(const TriMesh& mesh, Centerline& line, const RunContext& context) {
    constexpr int kRounds = 2;
    std::vector<Vec3>& nodes = line.nodes_mm;
    const std::size_t count = nodes.size() - 1;
    std::vector<Cut> cuts(count);
    for (int round = 0; round <= kRounds; ++round) {
        std::vector<Vec3> middle(count);
        for (std::size_t i = 0; i < count; ++i) {
            const Vec3 at = 0.5 * (nodes[i] + nodes[i + 1]);
            const double length = (nodes[i + 1] - nodes[i]).norm();
            cuts[i] = cut_at(mesh, at, direction_at(line, i), context);
            middle[i] = moved_to(cuts[i], at, line.volume_mm3[i] / length);
        }
        if (round == kRounds) {
            break;
        }
        const Vec3 first = middle.front() - 0.5 * (nodes[0] + nodes[1]);
        const Vec3 last = middle.back() - 0.5 * (nodes[count - 1] + nodes[count]);
        for (std::size_t i = 1; i < count; ++i) {
            nodes[i] = 0.5 * (middle[i - 1] + middle[i]);
        }
        nodes.front() += first;
        nodes.back() += last;
    }
    return cuts;
}

// Skin on core in one region.
Rigidity with_skin(const AreaMoments& moments, double core_mpa, const SkinSums& skin) {
    Rigidity core = rigidity(moments, core_mpa);
    if (skin.ea_n == 0.0) {
        return core;
    }
    Rigidity added;
    added.ea_n = skin.ea_n;
    added.center_mm = skin.first_n_mm / skin.ea_n;
    added.ei_n_mm2 = skin.second_n_mm2 - skin.ea_n * added.center_mm * added.center_mm.transpose();
    Rigidity both = acting_together(core, added);
    // Twisting as the core's, by as much as the skin stiffens its polar moment.
    const double polar = core_mpa * moments.second_mm4.trace();
    both.gj_n_mm2 = polar > 0.0 ? core.gj_n_mm2 * both.ei_n_mm2.trace() / polar : 0.0;
    return both;
}

struct Made {
    BeamElement element;
    DeepPlace deep;
    double area_mm2 = 0.0;
};

Made made_of(const Cut& cut, const Vec3& from, const Vec3& to, const SkinAdder& skin,
             const StiffLayers& foam, std::size_t wanted) {
    Made made;
    BeamElement& e = made.element;
    e.from_mm = from;
    e.to_mm = to;
    e.frame = cut.section.frame;
    e.section_at_mm = cut.section.origin_mm;
    e.mass_at_mm = 0.5 * (from + to);
    const double length = (to - from).norm();
    Vec3 weighed = Vec3::Zero();
    for (const std::vector<SectionPiece>& region : cut.regions) {
        const AreaMoments moments = area_moments(region);
        if (moments.area_mm2 <= 0.0) {
            continue;
        }
        const SkinSums sums = skin.sums(cut.section, region, moments.area_mm2, wanted);
        e.foam = side_by_side(e.foam, with_skin(moments, foam.core_mpa(), sums));
        const double g =
            length *
            (moments.area_mm2 * foam.layers.core_density_kg_m3 * kGramsPerMm3 + sums.mass_g_mm);
        e.mass_g += g;
        weighed += g * cut.section.place_mm(moments.centroid_mm);
        made.area_mm2 += moments.area_mm2;
        if (sums.deep.depth_mm > made.deep.depth_mm) {
            made.deep = sums.deep;
        }
    }
    if (e.mass_g > 0.0) {
        e.mass_at_mm = weighed / e.mass_g;
    }
    return made;
}

}  // namespace

std::size_t Beam::node_near(const Vec3& at_mm) const {
    std::size_t best = 0;
    for (std::size_t i = 1; i <= elements.size(); ++i) {
        if ((node_mm(i) - at_mm).squaredNorm() < (node_mm(best) - at_mm).squaredNorm()) {
            best = i;
        }
    }
    return best;
}

Beam beam(const TriMesh& mesh, const TriangleBvh& surface, const MassProperties& mass,
          const StiffLayers& foam, double mass_g, const BeamOptions& options,
          const RunContext& context) {
    Centerline line = centerline(mesh, mass, options.line, context);
    const std::vector<Cut> cuts =
        line.straight ? straight_cuts(mesh, line, context) : curved_cuts(mesh, line, context);
    const SkinAdder skin(surface, foam);
    const std::vector<Made> made =
        map_blocks<Made>(cuts.size(), 1, context, [&](const Block& block) {
            const std::size_t i = block.begin;
            return made_of(cuts[i], line.nodes_mm[i], line.nodes_mm[i + 1], skin, foam,
                           options.section_cells);
        });
    Beam result;
    result.straight = line.straight;
    result.length_mm = line.length_mm();
    double weighed = 0.0;
    for (std::size_t i = 0; i < made.size(); ++i) {
        result.elements.push_back(made[i].element);
        result.deep.push_back(made[i].deep);
        result.area_mm2.push_back(made[i].area_mm2);
        result.parted = result.parted || made[i].area_mm2 <= 0.0;
        BeamElement& e = result.elements.back();
        if (!line.straight) {
            e.mass_g = line.volume_mm3[i];
            e.mass_at_mm = line.centroid_mm[i];
        }
        weighed += e.mass_g;
    }
    for (BeamElement& e : result.elements) {
        e.mass_g *= mass_g / weighed;
    }
    return result;
}

}  // namespace cavigram
