// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/gap_glance.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <vector>

#include "cavigram/cavity/columns.h"

namespace cavigram {

namespace {

constexpr std::int64_t kFine = 256;  // steps to a column's width

// What is kept of a column.
struct Column {
    float low = std::numeric_limits<float>::infinity();
    float high = -std::numeric_limits<float>::infinity();
    float inside = 0.0F;
};

// A corner across the pull, in steps, and its height.
struct Spot {
    std::int64_t x = 0;
    std::int64_t y = 0;
    double z = 0.0;
};

// Rounded as std::llround, halves away from zero, without a call.
std::int64_t rounded(double x) {
    const auto whole = static_cast<std::int64_t>(x);
    const double rest = x - static_cast<double>(whole);
    return whole + (rest >= 0.5 ? 1 : 0) - (rest <= -0.5 ? 1 : 0);
}

// The line from one corner to the next: not below 0 on its left. A column that lies on the line
// counts as a hair to the right and far less up, the same hair for every triangle: so of two that
// share the line just one covers it.
struct Side {
    Side(const Spot& p, const Spot& q)
        : by_x(p.y - q.y),
          by_y(q.x - p.x),
          from(-(by_x * p.x + by_y * p.y) - (by_x > 0 || (by_x == 0 && by_y > 0) ? 0 : 1)) {}

    [[nodiscard]] std::int64_t at(std::int64_t x, std::int64_t y) const {
        return from + by_x * x + by_y * y;
    }

    std::int64_t by_x;
    std::int64_t by_y;
    std::int64_t from;
};

class Glance {
  public:
    Glance(const TriMesh& mesh, const std::vector<std::int32_t>& used, const Vec3& pull, int across)
        : mesh_(mesh), frame_(frame_along(pull)), spots_(mesh.vertices.size()) {
        set_grid(used, across);
    }

    [[nodiscard]] double gaps_mm3() {
        if (wide_ == 0) {
            return 0.0;
        }
        for (const Triangle& t : mesh_.triangles) {
            add(spot(t[0]), spot(t[1]), spot(t[2]));
        }
        double sum = 0.0;
        for (const Column& column : columns_) {
            if (column.high > column.low) {
                sum += std::max(0.0F, column.high - column.low - column.inside);
            }
        }
        return sum * spacing_mm_ * spacing_mm_;
    }

  private:
    [[nodiscard]] const Spot& spot(std::int32_t v) const {
        return spots_[static_cast<std::size_t>(v)];
    }

    // As cut_columns.
    void set_grid(const std::vector<std::int32_t>& used, int across) {
        std::vector<Vec3> local;
        local.reserve(used.size());
        Box3 box;
        for (const std::int32_t v : used) {
            local.push_back(frame_.local(mesh_.vertices[static_cast<std::size_t>(v)]));
            box.extend(local.back());
        }
        if (box.isEmpty() || !(box.sizes().head<2>().maxCoeff() > 0.0)) {
            return;
        }
        const Vec2 size = box.sizes().head<2>();
        spacing_mm_ = size.maxCoeff() / across;
        const auto count = [this](double extent) {
            return std::max(1, static_cast<int>(std::ceil(extent / spacing_mm_ * (1.0 - 1e-12))));
        };
        wide_ = count(size.x());
        high_ = count(size.y());
        const Vec2 corner = box.center().head<2>() - 0.5 * spacing_mm_ * Vec2(wide_, high_);
        const double middle_z = box.center().z();
        const double steps = static_cast<double>(kFine) / spacing_mm_;
        for (std::size_t i = 0; i < used.size(); ++i) {
            spots_[static_cast<std::size_t>(used[i])] = {
                rounded((local[i].x() - corner.x()) * steps),
                rounded((local[i].y() - corner.y()) * steps), local[i].z() - middle_z};
        }
        columns_.resize(static_cast<std::size_t>(wide_) * static_cast<std::size_t>(high_));
    }

    // The first column whose middle lies at a place or beyond.
    [[nodiscard]] static std::int64_t first_from(std::int64_t place) {
        return (place + kFine / 2 - 1) >> 8;
    }

    void add(const Spot& a, const Spot& b, const Spot& c) {
        const std::int64_t from_x =
            std::max<std::int64_t>(0, first_from(std::min(std::min(a.x, b.x), c.x)));
        const std::int64_t from_y =
            std::max<std::int64_t>(0, first_from(std::min(std::min(a.y, b.y), c.y)));
        const std::int64_t to_x =
            std::min<std::int64_t>(wide_, first_from(std::max(std::max(a.x, b.x), c.x) + 1));
        const std::int64_t to_y =
            std::min<std::int64_t>(high_, first_from(std::max(std::max(a.y, b.y), c.y) + 1));
        if (from_x >= to_x || from_y >= to_y) {
            return;  // most triangles of a fine mesh lie between columns
        }
        const std::int64_t area = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
        if (area == 0) {
            return;
        }
        const bool leaves = area > 0;  // it looks up
        const Spot& second = leaves ? b : c;
        const Spot& third = leaves ? c : b;
        const std::array sides = {Side(a, second), Side(second, third), Side(third, a)};
        const double share = 1.0 / static_cast<double>(area);
        const double by_x = share * ((b.z - a.z) * static_cast<double>(c.y - a.y) -
                                     (c.z - a.z) * static_cast<double>(b.y - a.y));
        const double by_y = share * ((c.z - a.z) * static_cast<double>(b.x - a.x) -
                                     (b.z - a.z) * static_cast<double>(c.x - a.x));
        const double low_z = std::min(std::min(a.z, b.z), c.z);
        const double high_z = std::max(std::max(a.z, b.z), c.z);
        for (std::int64_t row = from_y; row < to_y; ++row) {
            const std::int64_t y = row * kFine + kFine / 2;
            std::int64_t x = from_x * kFine + kFine / 2;
            std::array value = {sides[0].at(x, y), sides[1].at(x, y), sides[2].at(x, y)};
            for (std::int64_t i = from_x; i < to_x; ++i, x += kFine) {
                // Covered where none of the three is below 0: their signs in one look.
                const bool covered = (value[0] | value[1] | value[2]) >= 0;
                for (std::size_t k = 0; k < 3; ++k) {
                    value[k] += kFine * sides[k].by_x;
                }
                if (!covered) {
                    continue;
                }
                const auto z = static_cast<float>(std::clamp(
                    a.z + by_x * static_cast<double>(x - a.x) + by_y * static_cast<double>(y - a.y),
                    low_z, high_z));
                Column& column = columns_[static_cast<std::size_t>(row * wide_ + i)];
                column.low = std::min(column.low, z);
                column.high = std::max(column.high, z);
                column.inside += leaves ? z : -z;
            }
        }
    }

    const TriMesh& mesh_;
    Frame frame_;
    double spacing_mm_ = 0.0;
    int wide_ = 0;
    int high_ = 0;
    std::vector<Spot> spots_;
    std::vector<Column> columns_;
};

}  // namespace

double quick_gap_volume_mm3(const TriMesh& mesh, const Vec3& pull, int across) {
    return GapGlance(mesh).gap_volume_mm3(pull, across);
}

GapGlance::GapGlance(const TriMesh& mesh) : mesh_(&mesh) {
    std::vector<std::uint8_t> used(mesh.vertices.size(), 0);
    for (const Triangle& triangle : mesh.triangles) {
        for (const std::int32_t v : triangle) {
            used[static_cast<std::size_t>(v)] = 1;
        }
    }
    for (std::size_t v = 0; v < used.size(); ++v) {
        if (used[v] != 0) {
            used_.push_back(static_cast<std::int32_t>(v));
        }
    }
}

double GapGlance::gap_volume_mm3(const Vec3& pull, int across) const {
    return Glance(*mesh_, used_, pull, across).gaps_mm3();
}

double overlap_share(const TriMesh& mesh, int across) {
    double most = 0.0;
    for (int axis = 0; axis < 3; ++axis) {
        const ColumnCut cut = cut_columns(mesh, Vec3::Unit(axis), {.across = across});
        double all = 0.0;
        double other = 0.0;
        for (const ColumnPiece& piece : cut.pieces) {
            const double length = piece.to_mm - piece.from_mm;
            all += length;
            other += piece.winding == 1 ? 0.0 : length;
        }
        most = std::max(most, all > 0.0 ? other / all : 0.0);
    }
    return most;
}

}  // namespace cavigram
