// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/mass_properties.h"

#include <array>

#include <Eigen/Eigenvalues>

#include "cavigram/core/parallel.h"
#include "cavigram/core/sum.h"
#include "cavigram/geom/triangle.h"

namespace cavigram {

namespace {

constexpr std::size_t kBlock = 16384;

struct Sums {
    CompensatedSum area;                   // of doubled areas
    CompensatedSum volume;                 // of six-fold volumes
    std::array<CompensatedSum, 3> first;   // 24-fold first moments
    std::array<CompensatedSum, 6> second;  // 120-fold second moments: xx yy zz xy yz zx

    void add(const Sums& other) {
        area.add(other.area);
        volume.add(other.volume);
        for (std::size_t i = 0; i < 3; ++i) {
            first[i].add(other.first[i]);
        }
        for (std::size_t i = 0; i < 6; ++i) {
            second[i].add(other.second[i]);
        }
    }
};

// For the tetrahedron (0, a, b, c) with six-fold volume d: integral of x is d (a+b+c)/24, and the
// integral of x x^T is d/120 (a a^T + b b^T + c c^T + s s^T) with s = a+b+c.
void add_tetrahedron(Sums& sums, const Vec3& a, const Vec3& b, const Vec3& c) {
    const double d = a.dot(b.cross(c));
    const Vec3 s = a + b + c;
    sums.volume.add(d);
    for (int i = 0; i < 3; ++i) {
        sums.first[static_cast<std::size_t>(i)].add(d * s[i]);
    }
    const auto moment = [&](int i, int j) {
        return d * (a[i] * a[j] + b[i] * b[j] + c[i] * c[j] + s[i] * s[j]);
    };
    for (int i = 0; i < 3; ++i) {
        sums.second[static_cast<std::size_t>(i)].add(moment(i, i));
        sums.second[static_cast<std::size_t>(i) + 3].add(moment(i, (i + 1) % 3));
    }
}

}  // namespace

MassProperties mass_properties(const TriMesh& mesh, const RunContext& context) {
    MassProperties result;
    result.bounds_mm = bounds(mesh);
    if (result.bounds_mm.isEmpty()) {
        return result;
    }
    const Vec3 origin = result.bounds_mm.center();
    Sums sums;
    for (const Sums& part :
         map_blocks<Sums>(mesh.triangles.size(), kBlock, context, [&](const Block& block) {
             Sums local;
             for (std::size_t t = block.begin; t < block.end; ++t) {
                 const Vec3 a = mesh.corner(t, 0) - origin;
                 const Vec3 b = mesh.corner(t, 1) - origin;
                 const Vec3 c = mesh.corner(t, 2) - origin;
                 local.area.add(double_area_vector(a, b, c).norm());
                 add_tetrahedron(local, a, b, c);
             }
             return local;
         })) {
        sums.add(part);
    }
    result.area_mm2 = sums.area.value() / 2.0;
    result.volume_mm3 = sums.volume.value() / 6.0;
    if (result.volume_mm3 == 0.0) {
        result.centroid_mm = origin;
        return result;
    }
    Vec3 center;
    Mat3 second;
    for (int i = 0; i < 3; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const int j = (i + 1) % 3;
        center[i] = sums.first[k].value() / 24.0 / result.volume_mm3;
        second(i, i) = sums.second[k].value() / 120.0 / result.volume_mm3;
        second(i, j) = second(j, i) = sums.second[k + 3].value() / 120.0 / result.volume_mm3;
    }
    second -= center * center.transpose();
    result.centroid_mm = origin + center;
    result.second_moment_mm2 = second;
    result.inertia_per_mass_mm2 = second.trace() * Mat3::Identity() - second;

    const Eigen::SelfAdjointEigenSolver<Mat3> solver(second);
    Mat3 axes = solver.eigenvectors().rowwise().reverse();
    // A sign for each axis that does not depend on the solver: its largest component is positive.
    for (int i = 0; i < 2; ++i) {
        int largest = 0;
        axes.col(i).cwiseAbs().maxCoeff(&largest);
        if (axes(largest, i) < 0.0) {
            axes.col(i) *= -1.0;
        }
    }
    axes.col(2) = axes.col(0).cross(axes.col(1));
    result.principal_axes = axes;
    return result;
}

}  // namespace cavigram
