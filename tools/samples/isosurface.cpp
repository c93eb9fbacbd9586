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
    [[nodiscard]] std::size_t index(int x, int y, int z) const {
        return static_cast<std::size_t>(x) +
               static_cast<std::size_t>(n_[0]) *
                   (static_cast<std::size_t>(y) + static_cast<std::size_t>(n_[1]) * z);
    }
    [[nodiscard]] Vec3 at(int x, int y, int z) const { return box_.min() + cell_ * Vec3(x, y, z); }

    struct Corner {
        std::size_t index = 0;
        Vec3 place;
    };

    void cube(int x, int y, int z) {
        std::array<Corner, 8> corners;
        for (int i = 0; i < 8; ++i) {
            const int cx = x + (i & 1);
            const int cy = y + (i >> 1 & 1);
            const int cz = z + (i >> 2 & 1);
            corners[static_cast<std::size_t>(i)] = {index(cx, cy, cz), at(cx, cy, cz)};
        }
        for (const auto& tet : kTets) {
            std::vector<Corner> inside;
            std::vector<Corner> outside;
            for (const int i : tet) {
                const Corner& corner = corners[static_cast<std::size_t>(i)];
                (values_[corner.index] < 0.0 ? inside : outside).push_back(corner);
            }
            tetrahedron(inside, outside);
        }
    }

    // The surface between the corners on one side of it and those on the other.
    void tetrahedron(const std::vector<Corner>& inside, const std::vector<Corner>& outside) {
        if (inside.empty() || outside.empty()) {
            return;
        }
        const Vec3 out = outside[0].place - inside[0].place;
        if (inside.size() == 2) {
            const std::int32_t a = vertex(inside[0], outside[0]);
            const std::int32_t b = vertex(inside[0], outside[1]);
            const std::int32_t c = vertex(inside[1], outside[1]);
            const std::int32_t d = vertex(inside[1], outside[0]);
            face(a, b, c, out);
            face(a, c, d, out);
            return;
        }
        std::array<std::int32_t, 3> cut{};
        for (std::size_t k = 3; k-- > 0;) {  // the order that numbered the committed meshes
            cut[k] =
                inside.size() == 1 ? vertex(inside[0], outside[k]) : vertex(inside[k], outside[0]);
        }
        face(cut[0], cut[1], cut[2], out);
    }

    std::int32_t vertex(const Corner& a, const Corner& b) {
        const std::size_t i = a.index;
        const std::size_t j = b.index;
        const std::uint64_t key = std::min(i, j) * values_.size() + std::max(i, j);
        const auto [entry, is_new] =
            cuts_.try_emplace(key, static_cast<std::int32_t>(mesh_.vertices.size()));
        if (is_new) {
            // From the lower index to the higher, so that both sides find the very same point.
            Vec3 low = i < j ? a.place : b.place;
            Vec3 high = i < j ? b.place : a.place;
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
