// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/parting_field.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <Eigen/SparseCholesky>

#include "cavigram/geom/triangle.h"

namespace cavigram {

namespace {

// On the line itself; upper by a hair, so that the line runs across faces beside the vertex.
constexpr double kOnLine = 1e-6;

struct FieldFace {
    Triangle corners{};
    std::array<Vec3, 3> slope;  // of the hat function of each corner, per mm
    double area_mm2 = 0.0;
};

class Smoother {
  public:
    Smoother(const PartingSurface& surface, const std::vector<bool>& upper,
             const std::vector<bool>& either)
        : mesh_(surface.mesh_mm), field_(mesh_.vertices.size(), 0.0), row_(field_.size(), -1) {
        start(upper, either);
        for (const Triangle& t : mesh_.triangles) {
            add_face(t);
        }
    }

    std::vector<double> run(const PartingFieldOptions& options, const RunContext& context) {
        if (rows_ == 0) {
            return std::move(field_);
        }
        std::vector<double> weights(faces_.size(), 1.0);
        for (int step = 0; step <= options.steps; ++step) {
            context.check_stop();
            if (!solve(weights)) {
                break;  // what the step before found stands
            }
            reweight(weights);
        }
        return std::move(field_);
    }

  private:
    // Fixed values, and a first guess for the others: the half that the cut gave them.
    void start(const std::vector<bool>& upper, const std::vector<bool>& either) {
        std::vector<int> fixed(field_.size(), 0);  // bits: 1 upper, 2 lower
        std::vector<int> guess(field_.size(), 0);
        for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
            const int side = upper[t] ? 1 : 2;
            for (const std::int32_t v : mesh_.triangles[t]) {
                const auto i = static_cast<std::size_t>(v);
                fixed[i] |= either[t] ? 0 : side;
                guess[i] += side == 1 ? 1 : -1;
            }
        }
        for (std::size_t v = 0; v < field_.size(); ++v) {
            row_[v] = fixed[v] == 0 ? rows_++ : -1;
            const int side =
                fixed[v] == 0 ? guess[v] : 3 - 2 * fixed[v];  // above 0 or at it: upper
            field_[v] = fixed[v] == 3 ? kOnLine : side >= 0 ? 1.0 : -1.0;
        }
        guess_ = field_;
    }

    void add_face(const Triangle& t) {
        const auto free = [&](std::int32_t v) { return row_[static_cast<std::size_t>(v)] >= 0; };
        const Vec3& a = mesh_.vertices[static_cast<std::size_t>(t[0])];
        const Vec3& b = mesh_.vertices[static_cast<std::size_t>(t[1])];
        const Vec3& c = mesh_.vertices[static_cast<std::size_t>(t[2])];
        const Vec3 twice = double_area_vector(a, b, c);
        const double square = twice.squaredNorm();
        if (!(free(t[0]) || free(t[1]) || free(t[2])) || !(square > 0.0)) {
            return;
        }
        // The hat of a corner rises across the opposite edge: n x edge / (2 area).
        faces_.push_back({t,
                          {twice.cross(c - b) / square, twice.cross(a - c) / square,
                           twice.cross(b - a) / square},
                          0.5 * std::sqrt(square)});
    }

    // The equations of the least squares: one row for each free vertex.
    struct Equations {
        std::vector<Eigen::Triplet<double>> entries;
        Eigen::VectorXd right;
        double trace = 0.0;
    };

    void add_row(Equations& system, const FieldFace& face, std::size_t corner,
                 double weight) const {
        const std::int32_t row = row_[static_cast<std::size_t>(face.corners[corner])];
        if (row < 0) {
            return;
        }
        for (std::size_t j = 0; j < 3; ++j) {
            const auto other = static_cast<std::size_t>(face.corners[j]);
            const double value = weight * face.area_mm2 * face.slope[corner].dot(face.slope[j]);
            if (row_[other] >= 0) {
                system.entries.emplace_back(row, row_[other], value);
            } else {
                system.right[row] -= value * field_[other];
            }
            system.trace += corner == j ? value : 0.0;
        }
    }

    // A little toward the first guess, for pieces that nothing fixed touches.
    void hold_to_guess(Equations& system) const {
        const double hold = 1e-9 * system.trace / rows_;
        for (std::size_t v = 0; v < field_.size(); ++v) {
            if (row_[v] >= 0) {
                system.entries.emplace_back(row_[v], row_[v], hold);
                system.right[row_[v]] += hold * guess_[v];
            }
        }
    }

    bool solve(const std::vector<double>& weights) {
        Equations system;
        system.entries.reserve(9 * faces_.size() + static_cast<std::size_t>(rows_));
        system.right = Eigen::VectorXd::Zero(rows_);
        for (std::size_t f = 0; f < faces_.size(); ++f) {
            for (std::size_t i = 0; i < 3; ++i) {
                add_row(system, faces_[f], i, weights[f]);
            }
        }
        hold_to_guess(system);
        Eigen::SparseMatrix<double> matrix(rows_, rows_);
        matrix.setFromTriplets(system.entries.begin(), system.entries.end());
        if (!analyzed_) {
            solver_.analyzePattern(matrix);
            analyzed_ = true;
        }
        solver_.factorize(matrix);
        if (solver_.info() != Eigen::Success) {
            return false;
        }
        const Eigen::VectorXd found = solver_.solve(system.right);
        if (!found.allFinite()) {
            return false;
        }
        for (std::size_t v = 0; v < field_.size(); ++v) {
            if (row_[v] >= 0) {
                field_[v] = found[row_[v]];
            }
        }
        return true;
    }

    // The inverse of the gradient, no more than a thousand times that of the mean one.
    void reweight(std::vector<double>& weights) const {
        double sum = 0.0;
        double area = 0.0;
        for (std::size_t f = 0; f < faces_.size(); ++f) {
            weights[f] = gradient(faces_[f]);
            sum += weights[f] * faces_[f].area_mm2;
            area += faces_[f].area_mm2;
        }
        const double mean = sum > 0.0 ? sum / area : 1.0;
        for (double& weight : weights) {
            weight = mean / std::max(weight, 1e-3 * mean);
        }
    }

    [[nodiscard]] double gradient(const FieldFace& face) const {
        Vec3 sum = Vec3::Zero();
        for (std::size_t i = 0; i < 3; ++i) {
            sum += field_[static_cast<std::size_t>(face.corners[i])] * face.slope[i];
        }
        return sum.norm();
    }

    const TriMesh& mesh_;
    std::vector<double> field_;
    std::vector<double> guess_;
    std::vector<std::int32_t> row_;  // -1: fixed
    std::int32_t rows_ = 0;
    std::vector<FieldFace> faces_;
    Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> solver_;
    bool analyzed_ = false;
};

}  // namespace

std::vector<double> parting_field(const PartingSurface& surface,
                                  const std::vector<bool>& upper_face,
                                  const std::vector<bool>& either_face,
                                  const PartingFieldOptions& options, const RunContext& context) {
    return Smoother(surface, upper_face, either_face).run(options, context);
}

}  // namespace cavigram
