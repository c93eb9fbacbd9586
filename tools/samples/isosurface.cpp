// SPDX-License-Identifier: GPL-3.0-or-later
#include "isosurface.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <unordered_map>

namespace cavigram::samples {

namespace {

// Six tetrahedra around the diagonal from corner 0 to corner 7; corner bits are x, y, z.
constexpr int kTets[6][4] = {{0, 1, 3, 7}, {0, 3, 2, 7}, {0, 2, 6, 7},
                             {0, 6, 4, 7}, {0, 4, 5, 7}, {0, 5, 1, 7}};

class Marcher {
  public:
    Marcher(const Field& field, const Box3& box, double cell)
        : field_(field), box_(box), cell_(cell) {
        for (int axis = 0; axis < 3; ++axis) {
            n_[axis] = static_cast<int>(std::ceil(box.sizes()[axis] / cell)) + 1;
        }
        values_.resize(static_cast<std::size_t>(n_[0]) * n_[1] * n_[2]);
        for (int z = 0; z < n_[2]; ++z) {
            for (int y = 0; y < n_[1]; ++y) {
                for (int x = 0; x < n_[0]; ++x) {
                    values_[index(x, y, z)] = field(at(x, y, z));
                }
            }
        }
    }

    TriMesh run() {
        for (int z = 0; z + 1 < n_[2]; ++z) {
            for (int y = 0; y + 1 < n_[1]; ++y) {
                for (int x = 0; x + 1 < n_[0]; ++x) {
                    cube(x, y, z);
                }
            }
        }
        return std::move(mesh_);
    }

  private:
    std::size_t index(int x, int y, int z) const {
        return static_cast<std::size_t>(x) +
               static_cast<std::size_t>(n_[0]) *
                   (static_cast<std::size_t>(y) + static_cast<std::size_t>(n_[1]) * z);
    }
    Vec3 at(int x, int y, int z) const { return box_.min() + cell_ * Vec3(x, y, z); }

    void cube(int x, int y, int z) {
        std::array<std::size_t, 8> corner;
        std::array<Vec3, 8> place;
        for (int i = 0; i < 8; ++i) {
            const int cx = x + (i & 1);
            const int cy = y + (i >> 1 & 1);
            const int cz = z + (i >> 2 & 1);
            corner[static_cast<std::size_t>(i)] = index(cx, cy, cz);
            place[static_cast<std::size_t>(i)] = at(cx, cy, cz);
        }
        for (const auto& tet : kTets) {
            std::vector<int> inside;
            std::vector<int> outside;
            for (const int i : tet) {
                (values_[corner[static_cast<std::size_t>(i)]] < 0.0 ? inside : outside)
                    .push_back(i);
            }
            const auto cut = [&](int i, int j) {
                return vertex(
                    corner[static_cast<std::size_t>(i)], corner[static_cast<std::size_t>(j)],
                    place[static_cast<std::size_t>(i)], place[static_cast<std::size_t>(j)]);
            };
            const Vec3 out = outside.empty() || inside.empty()
                                 ? Vec3::Zero()
                                 : Vec3(place[static_cast<std::size_t>(outside[0])] -
                                        place[static_cast<std::size_t>(inside[0])]);
            if (inside.size() == 1) {
                face(cut(inside[0], outside[0]), cut(inside[0], outside[1]),
                     cut(inside[0], outside[2]), out);
            } else if (inside.size() == 3) {
                face(cut(inside[0], outside[0]), cut(inside[1], outside[0]),
                     cut(inside[2], outside[0]), out);
            } else if (inside.size() == 2) {
                const std::int32_t a = cut(inside[0], outside[0]);
                const std::int32_t b = cut(inside[0], outside[1]);
                const std::int32_t c = cut(inside[1], outside[1]);
                const std::int32_t d = cut(inside[1], outside[0]);
                face(a, b, c, out);
                face(a, c, d, out);
            }
        }
    }

    std::int32_t vertex(std::size_t i, std::size_t j, const Vec3& p, const Vec3& q) {
        const std::uint64_t key = std::min(i, j) * values_.size() + std::max(i, j);
        const auto [entry, is_new] =
            cuts_.try_emplace(key, static_cast<std::int32_t>(mesh_.vertices.size()));
        if (is_new) {
            // From the lower index to the higher, so that both sides find the very same point.
            Vec3 low = i < j ? p : q;
            Vec3 high = i < j ? q : p;
            const bool low_inside = values_[std::min(i, j)] < 0.0;
            for (int step = 0; step < 40; ++step) {
                const Vec3 middle = 0.5 * (low + high);
                ((field_(middle) < 0.0) == low_inside ? low : high) = middle;
            }
            mesh_.vertices.push_back(0.5 * (low + high));
        }
        return entry->second;
    }

    void face(std::int32_t a, std::int32_t b, std::int32_t c, const Vec3& out) {
        const auto at_vertex = [&](std::int32_t v) -> const Vec3& {
            return mesh_.vertices[static_cast<std::size_t>(v)];
        };
        const Vec3 normal = (at_vertex(b) - at_vertex(a)).cross(at_vertex(c) - at_vertex(a));
        if (normal.dot(out) < 0.0) {
            std::swap(b, c);
        }
        mesh_.triangles.push_back({a, b, c});
    }

    const Field& field_;
    Box3 box_;
    double cell_;
    std::array<int, 3> n_{};
    std::vector<double> values_;
    std::unordered_map<std::uint64_t, std::int32_t> cuts_;
    TriMesh mesh_;
};

}  // namespace

TriMesh isosurface(const Field& field, const Box3& box, double cell_mm) {
    return Marcher(field, box, cell_mm).run();
}

}  // namespace cavigram::samples
