// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/view.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace cavigram {

View view_from(const Vec3& toward, const Vec3& up) {
    View view;
    view.toward = toward.normalized();
    Vec3 across = up - up.dot(view.toward) * view.toward;
    // Below this share of its length `up` says nothing but rounding.
    if (across.norm() < 1e-6 * up.norm()) {
        int axis = 0;
        view.toward.cwiseAbs().minCoeff(&axis);
        across = Vec3::Unit(axis) - view.toward[axis] * view.toward;
    }
    view.up = across.normalized();
    view.right = view.up.cross(view.toward);
    return view;
}

View widest_view(const TriMesh& mesh, const Vec3& up) {
    constexpr int kSteps = 36;
    const Vec3 axis = up.normalized();
    // Starting from the eye at -y (or x) keeps the answer the same for parts that are as wide all
    // around.
    const Vec3 first = std::abs(axis.y()) < 0.9 ? Vec3(-Vec3::UnitY()) : Vec3::UnitX();
    const View start = view_from(first - first.dot(axis) * axis, axis);
    View best = start;
    double widest = -1.0;
    for (int i = 0; i < kSteps; ++i) {
        // 0, 5, -5, 10, ... degrees: of equally wide views the one nearest to the start.
        const double angle = (i % 2 == 0 ? -0.5 : 0.5) * (i + i % 2) * std::numbers::pi / kSteps;
        const View view =
            view_from(std::cos(angle) * start.toward + std::sin(angle) * start.right, axis);
        double low = std::numeric_limits<double>::infinity();
        double high = -low;
        for (const Vec3& p : mesh.vertices) {
            const double x = view.right.dot(p);
            low = std::min(low, x);
            high = std::max(high, x);
        }
        // A thousandth more is no reason to turn the part.
        if (high - low > widest * 1.001) {
            widest = high - low;
            best = view;
        }
    }
    return best;
}

View quarter_turned(const View& view) {
    return {-view.toward, view.up, view.right};
}

}  // namespace cavigram
