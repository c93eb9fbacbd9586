// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/arrangement.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "cavigram/core/parallel.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/union_find.h"
#include "cavigram/mesh/weld.h"
#include "cavigram/repair/crossings.h"
#include "cavigram/repair/meetings_detail.h"
#include "cavigram/repair/patches_detail.h"
#include "cavigram/repair/plane_cells_detail.h"
#include "cavigram/repair/rounding_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kTaskBlock = 16;

// The mesh on a grid of 2^-53 of its reach, in whole numbers and in millimeters.
struct Gridded {
    TriMesh whole;
    TriMesh real;
    std::vector<std::int32_t> group;
    double unit_mm = 1.0;
};

Gridded on_grid(const TriMesh& mesh, const std::vector<std::int32_t>& group) {
    const Box3 box = bounds(mesh);
    const double reach = std::max(box.min().cwiseAbs().maxCoeff(), box.max().cwiseAbs().maxCoeff());
    Gridded grid;
    int exponent = 0;
    std::frexp(reach, &exponent);
    grid.unit_mm = std::ldexp(1.0, exponent - 53);
    TriMesh moved = mesh;
    for (Vec3& v : moved.vertices) {
        for (int i = 0; i < 3; ++i) {
            v[i] = std::nearbyint(v[i] / grid.unit_mm) * grid.unit_mm;
        }
    }
    Weld welded = weld_exact(moved);
    grid.real = std::move(welded.mesh);
    std::size_t next = 0;
    for (std::size_t t = 0; t < group.size(); ++t) {
        if (next < welded.degenerate_triangles.size() &&
            welded.degenerate_triangles[next] == static_cast<std::int32_t>(t)) {
            ++next;
        } else {
            grid.group.push_back(group[t]);
        }
    }
    grid.whole = grid.real;
    for (Vec3& v : grid.whole.vertices) {
        v /= grid.unit_mm;
    }
    return grid;
}

// A side of a face that may have others than one neighbor: `faces` around it are sorted together.
struct Side {
    std::array<std::int32_t, 2> ends{};  // the smaller number first
    std::int32_t face = -1;
    std::int32_t sum = 0;  // multiplicity, negative if it runs from the larger number
};

class Arranger {
  public:
    Arranger(const TriMesh& mesh, const std::vector<std::int32_t>& group, const RunContext& context)
        : context_(context), grid_(on_grid(mesh, group)), exact_(grid_.whole), points_(exact_) {}

    Arrangement arrange() {
        Arrangement result;
        const Adjacency adjacent = adjacency(grid_.whole);
        const std::vector<CrossingPair> pairs = crossing_pairs(grid_.whole, adjacent, context_);
        result.crossings = pairs.size();
        Meetings meeting = meetings(exact_, pairs, points_, context_);
        if (meeting.failed || !cut(meeting) || !join_patches(adjacent)) {
            return result;
        }
        result.mesh = solid_boundary();
        const Rounding rounding = settle_rounding(result.mesh, context_);
        result.left = rounding.left.size();
        result.moved_mm = rounding.moved_mm;
        result.left_mm3 = rounding.left_mm3;
        result.solved = true;
        return result;
    }

  private:
    bool cut(const Meetings& meeting) {
        const std::size_t count = meeting.tasks.size();
        std::vector<PlaneCells> cells(count);
        for_blocks(count, kTaskBlock, context_, [&](const Block& block) {
            for (std::size_t k = block.begin; k < block.end; ++k) {
                cells[k] = plane_cells(meeting.tasks[k], exact_, points_.points());
            }
        });
        for (std::size_t t = 0; t < grid_.whole.triangles.size(); ++t) {
            if (meeting.task_of[t] == -1) {
                faces_.push_back({grid_.whole.triangles[t], 1, static_cast<std::int32_t>(t), -1});
                face_of_.push_back(static_cast<std::int32_t>(faces_.size() - 1));
            } else {
                face_of_.push_back(-1);
            }
        }
        for (std::size_t k = 0; k < count; ++k) {
            if (cells[k].failed) {
                return false;
            }
            std::vector<std::int32_t> number;
            for (std::size_t i = 0; i < cells[k].points.size(); ++i) {
                number.push_back(cells[k].known[i] >= 0 ? cells[k].known[i]
                                                        : points_.number(cells[k].points[i]));
            }
            for (const PlaneFace& face : cells[k].faces) {
                ArrangedFace arranged;
                for (std::size_t i = 0; i < 3; ++i) {
                    arranged.points[i] = number[static_cast<std::size_t>(face.points[i])];
                }
                arranged.multiplicity = face.multiplicity;
                arranged.triangle = meeting.tasks[k].triangles.front();
                faces_.push_back(arranged);
            }
        }
        return true;
    }

    void add_side(std::vector<Side>& sides, std::int32_t f, std::size_t i) const {
        const ArrangedFace& face = faces_[static_cast<std::size_t>(f)];
        const std::int32_t a = face.points[i];
        const std::int32_t b = face.points[(i + 1) % 3];
        sides.push_back(
            {{std::min(a, b), std::max(a, b)}, f, a < b ? face.multiplicity : -face.multiplicity});
    }

    // Faces across an edge with no others belong to one patch. Around every edge the
    // multiplicities must sum to nothing; false if they don't.
    bool join_patches(const Adjacency& adjacent) {
        UnionFind sets(faces_.size());
        std::vector<Side> sides;
        std::size_t whole = 0;
        for (std::size_t t = 0; t < grid_.whole.triangles.size(); ++t) {
            if (face_of_[t] < 0) {
                continue;
            }
            ++whole;
            for (std::size_t i = 0; i < 3; ++i) {
                const std::int32_t twin = adjacent.twin[3 * t + i];
                if (twin >= 0 && face_of_[static_cast<std::size_t>(twin / 3)] >= 0) {
                    sets.join(face_of_[t], face_of_[static_cast<std::size_t>(twin / 3)]);
                } else {
                    add_side(sides, face_of_[t], i);
                }
            }
        }
        for (std::size_t f = whole; f < faces_.size(); ++f) {
            for (std::size_t i = 0; i < 3; ++i) {
                add_side(sides, static_cast<std::int32_t>(f), i);
            }
        }
        std::sort(sides.begin(), sides.end(), [](const Side& a, const Side& b) {
            return std::pair(a.ends, a.face) < std::pair(b.ends, b.face);
        });
        for (std::size_t i = 0; i < sides.size();) {
            std::size_t end = i;
            int sum = 0;
            for (; end < sides.size() && sides[end].ends == sides[i].ends; ++end) {
                sum += sides[end].sum;
            }
            if (sum != 0) {
                return false;
            }
            if (end - i == 2) {
                sets.join(sides[i].face, sides[i + 1].face);
            }
            i = end;
        }
        const std::vector<std::int32_t> patch = sets.numbered();
        for (std::size_t f = 0; f < faces_.size(); ++f) {
            faces_[f].patch = patch[f];
            patches_ = std::max(patches_, static_cast<std::size_t>(patch[f]) + 1);
        }
        return true;
    }

    // Faces with something in front less than once wound around, and behind at least once.
    TriMesh solid_boundary() {
        const PatchWinding winding(exact_, points_.points(), grid_.group, grid_.real);
        const std::vector<int> front = winding.in_front(faces_, patches_, context_);
        TriMesh mesh;
        std::vector<std::int32_t> index(points_.points().size(), -1);
        for (const ArrangedFace& face : faces_) {
            const int before = front[static_cast<std::size_t>(face.patch)];
            if (before > 0 || before + face.multiplicity < 1) {
                continue;
            }
            Triangle triangle{};
            for (std::size_t i = 0; i < 3; ++i) {
                const auto p = static_cast<std::size_t>(face.points[i]);
                if (index[p] < 0) {
                    index[p] = static_cast<std::int32_t>(mesh.vertices.size());
                    mesh.vertices.emplace_back(points_.points()[p].near * grid_.unit_mm);
                }
                triangle[i] = index[p];
            }
            mesh.triangles.push_back(triangle);
        }
        return mesh;
    }

    const RunContext& context_;
    Gridded grid_;
    ExactPoints exact_;
    PointList points_;
    std::vector<ArrangedFace> faces_;    // whole triangles first
    std::vector<std::int32_t> face_of_;  // for each triangle its face, -1 if it was cut
    std::size_t patches_ = 0;
};

}  // namespace

Arrangement arrange(const TriMesh& mesh, const std::vector<std::int32_t>& group,
                    const RunContext& context) {
    context.report("cutting solids where they cross", 0.0);
    if (mesh.triangles.empty()) {
        return {};
    }
    return Arranger(mesh, group, context).arrange();
}

}  // namespace cavigram
