// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/crossings.h"

#include <algorithm>
#include <atomic>
#include <cmath>

#include "cavigram/core/parallel.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/weld.h"
#include "cavigram/repair/triangle_pair_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kBlock = 8192;  // triangles or vertices that one thread takes at a time
constexpr std::size_t kLeafBlock =
    512;  // groups of eight triangles that one thread takes at a time
constexpr std::size_t kLargestStar =
    48;  // triangles at a vertex; beyond, pairs are tested one by one

using Float4 = float __attribute__((vector_size(16)));
using Mask4 = int __attribute__((vector_size(16)));

struct FloatBox {
    float low[3];
    float high[3];
};

// Eight boxes side by side.
struct alignas(64) Group {
    Float4 low[3][2];
    Float4 high[3][2];
};

constexpr float kNowhere = 3e38F;

void set_lane(Group& group, std::size_t lane, const FloatBox& box) {
    for (int i = 0; i < 3; ++i) {
        group.low[i][lane / 4][lane % 4] = box.low[i];
        group.high[i][lane / 4][lane % 4] = box.high[i];
    }
}

// One bit for each lane, from lanes of all ones or all zeros.
inline unsigned bits_of(const Mask4& lanes) {
#if defined(__SSE__)
    return static_cast<unsigned>(__builtin_ia32_movmskps(reinterpret_cast<const Float4&>(lanes)));
#else
    return static_cast<unsigned>((lanes[0] & 1) | (lanes[1] & 2) | (lanes[2] & 4) | (lanes[3] & 8));
#endif
}

// Which of the eight boxes meet `box`, one bit each.
inline unsigned overlaps(const Group& group, const FloatBox& box) {
    Mask4 first = {-1, -1, -1, -1};
    Mask4 second = first;
    for (int i = 0; i < 3; ++i) {
        const Float4 low = {box.low[i], box.low[i], box.low[i], box.low[i]};
        const Float4 high = {box.high[i], box.high[i], box.high[i], box.high[i]};
        first &= (group.low[i][0] <= high) & (group.high[i][0] >= low);
        second &= (group.low[i][1] <= high) & (group.high[i][1] >= low);
    }
    return bits_of(first) | bits_of(second) << 4;
}

// A triangle and which of its corners are settled by their star, one bit each.
struct Marked {
    Triangle corners{};
    std::uint32_t plain = 0;
};

// Whether two triangles share a corner whose star says that they meet nowhere else. Of pairs with
// overlapping boxes nearly all do; no branch but one.
inline bool settled_by_star(const Marked& s, const Marked& t) {
    std::uint32_t shared = 0;
    for (std::uint32_t i = 0; i < 3; ++i) {
        const auto same = [&](std::uint32_t k) {
            return static_cast<std::uint32_t>(s.corners[i] == t.corners[k]);
        };
        shared |= (same(0) | same(1) | same(2)) << i;
    }
    return (shared & s.plain) != 0;
}

// Triangles in the order of a Z curve, with a tree of boxes above them: level 0 holds the
// triangles' boxes in groups of eight, each level above the boxes of the groups below.
struct Forest {
    std::vector<std::int32_t> order;
    std::vector<Marked> triangles;  // in that order, so that neighbors lie side by side
    std::vector<FloatBox> boxes;    // of the triangles, in that order
    std::vector<std::vector<Group>> levels;
    std::vector<FloatBox> leaf_boxes;  // of the groups of level 0
};

std::uint64_t spread(std::uint64_t x) {  // 16 bits, two zeros between each
    x = (x | x << 16) & 0x0000ff0000ffULL;
    x = (x | x << 8) & 0x00f00f00f00fULL;
    x = (x | x << 4) & 0x0c30c30c30c3ULL;
    return (x | x << 2) & 0x249249249249ULL;
}

struct Keyed {
    std::uint64_t key;
    std::int32_t triangle;
};

// Stable, 48 bits in four passes.
void sort_by_key(std::vector<Keyed>& list) {
    constexpr unsigned kBits = 12;
    std::vector<Keyed> other(list.size());
    for (unsigned shift = 0; shift < 48; shift += kBits) {
        std::vector<std::size_t> start((1U << kBits) + 1, 0);
        for (const Keyed& k : list) {
            ++start[((k.key >> shift) & ((1U << kBits) - 1)) + 1];
        }
        for (std::size_t i = 1; i < start.size(); ++i) {
            start[i] += start[i - 1];
        }
        for (const Keyed& k : list) {
            other[start[(k.key >> shift) & ((1U << kBits) - 1)]++] = k;
        }
        list.swap(other);
    }
}

FloatBox union_of(const FloatBox& a, const FloatBox& b) {
    FloatBox both{};
    for (int i = 0; i < 3; ++i) {
        both.low[i] = std::min(a.low[i], b.low[i]);
        both.high[i] = std::max(a.high[i], b.high[i]);
    }
    return both;
}

// Puts boxes into groups of eight, filling the last with boxes that nothing meets.
std::vector<Group> grouped(const std::vector<FloatBox>& boxes) {
    const FloatBox nothing{{kNowhere, kNowhere, kNowhere}, {-kNowhere, -kNowhere, -kNowhere}};
    std::vector<Group> groups((boxes.size() + 7) / 8);
    for (std::size_t i = 0; i < 8 * groups.size(); ++i) {
        set_lane(groups[i / 8], i % 8, i < boxes.size() ? boxes[i] : nothing);
    }
    return groups;
}

std::vector<FloatBox> boxes_of_groups(const std::vector<FloatBox>& boxes) {
    std::vector<FloatBox> above((boxes.size() + 7) / 8);
    for (std::size_t i = 0; i < boxes.size(); ++i) {
        above[i / 8] = i % 8 == 0 ? boxes[i] : union_of(above[i / 8], boxes[i]);
    }
    return above;
}

// For each vertex, whether its triangles are known to meet nowhere but where they share an edge or
// the vertex.
//
// The star of a vertex v seen along a direction n: triangle (v, p, q) covers the sector from p to
// q. If each sector turns the same way by less than half a turn, the star is one closed ring, and
// the ring goes around once, then the sectors are disjoint but for their common rays, and so are
// the triangles. Sectors must pass by a margin far above rounding, so that signs computed in double
// precision are those of the true star.
class StarProof {
  public:
    StarProof(const TriMesh& mesh, const Adjacency& adjacent, const RunContext& context)
        : mesh_(mesh), adjacent_(adjacent) {
        const std::size_t n = mesh.vertices.size();
        std::vector<std::int32_t> any(n, -1);
        std::vector<std::int32_t> count(n, 0);
        for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
            for (std::size_t i = 0; i < 3; ++i) {
                const auto v = static_cast<std::size_t>(mesh.triangles[t][i]);
                any[v] = static_cast<std::int32_t>(3 * t + i);
                ++count[v];
            }
        }
        plain_.assign(n, 0);
        for_blocks(n, kBlock, context, [&](const Block& block) {
            for (std::size_t v = block.begin; v < block.end; ++v) {
                plain_[v] =
                    any[v] >= 0 && holds(any[v], static_cast<std::size_t>(count[v])) ? 1 : 0;
            }
        });
    }

    [[nodiscard]] bool plain(std::int32_t v) const {
        return plain_[static_cast<std::size_t>(v)] != 0;
    }

  private:
    [[nodiscard]] bool holds(std::int32_t start, std::size_t count) const {
        constexpr double kMargin = 1e-9;
        if (count > kLargestStar) {
            return false;
        }
        Vec3 spoke[kLargestStar + 1];
        const Vec3& center = mesh_.corner(static_cast<std::size_t>(start / 3), start % 3);
        std::size_t n = 0;
        std::int32_t h = start;
        do {
            if (n == count) {
                return false;
            }
            const std::int32_t g = next_halfedge(h);
            spoke[n++] = mesh_.corner(static_cast<std::size_t>(g / 3), g % 3) - center;
            h = adjacent_.twin[static_cast<std::size_t>(previous_halfedge(h))];
        } while (h >= 0 && h != start);
        if (h != start || n != count) {
            return false;  // a border, or several rings of triangles
        }
        spoke[n] = spoke[0];
        Vec3 up = Vec3::Zero();
        for (std::size_t i = 0; i < n; ++i) {
            up += spoke[i].cross(spoke[i + 1]);
        }
        const double up_squared = up.squaredNorm();
        const Vec3 aside = std::abs(up.x()) < std::abs(up.y()) ? up.cross(Vec3(1.0, 0.1, 0.01))
                                                               : up.cross(Vec3(0.1, 1.0, 0.01));
        if (!(aside.squaredNorm() > 1e-6 * up_squared)) {
            return false;
        }
        int rounds = 0;
        for (std::size_t i = 0; i < n; ++i) {
            // Squared, as roots take longer than all the rest; what underflows is not plain.
            const double turn = spoke[i].cross(spoke[i + 1]).dot(up);
            const double lengths_squared = spoke[i].squaredNorm() * spoke[i + 1].squaredNorm();
            if (!(turn > 0.0 && turn * turn > kMargin * kMargin * lengths_squared * up_squared)) {
                return false;
            }
            rounds += aside.dot(spoke[i]) < 0.0 && aside.dot(spoke[i + 1]) >= 0.0 ? 1 : 0;
        }
        return rounds == 1;
    }

    const TriMesh& mesh_;
    const Adjacency& adjacent_;
    std::vector<std::uint8_t> plain_;
};

Forest build_forest(const TriMesh& mesh, const StarProof& stars, const RunContext& context) {
    const std::size_t n = mesh.triangles.size();
    const Box3 whole = bounds(mesh);
    const Vec3 center = whole.center();
    const double extent = std::max(whole.sizes().maxCoeff(), 1e-300);
    const auto pad = static_cast<float>(3e-7 * extent);  // four roundings to single precision
    std::vector<FloatBox> unsorted(n);
    std::vector<Keyed> keyed(n);
    for_blocks(n, kBlock, context, [&](const Block& block) {
        for (std::size_t t = block.begin; t < block.end; ++t) {
            const Vec3 a = mesh.corner(t, 0) - center;
            const Vec3 b = mesh.corner(t, 1) - center;
            const Vec3 c = mesh.corner(t, 2) - center;
            const Vec3 low = a.cwiseMin(b).cwiseMin(c);
            const Vec3 high = a.cwiseMax(b).cwiseMax(c);
            std::uint64_t key = 0;
            for (int i = 0; i < 3; ++i) {
                unsorted[t].low[i] = static_cast<float>(low[i]) - pad;
                unsorted[t].high[i] = static_cast<float>(high[i]) + pad;
                const double place = 0.5 + 0.5 * (low[i] + high[i]) / extent;
                key |= spread(static_cast<std::uint64_t>(std::clamp(place * 65536.0, 0.0, 65535.0)))
                       << i;
            }
            keyed[t] = {key, static_cast<std::int32_t>(t)};
        }
    });
    sort_by_key(keyed);
    Forest forest;
    forest.order.resize(n);
    forest.boxes.resize(n);
    forest.triangles.resize(n);
    for_blocks(n, kBlock, context, [&](const Block& block) {
        for (std::size_t i = block.begin; i < block.end; ++i) {
            const auto t = static_cast<std::size_t>(keyed[i].triangle);
            forest.order[i] = keyed[i].triangle;
            forest.boxes[i] = unsorted[t];
            Marked& marked = forest.triangles[i];
            marked.corners = mesh.triangles[t];
            for (std::uint32_t k = 0; k < 3; ++k) {
                marked.plain |= static_cast<std::uint32_t>(stars.plain(marked.corners[k])) << k;
            }
        }
    });
    forest.levels.push_back(grouped(forest.boxes));
    forest.leaf_boxes = boxes_of_groups(forest.boxes);
    for (std::vector<FloatBox> boxes = forest.leaf_boxes; forest.levels.back().size() > 1;
         boxes = boxes_of_groups(boxes)) {
        forest.levels.push_back(grouped(boxes));
    }
    return forest;
}

// Shows `visit` each pair of triangles with overlapping boxes that no star settles, one of them in
// leaf `leaf` and the other there or later; ends when it says false.
template <class Visit>
bool for_pairs(const Forest& forest, std::size_t leaf, const Visit& visit) {
    struct Entry {
        std::size_t level;
        std::size_t group;
    };
    Entry stack[8 * 24];
    std::size_t depth = 0;
    stack[depth++] = {forest.levels.size() - 1, 0};
    const Group& own = forest.levels.front()[leaf];
    while (depth > 0) {
        const Entry entry = stack[--depth];
        const Group& group = forest.levels[entry.level][entry.group];
        if (entry.level > 0) {
            for (unsigned bits = overlaps(group, forest.leaf_boxes[leaf]); bits != 0;
                 bits &= bits - 1) {
                const std::size_t child =
                    8 * entry.group + static_cast<std::size_t>(__builtin_ctz(bits));
                // Groups that end before `leaf` have met it already.
                if (((child + 1) << (3 * (entry.level - 1))) > leaf) {
                    stack[depth++] = {entry.level - 1, child};
                }
            }
            continue;
        }
        // Of the leaf's own triangles only those that reach the other group's box.
        for (unsigned mine = overlaps(own, forest.leaf_boxes[entry.group]); mine != 0;
             mine &= mine - 1) {
            const auto lane = static_cast<unsigned>(__builtin_ctz(mine));
            const std::size_t i = 8 * leaf + lane;
            unsigned bits = overlaps(group, forest.boxes[i]);
            if (entry.group == leaf) {
                bits &= ~((2U << lane) - 1U);
            }
            for (; bits != 0; bits &= bits - 1) {
                const std::size_t k =
                    8 * entry.group + static_cast<std::size_t>(__builtin_ctz(bits));
                if (!settled_by_star(forest.triangles[i], forest.triangles[k]) &&
                    !visit(forest.order[i], forest.order[k])) {
                    return false;
                }
            }
        }
    }
    return true;
}

}  // namespace

std::vector<CrossingPair> crossing_pairs(const TriMesh& mesh, const Adjacency& adjacent,
                                         const RunContext& context) {
    if (mesh.triangles.empty()) {
        return {};
    }
    const StarProof stars(mesh, adjacent, context);
    const Forest forest = build_forest(mesh, stars, context);
    const TrianglePair test(mesh);
    const auto found = map_blocks<std::vector<CrossingPair>>(
        forest.leaf_boxes.size(), kLeafBlock, context, [&](const Block& block) {
            std::vector<CrossingPair> pairs;
            for (std::size_t leaf = block.begin; leaf < block.end; ++leaf) {
                for_pairs(forest, leaf, [&](std::int32_t s, std::int32_t t) {
                    if (test.cross(s, t)) {
                        pairs.push_back({std::min(s, t), std::max(s, t)});
                    }
                    return true;
                });
            }
            return pairs;
        });
    std::vector<CrossingPair> all;
    for (const auto& pairs : found) {
        all.insert(all.end(), pairs.begin(), pairs.end());
    }
    std::sort(all.begin(), all.end());
    return all;
}

std::vector<CrossingPair> crossing_pairs_by_place(const TriMesh& mesh, const RunContext& context) {
    const Weld welded = weld_exact(mesh);
    // Triangles keep their order unless one loses a corner; then nothing is joined.
    const TriMesh& view = welded.degenerate_triangles.empty() ? welded.mesh : mesh;
    return crossing_pairs(view, adjacency(view), context);
}

bool crosses_itself(const TriMesh& mesh, const Adjacency& adjacent, const RunContext& context) {
    if (mesh.triangles.empty()) {
        return false;
    }
    const StarProof stars(mesh, adjacent, context);
    const Forest forest = build_forest(mesh, stars, context);
    const TrianglePair test(mesh);
    std::atomic<bool> found = false;
    for_blocks(forest.leaf_boxes.size(), kLeafBlock, context, [&](const Block& block) {
        for (std::size_t leaf = block.begin; leaf < block.end && !found; ++leaf) {
            if (!for_pairs(forest, leaf,
                           [&](std::int32_t s, std::int32_t t) { return !test.cross(s, t); })) {
                found = true;
            }
        }
    });
    return found;
}

}  // namespace cavigram
