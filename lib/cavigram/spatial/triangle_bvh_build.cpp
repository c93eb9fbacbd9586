// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "cavigram/core/parallel.h"
#include "cavigram/spatial/float4_detail.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

namespace {

constexpr int kBins = 16;
// Triangles in one pack.
constexpr std::int32_t kLeaf = 4;
// Up to this many triangles are split at the median, rounded so that packs come out full.
constexpr std::int32_t kFew = 32;
// Below this many triangles a branch of the tree is built by one thread. The branches do not depend
// on the threads.
constexpr std::int32_t kBranch = 16384;
// Patches of more triangles than this are seldom flat enough for planes to help.
constexpr std::int32_t kPatch = 1024;
// From here down splits are at the median: no more than 31 follow, so queries get by with a stack
// of fixed size.
constexpr int kDepth = 64;

struct FloatBounds {
    std::array<float, 3> low{std::numeric_limits<float>::infinity(),
                             std::numeric_limits<float>::infinity(),
                             std::numeric_limits<float>::infinity()};
    std::array<float, 3> high{-std::numeric_limits<float>::infinity(),
                              -std::numeric_limits<float>::infinity(),
                              -std::numeric_limits<float>::infinity()};

    void extend(const FloatBounds& other) {
        for (std::size_t i = 0; i < 3; ++i) {
            low[i] = std::min(low[i], other.low[i]);
            high[i] = std::max(high[i], other.high[i]);
        }
    }
    [[nodiscard]] float half_area() const {
        const float x = high[0] - low[0];
        const float y = high[1] - low[1];
        const float z = high[2] - low[2];
        return x * y + y * z + z * x;
    }
};

struct Primitive {
    FloatBounds box;
    std::array<float, 3> normal{};  // as long as twice the area
    std::int32_t id = 0;

    [[nodiscard]] float center2(std::size_t axis) const { return box.low[axis] + box.high[axis]; }
};

// Primitives [begin, end) and their box.
struct Range {
    std::int32_t begin = 0;
    std::int32_t end = 0;
    FloatBounds box;
    int depth = 0;  // splits above it

    [[nodiscard]] std::int32_t count() const { return end - begin; }
};

FloatBounds box_of(const std::vector<Primitive>& primitives, std::int32_t begin, std::int32_t end) {
    FloatBounds box;
    for (std::int32_t i = begin; i < end; ++i) {
        box.extend(primitives[static_cast<std::size_t>(i)].box);
    }
    return box;
}

// Splits at the median of the centers, for few primitives or when their centers coincide.
std::int32_t split_at_median(std::vector<Primitive>& primitives, const Range& range,
                             std::size_t axis) {
    const std::int32_t half = (range.count() / 2 + kLeaf / 2) / kLeaf * kLeaf;
    const std::int32_t middle =
        range.begin + std::clamp(half, std::min(kLeaf, range.count() - 1), range.count() - 1);
    std::nth_element(primitives.begin() + range.begin, primitives.begin() + middle,
                     primitives.begin() + range.end,
                     [axis](const Primitive& a, const Primitive& b) {
                         return std::pair(a.center2(axis), a.id) < std::pair(b.center2(axis), b.id);
                     });
    return middle;
}

// Splits along the longest extent of the centers, where the binned surface-area cost is least.
std::pair<Range, Range> split(std::vector<Primitive>& primitives, const Range& range) {
    FloatBounds centers;
    for (std::int32_t i = range.begin; i < range.end; ++i) {
        const Primitive& p = primitives[static_cast<std::size_t>(i)];
        for (std::size_t k = 0; k < 3; ++k) {
            centers.low[k] = std::min(centers.low[k], p.center2(k));
            centers.high[k] = std::max(centers.high[k], p.center2(k));
        }
    }
    std::size_t axis = 0;
    for (std::size_t k = 1; k < 3; ++k) {
        if (centers.high[k] - centers.low[k] > centers.high[axis] - centers.low[axis]) {
            axis = k;
        }
    }
    const float extent = centers.high[axis] - centers.low[axis];
    std::int32_t middle = range.begin;
    if (range.count() > kFew && extent > 0.0F && range.depth < kDepth) {
        const float scale = static_cast<float>(kBins) / extent;
        const auto bin_of = [&](const Primitive& p) {
            return std::clamp(static_cast<int>((p.center2(axis) - centers.low[axis]) * scale), 0,
                              kBins - 1);
        };
        std::array<FloatBounds, kBins> box;
        std::array<std::int32_t, kBins> count{};
        for (std::int32_t i = range.begin; i < range.end; ++i) {
            const Primitive& p = primitives[static_cast<std::size_t>(i)];
            const auto b = static_cast<std::size_t>(bin_of(p));
            box[b].extend(p.box);
            ++count[b];
        }
        // cost[b]: of a cut between the bins up to b and those after it.
        std::array<float, kBins> cost{};
        FloatBounds left;
        FloatBounds right;
        std::int32_t left_count = 0;
        std::int32_t right_count = 0;
        for (std::size_t b = 0; b + 1 < kBins; ++b) {
            left.extend(box[b]);
            left_count += count[b];
            cost[b] += left_count > 0 ? left.half_area() * static_cast<float>(left_count) : 0.0F;
            const std::size_t c = kBins - 1 - b;
            right.extend(box[c]);
            right_count += count[c];
            cost[c - 1] +=
                right_count > 0 ? right.half_area() * static_cast<float>(right_count) : 0.0F;
        }
        const auto best =
            static_cast<int>(std::min_element(cost.begin(), cost.end() - 1) - cost.begin());
        middle = static_cast<std::int32_t>(
            std::partition(primitives.begin() + range.begin, primitives.begin() + range.end,
                           [&](const Primitive& p) { return bin_of(p) <= best; }) -
            primitives.begin());
    }
    if (middle == range.begin || middle == range.end) {
        middle = split_at_median(primitives, range, axis);
    }
    return {{range.begin, middle, box_of(primitives, range.begin, middle), range.depth + 1},
            {middle, range.end, box_of(primitives, middle, range.end), range.depth + 1}};
}

// Up to four ranges that make the children of one node: the one with the largest area is split
// until there are four.
std::vector<Range> children_of(std::vector<Primitive>& primitives, const Range& range) {
    std::vector<Range> children{range};
    while (children.size() < 4) {
        std::size_t largest = children.size();
        for (std::size_t i = 0; i < children.size(); ++i) {
            if (children[i].count() > kLeaf &&
                (largest == children.size() ||
                 children[i].box.half_area() > children[largest].box.half_area())) {
                largest = i;
            }
        }
        if (largest == children.size()) {
            break;
        }
        const auto [left, right] = split(primitives, children[largest]);
        children[largest] = left;
        children.push_back(right);
    }
    return children;
}

}  // namespace

class BvhBuilder {
  public:
    BvhBuilder(TriangleBvh& bvh, const TriMesh& mesh) : bvh_(bvh), mesh_(mesh) {}

    void build(const RunContext& context) {
        make_primitives(context);
        Range root{0, static_cast<std::int32_t>(primitives_.size()), {}, 0};
        root.box = box_of(primitives_, root.begin, root.end);
        bvh_.nodes_.reserve(primitives_.size() / 2 + 16);
        add_node(bvh_.nodes_, root, true);
        build_branches(context);
        fill_packs(context);
    }

  private:
    using Node = TriangleBvh::Node;
    // A branch still to be built and the place where its number goes.
    struct Branch {
        Range range;
        std::int32_t node = 0;
        int child = 0;
    };

    void make_primitives(const RunContext& context) {
        const std::size_t n = mesh_.triangles.size();
        bvh_.bounds_ = bounds(mesh_);
        // Boxes are widened by a little more than the rounding of a distance in double precision at
        // the part's scale, so that no box is ever further away than what is computed for the
        // triangles in it.
        const double scale = std::max(bvh_.bounds_.min().cwiseAbs().maxCoeff(),
                                      bvh_.bounds_.max().cwiseAbs().maxCoeff());
        margin_ = scale * 0x1p-44;
        const Vec3 origin = bvh_.bounds_.center();
        bvh_.origin_ = origin;
        primitives_.resize(n);
        for_blocks(n, 65536, context, [&](const Block& block) {
            for (std::size_t t = block.begin; t < block.end; ++t) {
                const Vec3 a = mesh_.corner(t, 0) - origin;
                const Vec3 b = mesh_.corner(t, 1) - origin;
                const Vec3 c = mesh_.corner(t, 2) - origin;
                Primitive& p = primitives_[t];
                p.id = static_cast<std::int32_t>(t);
                const Vec3 normal = (b - a).cross(c - a);
                for (int k = 0; k < 3; ++k) {
                    const auto i = static_cast<std::size_t>(k);
                    p.box.low[i] = detail::rounded_down(std::min({a[k], b[k], c[k]}) - margin_);
                    p.box.high[i] = detail::rounded_up(std::max({a[k], b[k], c[k]}) + margin_);
                    p.normal[i] = static_cast<float>(normal[k]);
                }
            }
        });
    }

    // Adds the node for `range` and all below it, and returns its number. At the top, large
    // branches are put off.
    std::int32_t add_node(std::vector<Node>& nodes, const Range& range, bool top) {
        const auto number = static_cast<std::int32_t>(nodes.size());
        nodes.push_back(empty_node());
        const std::vector<Range> children = children_of(primitives_, range);
        for (std::size_t i = 0; i < children.size(); ++i) {
            const Range& child = children[i];
            std::int32_t first = child.begin;
            std::int32_t count = child.count();
            if (count > kLeaf) {
                count = 0;
                if (top && child.count() <= kBranch) {
                    branches_.push_back({child, number, static_cast<int>(i)});
                    first = -1;
                } else {
                    first = add_node(nodes, child, top);
                }
            }
            Node& node = nodes[static_cast<std::size_t>(number)];
            node.first[i] = first;
            node.count[i] = count;
            for (std::size_t k = 0; k < 3; ++k) {
                node.low[k][i] = child.box.low[k];
                node.high[k][i] = child.box.high[k];
            }
            set_planes(node, i, child);
        }
        return number;
    }

    // The two planes that a child lies between.
    void set_planes(Node& node, std::size_t i, const Range& child) const {
        node.least[i] = -std::numeric_limits<float>::infinity();
        node.most[i] = std::numeric_limits<float>::infinity();
        if (child.count() > kPatch) {
            return;
        }
        Vec3 sum = Vec3::Zero();
        for (std::int32_t k = child.begin; k < child.end; ++k) {
            const std::array<float, 3>& n = primitives_[static_cast<std::size_t>(k)].normal;
            sum += Vec3(n[0], n[1], n[2]);
        }
        if (!(sum.squaredNorm() > 0.0)) {
            return;
        }
        // In single precision as the queries see it; it is then a unit but for one rounding.
        const Eigen::Vector3f normal = sum.stableNormalized().cast<float>();
        double least = std::numeric_limits<double>::infinity();
        double most = -least;
        for (std::int32_t k = child.begin; k < child.end; ++k) {
            const auto t = static_cast<std::size_t>(primitives_[static_cast<std::size_t>(k)].id);
            for (int corner = 0; corner < 3; ++corner) {
                const double height =
                    normal.cast<double>().dot(mesh_.corner(t, corner) - bvh_.origin_);
                least = std::min(least, height);
                most = std::max(most, height);
            }
        }
        node.least[i] = detail::rounded_down(least - margin_);
        node.most[i] = detail::rounded_up(most + margin_);
        for (int k = 0; k < 3; ++k) {
            node.normal[k][i] = normal[k];
        }
    }

    static Node empty_node() {
        Node node{};
        for (std::size_t i = 0; i < 4; ++i) {
            node.first[i] = -1;
            node.count[i] = 0;
            for (std::size_t k = 0; k < 3; ++k) {
                node.low[k][i] = std::numeric_limits<float>::max();
                node.high[k][i] = -std::numeric_limits<float>::max();
            }
        }
        return node;
    }

    void build_branches(const RunContext& context) {
        // Each branch touches its own primitives only, so they may be built side by side.
        const auto built =
            map_blocks<std::vector<Node>>(branches_.size(), 1, context, [&](const Block& block) {
                std::vector<Node> nodes;
                add_node(nodes, branches_[block.begin].range, false);
                return nodes;
            });
        for (std::size_t i = 0; i < built.size(); ++i) {
            const auto offset = static_cast<std::int32_t>(bvh_.nodes_.size());
            const auto place = static_cast<std::size_t>(branches_[i].node);
            bvh_.nodes_[place].first[branches_[i].child] = offset;
            for (Node node : built[i]) {
                for (std::size_t k = 0; k < 4; ++k) {
                    node.first[k] += node.count[k] == 0 && node.first[k] >= 0 ? offset : 0;
                }
                bvh_.nodes_.push_back(node);
            }
        }
        bvh_.nodes_.shrink_to_fit();
    }

    // Gives each leaf its pack, in the order of the nodes.
    void fill_packs(const RunContext& context) {
        std::vector<std::int32_t> begin;
        std::vector<std::int32_t> count;
        for (Node& node : bvh_.nodes_) {
            for (int i = 0; i < 4; ++i) {
                if (node.count[i] > 0) {
                    begin.push_back(node.first[i]);
                    count.push_back(node.count[i]);
                    node.first[i] = static_cast<std::int32_t>(begin.size()) - 1;
                }
            }
        }
        bvh_.packs_.resize(begin.size());
        bvh_.vertices_ = mesh_.vertices;
        bvh_.triangles_.resize(4 * begin.size());
        bvh_.slot_.resize(primitives_.size());
        for_blocks(begin.size(), 16384, context, [&](const Block& block) {
            for (std::size_t k = block.begin; k < block.end; ++k) {
                for (std::int32_t lane = 0; lane < 4; ++lane) {
                    const auto i =
                        static_cast<std::size_t>(begin[k] + std::min(lane, count[k] - 1));
                    fill_lane(k, static_cast<std::size_t>(lane), primitives_[i].id,
                              lane < count[k]);
                }
            }
        });
    }

    // A lane that is not in use repeats the last triangle, under the number -1.
    void fill_lane(std::size_t pack_number, std::size_t lane, std::int32_t id, bool in_use) {
        const auto t = static_cast<std::size_t>(id);
        const std::size_t slot = 4 * pack_number + lane;
        const Vec3& a = mesh_.corner(t, 0);
        const Vec3& b = mesh_.corner(t, 1);
        const Vec3& c = mesh_.corner(t, 2);
        bvh_.triangles_[slot] = mesh_.triangles[t];
        TriangleBvh::Pack& pack = bvh_.packs_[pack_number];
        pack.id[lane] = in_use ? id : -1;
        if (in_use) {
            bvh_.slot_[t] = static_cast<std::int32_t>(slot);
        }
        const Vec3 normal = (b - a).cross(c - a).stableNormalized();
        for (int k = 0; k < 3; ++k) {
            pack.corner[k][lane] = static_cast<float>(a[k] - bvh_.origin_[k]);
            pack.to_b[k][lane] = static_cast<float>(b[k] - a[k]);
            pack.to_c[k][lane] = static_cast<float>(c[k] - a[k]);
            pack.normal[k][lane] = static_cast<float>(normal[k]);
        }
        const std::array<Vec3, 3> edge{b - a, c - b, a - c};
        for (std::size_t k = 0; k < 3; ++k) {
            const double length2 = edge[k].squaredNorm();
            // Lengths below single precision count as points.
            pack.per_length2[k][lane] = length2 > 1e-30 ? static_cast<float>(1.0 / length2) : 0.0F;
        }
    }

    TriangleBvh& bvh_;
    const TriMesh& mesh_;
    std::vector<Primitive> primitives_;
    std::vector<Branch> branches_;
    double margin_ = 0.0;
};

TriangleBvh::TriangleBvh(const TriMesh& mesh, const RunContext& context) {
    if (!mesh.triangles.empty()) {
        BvhBuilder(*this, mesh).build(context);
    }
}

}  // namespace cavigram
