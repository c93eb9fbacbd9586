// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstring>

#include <fmt/core.h>

#include "io_tools.h"

namespace io_test {

/// Numbers of a PLY body as text or as bytes of either order.
class PlyData {
  public:
    enum class Kind { text, little, big };
    explicit PlyData(Kind kind) : kind_(kind) {}

    template <class T>
    void value(T number) {
        if (kind_ == Kind::text) {
            text_ += fmt::format("{:.17g} ", static_cast<double>(number));
            return;
        }
        char bytes[sizeof(T)];
        std::memcpy(bytes, &number, sizeof(T));
        if (kind_ == Kind::big) {
            std::reverse(bytes, bytes + sizeof(T));
        }
        text_.append(bytes, sizeof(T));
    }
    void end_row() { text_ += kind_ == Kind::text ? "\n" : ""; }
    [[nodiscard]] const std::string& bytes() const { return text_; }
    [[nodiscard]] std::string format_line() const {
        return kind_ == Kind::text     ? "format ascii 1.0\n"
               : kind_ == Kind::little ? "format binary_little_endian 1.0\n"
                                       : "format binary_big_endian 1.0\n";
    }

  private:
    Kind kind_;
    std::string text_;
};

inline constexpr std::array kPlyKinds = {PlyData::Kind::text, PlyData::Kind::little,
                                         PlyData::Kind::big};

/// The vertices of torus_solid(big, small, columns), row by row around the tube: rows = columns
/// / 2. Its faces are flat trapezoids, so however each is cut the volume is that solid's closed
/// form.
inline TriMesh torus_grid(double big, double small, std::int32_t columns) {
    TriMesh mesh;
    const double pi = 3.14159265358979323846;
    const std::int32_t rows = columns / 2;
    for (std::int32_t r = 0; r < rows; ++r) {
        for (std::int32_t c = 0; c < columns; ++c) {
            const double u = 2.0 * pi * r / rows;
            const double t = 2.0 * pi * c / columns;
            const double radius = big + small * std::cos(u);
            mesh.vertices.emplace_back(radius * std::cos(t), radius * std::sin(t),
                                       small * std::sin(u));
        }
    }
    return mesh;
}

/// That torus as strips, one for each row: the corners go to and fro between a row and the next.
inline std::vector<std::vector<std::int32_t>> torus_strips(std::int32_t columns) {
    std::vector<std::vector<std::int32_t>> strips;
    const std::int32_t rows = columns / 2;
    for (std::int32_t r = 0; r < rows; ++r) {
        std::vector<std::int32_t> strip;
        for (std::int32_t c = 0; c <= columns; ++c) {
            strip.push_back((r + 1) % rows * columns + c % columns);
            strip.push_back(r * columns + c % columns);
        }
        strips.push_back(std::move(strip));
    }
    return strips;
}

}  // namespace io_test
