// SPDX-License-Identifier: GPL-3.0-or-later
#include "shapes.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace cavigram::samples {

using std::numbers::pi;

double ball(const Vec3& p, const Vec3& center, double radius) {
    return (p - center).norm() - radius;
}

double rounded_box(const Vec3& p, const Vec3& center, const Vec3& half_size, double rounding) {
    const Vec3 q = (p - center).cwiseAbs() - half_size + Vec3::Constant(rounding);
    return q.cwiseMax(0.0).norm() + std::min(q.maxCoeff(), 0.0) - rounding;
}

double tapered_rod(const Vec3& p, const Vec3& a, const Vec3& b, double ra, double rb) {
    const double t = std::clamp((p - a).dot(b - a) / (b - a).squaredNorm(), 0.0, 1.0);
    return (p - a - t * (b - a)).norm() - std::lerp(ra, rb, t);
}

double ring(const Vec3& p, const Vec3& center, const Vec3& axis, double ring_radius,
            double tube_radius) {
    const Vec3 d = p - center;
    const double along = d.dot(axis);
    const double across = (d - along * axis).norm() - ring_radius;
    return std::hypot(across, along) - tube_radius;
}

double ellipsoid(const Vec3& p, const Vec3& center, const Vec3& half_axes) {
    const Vec3 q = p - center;
    const double k = q.cwiseQuotient(half_axes).norm();
    const double g = q.cwiseQuotient(half_axes.cwiseProduct(half_axes)).norm();
    return g > 0.0 ? k * (k - 1.0) / g : -half_axes.minCoeff();
}

double blended(double a, double b, double fillet) {
    const double h = std::max(fillet - std::abs(a - b), 0.0) / fillet;
    return std::min(a, b) - 0.25 * fillet * h * h;
}

TriMesh mooring_cleat() {
    const Field field = [](const Vec3& at) {
        // The same on all four quarters.
        const Vec3 p(std::abs(at.x()), std::abs(at.y()), at.z());
        const double base = rounded_box(p, Vec3(0, 0, 8), Vec3(70, 24, 8), 5);
        const double post = tapered_rod(p, Vec3(33, 0, 17), Vec3(26, 0, 46), 15, 12);
        const double waist = tapered_rod(p, Vec3(0, 0, 52), Vec3(40, 0, 52), 14, 13);
        const double horn = tapered_rod(p, Vec3(40, 0, 52), Vec3(100, 0, 64), 13, 7);
        const double arm = blended(waist, horn, 6);
        // The fillets bulge below the foot; it stands flat.
        return std::max(blended(blended(base, post, 10), arm, 12), -at.z());
    };
    return isosurface(field, Box3{Vec3(-113, -31, -6), Vec3(113, 31, 80)}, 2.6);
}

TriMesh hand_lantern() {
    const Field field = [](const Vec3& p) {
        const double r = std::hypot(p.x(), p.y());
        const auto drum = [&](double low, double high, double radius, double rounding) {
            return rounded_box(Vec3(r, 0, p.z()), Vec3(0, 0, 0.5 * (low + high)),
                               Vec3(radius, radius, 0.5 * (high - low)), rounding);
        };
        double body = blended(drum(0, 14, 46, 4), drum(8, 96, 34, 5), 6);
        body = blended(body, drum(92, 104, 42, 4), 5);
        // The roof, a cone with a knob.
        body = blended(body, tapered_rod(p, Vec3(0, 0, 100), Vec3(0, 0, 128), 30, 9), 8);
        // Four bars stand out of the glass.
        const double turn = std::atan2(p.y(), p.x());
        const double quarter = std::remainder(turn, pi / 2);
        const Vec3 bar(r * std::cos(quarter), r * std::sin(quarter), p.z());
        body = blended(body, tapered_rod(bar, Vec3(38, 0, 10), Vec3(38, 0, 98), 4, 4), 4);
        return blended(body, ring(p, Vec3(0, 0, 160), Vec3::UnitY(), 24, 6), 8);
    };
    return isosurface(field, Box3{Vec3(-52, -52, -6), Vec3(52, 52, 196)}, 2.7);
}

Solid ships_bell() {
    // The bell with its crown, open below, revolved around z; the wall is 9 mm at the lip and 6 mm
    // above.
    const std::vector<Vec2> profile = {{0, 76},  {18, 75},  {30, 70},  {38, 60}, {43, 45}, {48, 25},
                                       {55, 8},  {62, 0},   {69, 0},   {70, 4},  {64, 12}, {56, 27},
                                       {50, 46}, {45, 63},  {36, 76},  {22, 84}, {14, 86}, {14, 90},
                                       {18, 96}, {18, 102}, {12, 107}, {0, 108}};
    std::vector<Vec2> fine;
    for (std::size_t i = 0; i + 1 < profile.size(); ++i) {
        const int steps = std::max(1, static_cast<int>((profile[i + 1] - profile[i]).norm() / 2.2));
        for (int k = 0; k < steps; ++k) {
            fine.push_back(profile[i] + (profile[i + 1] - profile[i]) * k / steps);
        }
    }
    fine.push_back(profile.back());
    Solid bell = revolved_solid(fine, 96);
    // The clapper hangs inside without touching: a rod with a ball, a solid of its own.
    std::vector<Vec2> clapper = {{0, 6}};
    for (int i = 1; i < 24; ++i) {
        const double angle = pi * i / 24;
        const Vec2 on_ball(13 * std::sin(angle), 19 - 13 * std::cos(angle));
        if (on_ball.x() < 4.0 && on_ball.y() > 19) {
            break;
        }
        clapper.push_back(on_ball);
    }
    for (const double z : {36.0, 42.0, 48.0, 54.0, 60.0, 66.0}) {
        clapper.emplace_back(4.0, z);
    }
    clapper.emplace_back(0.0, 68.0);
    const Solid hung = revolved_solid(clapper, 48);
    bell.mesh = joined(std::move(bell.mesh), hung.mesh);
    bell.volume_mm3 += hung.volume_mm3;
    bell.area_mm2 += hung.area_mm2;
    return bell;
}

TriMesh rope_coil() {
    // A tube along a helix of two and a half turns; its cross-section is a three-strand rope that
    // twists as it runs. Round ends.
    const double coil = 80.0;
    const double pitch = 40.0;
    const double mean = 15.0;
    const double strand = 1.5;
    const double turns = 2.5;
    const int around = 48;
    const int along = 420;
    const double rise = pitch / (2 * pi);
    TriMesh mesh;
    const auto center = [&](double a) {
        return Vec3(coil * std::cos(a), coil * std::sin(a), rise * a);
    };
    for (int i = 0; i <= along; ++i) {
        const double a = 2 * pi * turns * i / along;
        const Vec3 tangent = Vec3(-coil * std::sin(a), coil * std::cos(a), rise).normalized();
        const Vec3 outward(std::cos(a), std::sin(a), 0);
        const Vec3 upward = tangent.cross(outward);
        for (int k = 0; k < around; ++k) {
            const double t = 2 * pi * k / around;
            const double radius = mean + strand * std::cos(3 * (t - 4 * a));
            mesh.vertices.push_back(center(a) +
                                    radius * (std::cos(t) * outward - std::sin(t) * upward));
        }
    }
    const auto at = [&](int i, int k) {
        return static_cast<std::int32_t>(i * around + (k % around));
    };
    for (int i = 0; i < along; ++i) {
        for (int k = 0; k < around; ++k) {
            mesh.triangles.push_back({at(i, k), at(i + 1, k), at(i + 1, k + 1)});
            mesh.triangles.push_back({at(i, k), at(i + 1, k + 1), at(i, k + 1)});
        }
    }
    for (const int i : {0, along}) {
        const auto middle = static_cast<std::int32_t>(mesh.vertices.size());
        mesh.vertices.push_back(center(2 * pi * turns * i / along));
        for (int k = 0; k < around; ++k) {
            mesh.triangles.push_back(i == 0 ? Triangle{middle, at(i, k), at(i, k + 1)}
                                            : Triangle{middle, at(i, k + 1), at(i, k)});
        }
    }
    return mesh;
}

}  // namespace cavigram::samples
