// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/loose_pieces.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <tuple>
#include <utility>

#include "cavigram/core/parallel.h"
#include "cavigram/geom/directions.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/molding/least_cut.h"

namespace cavigram {

namespace {

// A face looks into the gap that this many columns before it lies in.
constexpr double kBefore = 0.75;
// What a border's length costs, as a width, as a share of the diagonal: as the parting line's.
constexpr double kBorderShare = 0.01;
// Faces so many neighbors away may join a piece, or leave it.
constexpr int kRings = 4;
// Scraps of a piece under this share of it are left out.
constexpr double kScrap = 0.05;
// Faces that lean no more than this against a way slide along it.
constexpr double kSlides = 0.05;
constexpr double kHair = 1e-5;  // a ray starts so far before its face, as a share of the diagonal
constexpr int kDirections = 200;
constexpr std::size_t kMostRays = 200;  // for each of them
constexpr double kShareStep = 0.005;    // less of a way's share does not tell two apart

std::size_t at(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

class Finder {
  public:
    Finder(const PartingSurface& surface, const TriangleBvh& index, const Parting& parting,
           const ColumnCut& cut, const LockedSpace& space, const ReleaseStretch& stretch,
           const LoosePieceOptions& options, const RunContext& context)
        : surface_(surface),
          mesh_(surface.mesh_mm),
          index_(index),
          parting_(parting),
          cut_(cut),
          space_(space),
          stretch_(stretch),
          options_(options),
          context_(context),
          diagonal_(index.bounds_mm().diagonal().norm()),
          in_piece_(mesh_.triangles.size(), false),
          made_(space.pockets.size(), false) {
        for (std::size_t g = 0; g <= space.gaps.size(); ++g) {
            const std::size_t column =
                g < space.gaps.size() ? at(space.gaps[g].column) : cut.first.size() - 1;
            while (first_gap_.size() <= column) {
                first_gap_.push_back(g);
            }
        }
    }

    LoosePieces run() {
        Takes now = takes();
        const std::vector<std::size_t> order = tried();
        while (result_.pieces.size() < options_.most_pieces && now.bad(options_)) {
            std::optional<LoosePiece> best;
            Takes least = now;
            for (const std::size_t pocket : order) {
                context_.check_stop();
                if (made_[pocket]) {
                    continue;
                }
                LoosePiece piece = piece_of(pocket);
                const Takes then = with(piece);
                if (then.key(options_) < least.key(options_)) {
                    least = then;
                    best = std::move(piece);
                }
            }
            if (!best) {
                break;
            }
            add(*best, true);
            find_way(*best);
            now = least;
            result_.pieces.push_back(std::move(*best));
        }
        result_.stretch = now.stretch;
        result_.slits = now.slits;
        return std::move(result_);
    }

  private:
    // What the halves take.
    struct Takes {
        int slits = 0;
        double stretch = 0.0;
        [[nodiscard]] std::tuple<int, double> key(const LoosePieceOptions& options) const {
            return {slits, std::max(stretch, options.stretch_limit)};
        }
        [[nodiscard]] bool bad(const LoosePieceOptions& options) const {
            return slits > 0 || stretch > options.stretch_limit;
        }
    };

    [[nodiscard]] bool lump(std::size_t pocket) const {
        return options_.far_mm > 0.0 && space_.pockets[pocket].lateral_mm > options_.far_mm &&
               space_.pockets[pocket].volume_mm3 >= options_.least_mm3;
    }

    // Those that hold the rubber first, then the largest.
    [[nodiscard]] std::vector<std::size_t> tried() const {
        std::vector<std::size_t> order;
        for (std::size_t p = 0; p < space_.pockets.size(); ++p) {
            if (space_.pockets[p].volume_mm3 >= options_.least_mm3) {
                order.push_back(p);
            }
        }
        const auto holds = [this](std::size_t p) {
            return lump(p) || stretch_.pockets[p].bridge ||
                   stretch_.pockets[p].most() > options_.stretch_limit;
        };
        std::stable_partition(order.begin(), order.end(), holds);
        order.resize(std::min(order.size(), options_.most_tried));
        return order;
    }

    [[nodiscard]] Takes takes() const {
        Takes result;
        for (std::size_t p = 0; p < made_.size(); ++p) {
            if (!made_[p]) {
                result.stretch = std::max(result.stretch, stretch_.pockets[p].most());
                result.slits += stretch_.pockets[p].bridge || lump(p) ? 1 : 0;
            }
        }
        result.slits += slits_of(true) + slits_of(false);
        return result;
    }

    [[nodiscard]] Takes with(const LoosePiece& piece) {
        add(piece, true);
        Takes result = takes();
        add(piece, false);
        return result;
    }

    void add(const LoosePiece& piece, bool in) {
        made_[piece.pocket] = in;
        for (const std::int32_t t : piece.faces) {
            in_piece_[at(t)] = in;
        }
    }

    // Of one half's patches without the pieces.
    [[nodiscard]] int slits_of(bool upper) const {
        std::vector<bool> own(mesh_.triangles.size());
        for (std::size_t t = 0; t < own.size(); ++t) {
            own[t] = parting_.upper_face[t] == upper && !in_piece_[t];
        }
        // The line has what is its own on the left, so that the lower half is seen from below.
        const PartingLine line =
            line_along_edges(surface_, own, upper ? parting_.pull : Vec3(-parting_.pull));
        std::vector<int> outer(line.patches.size());
        for (const PartingLoop& loop : line.loops) {
            outer[at(loop.upper_patch)] += !loop.through() && !beside_piece(loop) ? 1 : 0;
        }
        int slits = 0;
        for (std::size_t p = 0; p < line.patches.size(); ++p) {
            if (line.patches[p].upper) {
                slits += std::max(0, outer[p] - 1) + line.patches[p].handles;
            }
        }
        return slits;
    }

    // Whether all that lies across a loop belongs to pieces.
    [[nodiscard]] bool beside_piece(const PartingLoop& loop) const {
        for (std::size_t i = 0; i < loop.faces.size(); ++i) {
            const std::size_t t = at(loop.faces[i]);
            for (std::size_t k = 0; k < 3; ++k) {
                if (mesh_.corner(t, static_cast<int>(k)) == loop.points_mm[i] &&
                    !in_piece_[at(surface_.adjacent.twin[3 * t + k]) / 3]) {
                    return false;
                }
            }
        }
        return true;
    }

    [[nodiscard]] Vec3 twice_area(std::size_t t) const {
        return double_area_vector(mesh_.corner(t, 0), mesh_.corner(t, 1), mesh_.corner(t, 2));
    }
    [[nodiscard]] Vec3 middle(std::size_t t) const {
        return (mesh_.corner(t, 0) + mesh_.corner(t, 1) + mesh_.corner(t, 2)) / 3.0;
    }

    // The pocket that a face looks into; -1: none.
    [[nodiscard]] std::int32_t pocket_before(std::size_t t) const {
        const Vec3 p = cut_.frame.local(middle(t) + kBefore * cut_.spacing_mm *
                                                        twice_area(t).stableNormalized());
        const auto x = static_cast<int>(std::floor((p.x() - cut_.corner_mm.x()) / cut_.spacing_mm));
        const auto y = static_cast<int>(std::floor((p.y() - cut_.corner_mm.y()) / cut_.spacing_mm));
        if (x < 0 || y < 0 || x >= cut_.count_x || y >= cut_.count_y) {
            return -1;
        }
        const std::size_t column = at(x) + at(y) * at(cut_.count_x);
        for (std::size_t g = first_gap_[column]; g < first_gap_[column + 1]; ++g) {
            if (space_.gaps[g].from_mm <= p.z() && p.z() <= space_.gaps[g].to_mm) {
                return space_.gaps[g].pocket;
            }
        }
        return -1;
    }

    // Faces that look into a pocket, and those around them that may join.
    [[nodiscard]] LoosePiece piece_of(std::size_t pocket) {
        if (before_.empty()) {
            before_.resize(mesh_.triangles.size());
            for_blocks(before_.size(), 4096, context_, [&](const Block& block) {
                for (std::size_t t = block.begin; t < block.end; ++t) {
                    before_[t] = pocket_before(t);
                }
            });
        }
        LoosePiece piece;
        piece.pocket = pocket;
        piece.at_mm = space_.pockets[pocket].at_mm;
        piece.volume_mm3 = space_.pockets[pocket].volume_mm3;
        piece.faces = straightened(static_cast<std::int32_t>(pocket));
        drop_scraps(piece.faces);
        measure(piece);
        return piece;
    }

    [[nodiscard]] std::vector<std::int32_t> straightened(std::int32_t pocket) const {
        std::vector<std::int32_t> near;
        std::vector<std::int32_t> number(mesh_.triangles.size(), -1);
        const auto take = [&](std::size_t t) {
            if (number[t] < 0) {
                number[t] = static_cast<std::int32_t>(near.size());
                near.push_back(static_cast<std::int32_t>(t));
            }
        };
        for (std::size_t t = 0; t < before_.size(); ++t) {
            if (before_[t] == pocket) {
                take(t);
            }
        }
        std::size_t begin = 0;
        for (int ring = 0; ring < kRings; ++ring) {
            const std::size_t end = near.size();
            for (; begin < end; ++begin) {
                for (std::size_t i = 0; i < 3; ++i) {
                    take(at(surface_.adjacent.twin[3 * at(near[begin]) + i]) / 3);
                }
            }
        }
        std::vector<SidePrice> prices;
        std::vector<CutLink> links;
        for (const std::int32_t t : near) {
            const double area = 0.5 * twice_area(at(t)).norm();
            const bool in = before_[at(t)] == pocket;
            prices.push_back({in ? 0.0 : area, in ? area : 0.0});
            for (std::size_t i = 0; i < 3; ++i) {
                const std::int32_t n = surface_.adjacent.twin[3 * at(t) + i] / 3;
                if (number[at(n)] > number[at(t)]) {
                    const Vec3 edge = mesh_.corner(at(t), static_cast<int>((i + 1) % 3)) -
                                      mesh_.corner(at(t), static_cast<int>(i));
                    links.push_back(
                        {number[at(t)], number[at(n)], kBorderShare * diagonal_ * edge.norm()});
                }
            }
        }
        const std::vector<bool> in = least_cut(prices, links);
        std::vector<std::int32_t> faces;
        for (std::size_t i = 0; i < near.size(); ++i) {
            if (in[i]) {
                faces.push_back(near[i]);
            }
        }
        std::sort(faces.begin(), faces.end());
        return faces;
    }

    void drop_scraps(std::vector<std::int32_t>& faces) const {
        std::vector<std::int32_t> group(mesh_.triangles.size(), -2);
        for (const std::int32_t t : faces) {
            group[at(t)] = -1;
        }
        std::vector<double> area;
        std::vector<std::size_t> stack;
        for (const std::int32_t first : faces) {
            if (group[at(first)] != -1) {
                continue;
            }
            const auto mine = static_cast<std::int32_t>(area.size());
            area.push_back(0.0);
            group[at(first)] = mine;
            stack.push_back(at(first));
            while (!stack.empty()) {
                const std::size_t t = stack.back();
                stack.pop_back();
                area.back() += 0.5 * twice_area(t).norm();
                for (std::size_t i = 0; i < 3; ++i) {
                    const std::size_t n = at(surface_.adjacent.twin[3 * t + i]) / 3;
                    if (group[n] == -1) {
                        group[n] = mine;
                        stack.push_back(n);
                    }
                }
            }
        }
        double whole = 0.0;
        for (const double a : area) {
            whole += a;
        }
        std::erase_if(faces,
                      [&](std::int32_t t) { return area[at(group[at(t)])] < kScrap * whole; });
    }

    void measure(LoosePiece& piece) const {
        std::vector<bool> in(mesh_.triangles.size());
        Box3 extent;
        for (const std::int32_t t : piece.faces) {
            in[at(t)] = true;
        }
        for (const std::int32_t t : piece.faces) {
            piece.area_mm2 += 0.5 * twice_area(at(t)).norm();
            for (std::size_t i = 0; i < 3; ++i) {
                const Vec3& a = mesh_.corner(at(t), static_cast<int>(i));
                const Vec3& b = mesh_.corner(at(t), static_cast<int>((i + 1) % 3));
                extent.extend(a);
                piece.line_mm +=
                    in[at(surface_.adjacent.twin[3 * at(t) + i]) / 3] ? 0.0 : (b - a).norm();
            }
        }
        piece.size_mm = piece.faces.empty() ? Vec3(Vec3::Zero()) : Vec3(extent.sizes());
    }

    // The way along which the most of its surface is free.
    void find_way(LoosePiece& piece) const {
        std::vector<Vec3> ways;
        for (int i = 0; i < 3; ++i) {
            ways.push_back(Vec3::Unit(i));
            ways.push_back(-Vec3::Unit(i));
        }
        for (const Vec3& d : sphere_directions(kDirections)) {
            ways.push_back(d);
        }
        std::vector<double> share(ways.size());
        for_blocks(ways.size(), 4, context_, [&](const Block& block) {
            for (std::size_t i = block.begin; i < block.end; ++i) {
                share[i] = std::round(free_along(piece, ways[i]) / kShareStep) * kShareStep;
            }
        });
        const auto best = std::max_element(share.begin(), share.end()) - share.begin();
        piece.pull = ways[static_cast<std::size_t>(best)];
        piece.free_share = share[static_cast<std::size_t>(best)];
    }

    [[nodiscard]] double free_along(const LoosePiece& piece, const Vec3& way) const {
        const std::size_t stride = std::max<std::size_t>(1, piece.faces.size() / kMostRays);
        double free = 0.0;
        double whole = 0.0;
        for (std::size_t i = 0; i < piece.faces.size(); i += stride) {
            const std::size_t t = at(piece.faces[i]);
            const Vec3 twice = twice_area(t);
            const Vec3 out = twice.stableNormalized();
            whole += twice.norm();
            if (out.dot(way) < -kSlides) {
                continue;
            }
            RayLimits limits;
            limits.skip_triangle = piece.faces[i];
            const Vec3 from = middle(t) + kHair * diagonal_ * out;
            free += index_.first_hit(from, way, limits).triangle < 0 ? twice.norm() : 0.0;
        }
        return whole > 0.0 ? free / whole : 0.0;
    }

    const PartingSurface& surface_;
    const TriMesh& mesh_;
    const TriangleBvh& index_;
    const Parting& parting_;
    const ColumnCut& cut_;
    const LockedSpace& space_;
    const ReleaseStretch& stretch_;
    const LoosePieceOptions& options_;
    const RunContext& context_;
    double diagonal_;
    std::vector<bool> in_piece_;
    std::vector<bool> made_;              // which pockets are pieces
    std::vector<std::size_t> first_gap_;  // of each column, and one past the last
    std::vector<std::int32_t> before_;    // the pocket before each face
    LoosePieces result_;
};

}  // namespace

LoosePieces loose_pieces(const PartingSurface& surface, const TriangleBvh& index,
                         const Parting& parting, const ColumnCut& cut, const LockedSpace& space,
                         const ReleaseStretch& stretch, const LoosePieceOptions& options,
                         const RunContext& context) {
    return Finder(surface, index, parting, cut, space, stretch, options, context).run();
}

}  // namespace cavigram
