// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "cavigram/core/error.h"
#include "cavigram/report/shading_detail.h"

namespace cavigram {

namespace {

constexpr float kNothing = -std::numeric_limits<float>::infinity();
constexpr int kFiner = 2;      // drawn twice as fine and averaged, so that edges are smooth
constexpr int kMargin_px = 4;  // so that lines at the rim are whole

std::vector<Vec3> smooth_normals(const TriMesh& mesh) {
    std::vector<Vec3> normals(mesh.vertices.size(), Vec3::Zero());
    for (const Triangle& t : mesh.triangles) {
        const Vec3& a = mesh.vertices[static_cast<std::size_t>(t[0])];
        const Vec3 n = (mesh.vertices[static_cast<std::size_t>(t[1])] - a)
                           .cross(mesh.vertices[static_cast<std::size_t>(t[2])] - a);
        for (const std::int32_t v : t) {
            normals[static_cast<std::size_t>(v)] += n;
        }
    }
    for (Vec3& n : normals) {
        n.normalize();
    }
    return normals;
}

// The fine picture: nearness and light of what is seen in each pixel.
struct Canvas {
    int width = 0;
    int height = 0;
    std::vector<float> near;
    std::vector<float> light;
};

struct Corner {
    Vec2 pixel;
    double near = 0.0;
    double light = 0.0;
};

void draw(Canvas& canvas, const std::array<Corner, 3>& c) {
    const auto cross = [](const Vec2& u, const Vec2& v) { return u.x() * v.y() - u.y() * v.x(); };
    const double area = cross(c[1].pixel - c[0].pixel, c[2].pixel - c[0].pixel);
    if (area == 0.0) {
        return;
    }
    const Vec2 low = c[0].pixel.cwiseMin(c[1].pixel).cwiseMin(c[2].pixel);
    const Vec2 high = c[0].pixel.cwiseMax(c[1].pixel).cwiseMax(c[2].pixel);
    const int x0 = std::max(0, static_cast<int>(std::ceil(low.x() - 0.5)));
    const int x1 = std::min(canvas.width - 1, static_cast<int>(std::floor(high.x() - 0.5)));
    const int y0 = std::max(0, static_cast<int>(std::ceil(low.y() - 0.5)));
    const int y1 = std::min(canvas.height - 1, static_cast<int>(std::floor(high.y() - 0.5)));
    for (int y = y0; y <= y1; ++y) {
        for (int x = x0; x <= x1; ++x) {
            const Vec2 p(x + 0.5, y + 0.5);
            const double wa = cross(c[1].pixel - p, c[2].pixel - p) / area;
            const double wb = cross(c[2].pixel - p, c[0].pixel - p) / area;
            const double wc = 1.0 - wa - wb;
            if (wa < 0.0 || wb < 0.0 || wc < 0.0) {
                continue;
            }
            const auto i = static_cast<std::size_t>(y) * static_cast<std::size_t>(canvas.width) +
                           static_cast<std::size_t>(x);
            const auto near = static_cast<float>(wa * c[0].near + wb * c[1].near + wc * c[2].near);
            if (near > canvas.near[i]) {
                canvas.near[i] = near;
                canvas.light[i] =
                    static_cast<float>(wa * c[0].light + wb * c[1].light + wc * c[2].light);
            }
        }
    }
}

// Lines where neighbors are farther apart in depth than a steep surface would be.
std::vector<float> with_lines(const Canvas& canvas, double pixel_mm) {
    constexpr float kLine = 0.12F;
    constexpr double kSteep = 8.0;  // of depth for each of width: 83 degrees
    std::vector<float> tone(canvas.light.size());
    const auto at = [&](int x, int y) {
        return static_cast<std::size_t>(y) * static_cast<std::size_t>(canvas.width) +
               static_cast<std::size_t>(x);
    };
    for (int y = 0; y < canvas.height; ++y) {
        for (int x = 0; x < canvas.width; ++x) {
            const std::size_t i = at(x, y);
            tone[i] = canvas.near[i] == kNothing ? 1.0F : canvas.light[i];
            for (const auto& [dx, dy] : {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}}) {
                const int u = x + dx;
                const int v = y + dy;
                const float other = u < 0 || v < 0 || u >= canvas.width || v >= canvas.height
                                        ? kNothing
                                        : canvas.near[at(u, v)];
                // The nearer side of a jump carries the line.
                if (canvas.near[i] != kNothing && canvas.near[i] - other > kSteep * pixel_mm) {
                    tone[i] = kLine;
                }
            }
        }
    }
    return tone;
}

}  // namespace

bool ShadedImage::hides(const Vec2& paper_mm, double point_nearness_mm, double tolerance_mm) const {
    const Vec2 p = pixel(paper_mm);
    const int x = static_cast<int>(std::floor(p.x()));
    const int y = static_cast<int>(std::floor(p.y()));
    if (x < 0 || y < 0 || x >= width || y >= height) {
        return false;
    }
    return nearness_mm[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
                       static_cast<std::size_t>(x)] > point_nearness_mm + tolerance_mm;
}

ShadedImage shaded(const TriMesh& mesh, const View& view, double pixels_per_mm) {
    CAVIGRAM_ASSERT(!mesh.triangles.empty() && pixels_per_mm > 0.0);
    Vec2 low = Vec2::Constant(std::numeric_limits<double>::infinity());
    Vec2 high = -low;
    for (const Vec3& p : mesh.vertices) {
        low = low.cwiseMin(view.on_paper(p));
        high = high.cwiseMax(view.on_paper(p));
    }
    ShadedImage image;
    image.pixels_per_mm = pixels_per_mm;
    const double margin = kMargin_px / image.pixels_per_mm;
    image.top_left_mm = {low.x() - margin, high.y() + margin};
    const Vec2 size = (high - low) * image.pixels_per_mm;
    image.width = static_cast<int>(std::ceil(size.x())) + 2 * kMargin_px;
    image.height = static_cast<int>(std::ceil(size.y())) + 2 * kMargin_px;

    Canvas canvas;
    canvas.width = kFiner * image.width;
    canvas.height = kFiner * image.height;
    const auto pixels =
        static_cast<std::size_t>(canvas.width) * static_cast<std::size_t>(canvas.height);
    canvas.near.assign(pixels, kNothing);
    canvas.light.assign(pixels, 1.0F);
    const Vec3 light = (-0.4 * view.right + 0.6 * view.up + 0.7 * view.toward).normalized();
    const std::vector<Vec3> normals = smooth_normals(mesh);
    const auto corner = [&](std::int32_t vertex) {
        const auto v = static_cast<std::size_t>(vertex);
        const Vec3& p = mesh.vertices[v];
        // Half the tone from the angle to the light, wrapped so that no side is black.
        const double shine = 0.5 + 0.5 * normals[v].dot(light);
        return Corner{kFiner * image.pixel(view.on_paper(p)), view.nearness_mm(p),
                      0.42 + 0.53 * shine};
    };
    for (const Triangle& t : mesh.triangles) {
        draw(canvas, {corner(t[0]), corner(t[1]), corner(t[2])});
    }
    const std::vector<float> tone = with_lines(canvas, 1.0 / (kFiner * image.pixels_per_mm));
    for (int y = 0; y < image.height; ++y) {
        for (int x = 0; x < image.width; ++x) {
            double sum = 0.0;
            float near = kNothing;
            for (int k = 0; k < kFiner * kFiner; ++k) {
                const auto i = static_cast<std::size_t>(kFiner * y + k / kFiner) *
                                   static_cast<std::size_t>(canvas.width) +
                               static_cast<std::size_t>(kFiner * x + k % kFiner);
                sum += tone[i];
                near = std::max(near, canvas.near[i]);
            }
            image.gray.push_back(
                static_cast<std::uint8_t>(std::lround(255.0 * sum / (kFiner * kFiner))));
            image.nearness_mm.push_back(near);
        }
    }
    return image;
}

std::string base64(std::string_view bytes) {
    static constexpr std::string_view kDigits =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string text;
    text.reserve((bytes.size() + 2) / 3 * 4);
    for (std::size_t i = 0; i < bytes.size(); i += 3) {
        const auto byte = [&](std::size_t k) {
            return i + k < bytes.size()
                       ? static_cast<std::uint32_t>(static_cast<unsigned char>(bytes[i + k]))
                       : 0U;
        };
        const std::uint32_t three = byte(0) << 16U | byte(1) << 8U | byte(2);
        text += kDigits[three >> 18U & 63U];
        text += kDigits[three >> 12U & 63U];
        text += i + 1 < bytes.size() ? kDigits[three >> 6U & 63U] : '=';
        text += i + 2 < bytes.size() ? kDigits[three & 63U] : '=';
    }
    return text;
}

}  // namespace cavigram
