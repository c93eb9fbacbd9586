// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <random>
#include <unordered_map>

#include "shapes.h"

namespace cavigram::samples {

namespace {

// A carved head with waves of hair on a short neck that ends in a sawn face: a fragment from a
// ship's bow.
double carving(const Vec3& at) {
    const Vec3 p(at.x(), std::abs(at.y()), at.z());
    double head = ellipsoid(p, Vec3(0, 0, 70), Vec3(44, 36, 50));
    head = blended(head, ellipsoid(p, Vec3(18, 0, 40), Vec3(24, 22, 20)), 14);             // jaw
    head = blended(head, tapered_rod(p, Vec3(38, 0, 80), Vec3(54, 0, 60), 4, 7), 8);       // nose
    head = blended(head, ball(p, Vec3(34, 15, 66), 10), 10);                               // cheeks
    head = blended(head, tapered_rod(p, Vec3(38, 6, 86), Vec3(32, 24, 88), 4, 4), 6);      // brows
    head = blended(head, tapered_rod(p, Vec3(-4, 0, 30), Vec3(-12, 0, -40), 24, 32), 16);  // neck
    const double wave = 3.0 * std::sin(0.22 * p.z() + 0.12 * p.x()) * std::cos(0.2 * p.y());
    const double hair = ellipsoid(p, Vec3(-12, 0, 72), Vec3(50, 43, 56)) - wave;
    const double lock = tapered_rod(p, Vec3(-20, 36, 60), Vec3(-16, 32, 4), 13, 5) - 0.5 * wave;
    const double front =
        at.x() - 16.0 + 0.002 * (p.z() - 70) * (p.z() - 70);  // hair stays off the face
    head = blended(head, std::max(hair, front), 5);
    return blended(head, lock, 8);
}

// Cheap smooth noise: a few waves of random direction.
class Noise {
  public:
    explicit Noise(unsigned seed) {
        std::mt19937 random(seed);
        std::uniform_real_distribution<double> unit(-1.0, 1.0);
        for (auto& wave : waves_) {
            wave.first = 0.9 * Vec3(unit(random), unit(random), unit(random));
            wave.second = 3.0 * unit(random);
        }
    }
    [[nodiscard]] double at(const Vec3& p) const {
        double sum = 0.0;
        for (const auto& [direction, phase] : waves_) {
            sum += std::sin(direction.dot(p) + phase);
        }
        return sum / std::sqrt(static_cast<double>(waves_.size()));
    }

  private:
    std::array<std::pair<Vec3, double>, 12> waves_;
};

std::vector<Vec3> vertex_normals(const TriMesh& mesh) {
    std::vector<Vec3> normals(mesh.vertices.size(), Vec3::Zero());
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Vec3 n =
            (mesh.corner(t, 1) - mesh.corner(t, 0)).cross(mesh.corner(t, 2) - mesh.corner(t, 0));
        for (const std::int32_t v : mesh.triangles[t]) {
            normals[static_cast<std::size_t>(v)] += n;
        }
    }
    for (Vec3& n : normals) {
        n.normalize();
    }
    return normals;
}

constexpr double kSawn_mm = -22.0;

// What no frame of the scanner saw: the sawn face on the table, shadows behind the locks and under
// the chin, and a few triangles for no reason at all.
bool unseen(const Vec3& c, std::mt19937& random) {
    const bool shadow = (c - Vec3(-10, 41, 18)).norm() < 7 || (c - Vec3(-10, -41, 22)).norm() < 5 ||
                        (c - Vec3(20, 0, 20)).norm() < 6 || (c - Vec3(-40, 0, 116)).norm() < 9;
    const bool dropped = !shadow && random() % 900 == 0;
    return shadow || dropped || c.z() < kSawn_mm + 0.5;
}

// The scan's triangles: without what was not seen, a strip with its faces turned, and one frame
// that has its own vertices along the seam, a few hundredths off.
std::vector<Triangle> frames(const TriMesh& truth, TriMesh& scan, std::mt19937& random) {
    std::vector<Triangle> seen;
    std::unordered_map<std::int32_t, std::int32_t> other_frame;
    for (std::size_t t = 0; t < scan.triangles.size(); ++t) {
        const Vec3 c = (truth.corner(t, 0) + truth.corner(t, 1) + truth.corner(t, 2)) / 3.0;
        if (unseen(c, random)) {
            continue;
        }
        Triangle triangle = scan.triangles[t];
        if (c.x() < -30 && std::abs(c.z() - 60) < 9) {
            std::swap(triangle[1], triangle[2]);
        }
        if (c.z() > 95) {
            for (std::int32_t& v : triangle) {
                const auto [entry, is_new] =
                    other_frame.try_emplace(v, static_cast<std::int32_t>(scan.vertices.size()));
                if (is_new) {
                    const Vec3 moved =
                        scan.vertices[static_cast<std::size_t>(v)] + Vec3(0.02, -0.015, 0.01);
                    scan.vertices.push_back(moved);
                }
                v = entry->second;
            }
        }
        seen.push_back(triangle);
    }
    return seen;
}

// Scraps in the air, clear of the part.
void add_scraps(const Field& part, TriMesh& scan, std::mt19937& random) {
    std::uniform_real_distribution<double> unit(-1.0, 1.0);
    for (int scrap = 0; scrap < 9; ++scrap) {
        const Vec3 at(80 * unit(random), 80 * unit(random), 60 + 70 * unit(random));
        if (part(at) < 10.0) {
            continue;
        }
        const auto first = static_cast<std::int32_t>(scan.vertices.size());
        for (int i = 0; i < 3; ++i) {
            scan.vertices.push_back(at + 0.8 * Vec3(unit(random), unit(random), unit(random)));
        }
        scan.triangles.push_back({first, first + 1, first + 2});
    }
}

}  // namespace

Scan figurehead() {
    const Field field = [](const Vec3& p) { return std::max(carving(p), kSawn_mm - p.z()); };
    Scan result;
    result.truth = isosurface(field, Box3{Vec3(-72, -56, kSawn_mm - 4.1), Vec3(72, 56, 140)}, 2.7);

    // The scanner: 0.12 mm of noise, then what it did not see, turned and found beside the part.
    const Noise noise(20);
    const std::vector<Vec3> normals = vertex_normals(result.truth);
    TriMesh scan = result.truth;
    std::mt19937 random(21);
    std::normal_distribution<double> jitter(0.0, 0.08);
    for (std::size_t v = 0; v < scan.vertices.size(); ++v) {
        scan.vertices[v] +=
            (0.09 * noise.at(result.truth.vertices[v]) + jitter(random)) * normals[v];
    }
    scan.triangles = frames(result.truth, scan, random);
    add_scraps(field, scan, random);
    result.scan = std::move(scan);
    return result;
}

}  // namespace cavigram::samples
