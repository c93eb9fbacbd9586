// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/thin_regions.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <unordered_map>

#include "cavigram/core/error.h"
#include "cavigram/core/sum.h"
#include "cavigram/mesh/union_find.h"

namespace cavigram {

namespace {

// Edge of the grid's cells in spacings: two samples that are neighbors on the surface then lie in
// the same cell or in adjacent ones.
constexpr double kCellSpacings = 1.6;
// Normals of samples side by side on one wall agree to 60 degrees; those of its two sides are
// against each other by as much.
constexpr double kSameSide = 0.5;
// Neighbors belong to one place also around a convex edge, as on a square rod, unless they look
// away from each other by more than this.
constexpr double kLookingAway = -0.5;
// The share of a place's area that must lie between walls that face each other.
constexpr double kWallShare = 0.25;

// Places of less area than this times their typical thickness squared are small by default.
constexpr double kSmallArea = 4.0;

// Whether two samples side by side belong to one place: on one side of a wall or around a convex
// edge, but not around the foot of a rib.
bool together(const ThicknessSample& a, const ThicknessSample& b) {
    const double agreement = a.inward.dot(b.inward);
    const Vec3 step = b.at_mm - a.at_mm;
    return agreement > kSameSide ||
           (agreement > kLookingAway && step.dot(a.inward) > 0.0 && step.dot(b.inward) < 0.0);
}

std::int32_t index_of(std::size_t sample) {
    return static_cast<std::int32_t>(sample);
}

// The thin samples in a grid of cells. In each cell, samples with agreeing normals are one group,
// and one of them stands for it.
class ThinGrid {
  public:
    ThinGrid(const ThicknessMap& map, const std::vector<std::size_t>& thin, UnionFind& groups)
        : map_(map), edge_(kCellSpacings * map.spacing_mm), groups_(groups) {
        for (const std::size_t i : thin) {
            std::vector<std::size_t>& cell = cells_[key(place(map.samples[i].at_mm))];
            const std::size_t known = find(cell, map.samples[i].inward);
            if (known == kNone) {
                cell.push_back(i);
                representatives_.push_back(i);
            } else {
                groups_.join(index_of(known), index_of(i));
            }
        }
    }

    // Joins what stands in adjacent cells.
    void join_neighbors() {
        for (const std::size_t i : representatives_) {
            const ThicknessSample& sample = map_.samples[i];
            for_cells_around(sample.at_mm, [&](const std::vector<std::size_t>& cell) {
                for (const std::size_t other : cell) {
                    if (together(sample, map_.samples[other])) {
                        groups_.join(index_of(i), index_of(other));
                    }
                }
                return true;
            });
        }
    }

    // Joins a sample to the other side of its wall.
    void join_across(std::size_t i) {
        const ThicknessSample& sample = map_.samples[i];
        const Vec3 opposite = sample.contact == Contact::rim
                                  ? Vec3(sample.at_mm + sample.chord_mm * sample.inward)
                                  : sample.opposite_mm;
        for_cells_around(opposite, [&](const std::vector<std::size_t>& cell) {
            const std::size_t other = find(cell, -sample.inward);
            if (other != kNone) {
                groups_.join(index_of(i), index_of(other));
            }
            return other == kNone;
        });
    }

  private:
    using Place = Eigen::Matrix<std::int64_t, 3, 1>;
    static constexpr std::size_t kNone = std::numeric_limits<std::size_t>::max();

    [[nodiscard]] Place place(const Vec3& p) const {
        return (p / edge_).array().floor().matrix().cast<std::int64_t>();
    }
    // 21 bits for each coordinate: cells that share a key lie two million cells apart.
    static std::uint64_t key(const Place& p) {
        constexpr std::uint64_t kMask = (1U << 21U) - 1U;
        return (static_cast<std::uint64_t>(p.x()) & kMask) << 42U |
               (static_cast<std::uint64_t>(p.y()) & kMask) << 21U |
               (static_cast<std::uint64_t>(p.z()) & kMask);
    }
    [[nodiscard]] std::size_t find(const std::vector<std::size_t>& cell, const Vec3& inward) const {
        for (const std::size_t i : cell) {
            if (map_.samples[i].inward.dot(inward) > kSameSide) {
                return i;
            }
        }
        return kNone;
    }
    // The cell of `p` first, then those around it, until `visit` has had enough.
    template <class Visit>
    void for_cells_around(const Vec3& p, const Visit& visit) const {
        const Place middle = place(p);
        for (int k = 0; k < 27; ++k) {
            const int around = (k + 13) % 27;
            const Place at = middle + Place(around % 3 - 1, around / 3 % 3 - 1, around / 9 - 1);
            const auto cell = cells_.find(key(at));
            if (cell != cells_.end() && !visit(cell->second)) {
                return;
            }
        }
    }

    const ThicknessMap& map_;
    double edge_;
    UnionFind& groups_;
    std::unordered_map<std::uint64_t, std::vector<std::size_t>> cells_;
    std::vector<std::size_t> representatives_;
};

// Joins neighboring triangles that have a single sample each: long ones may lie more than a cell
// apart.
void join_triangles(const Adjacency& adjacency, const ThicknessMap& map,
                    const std::vector<std::size_t>& thin, UnionFind& groups) {
    constexpr std::size_t kMany = std::numeric_limits<std::size_t>::max();
    std::unordered_map<std::int32_t, std::size_t> single;
    for (const std::size_t i : thin) {
        const auto [entry, is_new] = single.try_emplace(map.samples[i].triangle, i);
        entry->second = is_new ? i : kMany;
    }
    for (const std::size_t i : thin) {
        const auto t = static_cast<std::size_t>(map.samples[i].triangle);
        if (single[map.samples[i].triangle] != i) {
            continue;
        }
        for (std::size_t k = 0; k < 3; ++k) {
            const std::int32_t twin = adjacency.twin[3 * t + k];
            const auto other = twin >= 0 ? single.find(twin / 3) : single.end();
            if (other != single.end() && other->second != kMany &&
                together(map.samples[i], map.samples[other->second])) {
                groups.join(index_of(i), index_of(other->second));
            }
        }
    }
}

// The thickness below which a share of the members' area lies; members sorted by thickness.
std::size_t at_share(const ThicknessMap& map, const std::vector<std::size_t>& members, double area,
                     double share) {
    double passed = 0.0;
    for (const std::size_t i : members) {
        passed += map.samples[i].area_mm2;
        if (passed >= share * area) {
            return i;
        }
    }
    return members.back();
}

// Fills in everything but the number. Members are sorted by thickness.
ThinRegion describe(const ThicknessMap& map, const std::vector<std::size_t>& members,
                    const ThinOptions& options, double limit) {
    ThinRegion region;
    CompensatedSum area;
    CompensatedSum volume;
    CompensatedSum severity;
    for (const std::size_t i : members) {
        const ThicknessSample& s = map.samples[i];
        region.extent_mm.extend(s.at_mm);
        area.add(s.area_mm2);
        volume.add(0.5 * s.area_mm2 * wall_thickness_mm(s));
        severity.add(s.area_mm2 * (limit - wall_thickness_mm(s)) / limit);
    }
    region.area_mm2 = area.value();
    region.volume_mm3 = volume.value();
    region.severity = severity.value();
    region.least_mm = wall_thickness_mm(map.samples[members.front()]);
    region.thickness_mm =
        wall_thickness_mm(map.samples[at_share(map, members, region.area_mm2, 0.05)]);
    region.typical_mm =
        wall_thickness_mm(map.samples[at_share(map, members, region.area_mm2, 0.5)]);
    // The sample nearest to the middle of the thinnest fifth.
    const double thinnest =
        wall_thickness_mm(map.samples[at_share(map, members, region.area_mm2, 0.2)]);
    Vec3 middle = Vec3::Zero();
    double weight = 0.0;
    for (const std::size_t i : members) {
        if (wall_thickness_mm(map.samples[i]) <= thinnest) {
            middle += map.samples[i].area_mm2 * map.samples[i].at_mm;
            weight += map.samples[i].area_mm2;
        }
    }
    middle /= weight;
    double nearest = std::numeric_limits<double>::infinity();
    for (const std::size_t i : members) {
        const double distance = (map.samples[i].at_mm - middle).squaredNorm();
        if (wall_thickness_mm(map.samples[i]) <= thinnest && distance < nearest) {
            nearest = distance;
            region.at_mm = map.samples[i].at_mm;
            region.triangle = map.samples[i].triangle;
        }
    }
    region.all_skin = region.typical_mm < 2.0 * options.skin_mm;
    region.hard_to_fill = region.thickness_mm < options.flow_gap_mm;
    return region;
}

using Members = std::vector<std::size_t>;

// The thin samples in groups, in the order of each group's first sample; within a group the
// thinnest first.
std::vector<Members> grouped(const Adjacency& adjacency, const ThicknessMap& map,
                             const std::vector<std::size_t>& thin) {
    UnionFind groups(map.samples.size());
    ThinGrid grid(map, thin, groups);
    grid.join_neighbors();
    join_triangles(adjacency, map, thin, groups);
    for (const std::size_t i : thin) {
        if (map.samples[i].contact != Contact::oblique) {
            grid.join_across(i);
        }
    }
    std::vector<Members> members;
    std::vector<std::int32_t> number(map.samples.size(), -1);
    for (const std::size_t i : thin) {
        const auto root = static_cast<std::size_t>(groups.find(index_of(i)));
        if (number[root] < 0) {
            number[root] = static_cast<std::int32_t>(members.size());
            members.emplace_back();
        }
        members[static_cast<std::size_t>(number[root])].push_back(i);
    }
    for (Members& group : members) {
        std::stable_sort(group.begin(), group.end(), [&](std::size_t a, std::size_t b) {
            return wall_thickness_mm(map.samples[a]) < wall_thickness_mm(map.samples[b]);
        });
    }
    return members;
}

// Whether enough of a region is wall, with another side that faces it.
bool is_wall(const ThicknessMap& map, const Members& members, double area_mm2) {
    double wall_area = 0.0;
    for (const std::size_t i : members) {
        wall_area += map.samples[i].contact != Contact::oblique ? map.samples[i].area_mm2 : 0.0;
    }
    return wall_area >= kWallShare * area_mm2;
}

// A fold of a scan is as thin as can be, and small; the flow gap bounds what is small, so that a
// needle stays listed under a generous limit.
double least_area_mm2(const ThinRegion& region, const ThinOptions& options, double limit_mm) {
    const double wide =
        options.flow_gap_mm > 0.0 ? std::min(limit_mm, options.flow_gap_mm) : limit_mm;
    const double small = std::max(kSmallArea * region.typical_mm * region.typical_mm, wide * wide);
    return options.least_area_mm2.value_or(small);
}

}  // namespace

ThinRegions thin_regions(const Adjacency& adjacency, const ThicknessMap& map,
                         const ThinOptions& options) {
    const double limit =
        options.limit_mm.value_or(std::max(2.0 * options.skin_mm, options.flow_gap_mm));
    if (!(limit > 0.0)) {
        throw InvalidInput(
            "Thin places need a limit, a skin thickness or a flow gap of more than 0.");
    }
    ThinRegions result;
    result.options = options;
    result.limit_mm = limit;
    result.of_sample.assign(map.samples.size(), -1);
    std::vector<std::size_t> thin;
    for (std::size_t i = 0; i < map.samples.size(); ++i) {
        if (map.samples[i].contact != Contact::edge && wall_thickness_mm(map.samples[i]) < limit) {
            thin.push_back(i);
        }
    }
    const std::vector<Members> members = grouped(adjacency, map, thin);
    std::vector<std::pair<ThinRegion, std::size_t>> found;
    for (std::size_t g = 0; g < members.size(); ++g) {
        const ThinRegion region = describe(map, members[g], options, limit);
        if (!is_wall(map, members[g], region.area_mm2)) {
            continue;
        }
        if (region.area_mm2 < least_area_mm2(region, options, limit)) {
            ++result.small.count;
            result.small.area_mm2 += region.area_mm2;
            continue;
        }
        found.emplace_back(region, g);
    }
    std::stable_sort(found.begin(), found.end(), [](const auto& a, const auto& b) {
        return a.first.severity > b.first.severity;
    });
    for (const auto& [region, g] : found) {
        for (const std::size_t i : members[g]) {
            result.of_sample[i] = static_cast<std::int32_t>(result.regions.size());
        }
        result.regions.push_back(region);
    }
    return result;
}

}  // namespace cavigram
