// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/handling/droop.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cavigram/core/constants.h"

namespace cavigram {

namespace {

constexpr double kShearShare = 5.0 / 6.0;  // of a section's area (Timoshenko)
constexpr double kShearOverYoung = 3.0 / 8.0;

double newtons(double g) {
    return g * 1e-3 * kGravity_m_s2;
}

// What one element gives way by, per N mm and per N, in the part's coordinates.
struct Compliance {
    Mat3 turn = Mat3::Zero();   // moment to curvature, 1/(N mm2)
    Mat3 shear = Mat3::Zero();  // force to shear strain, 1/N
};

// With strain eps = kx y - ky x the moments are Mx = int E eps y and My = -int E eps x.
Compliance compliance_of(const BeamElement& element, const DroopOptions& options) {
    Rigidity r = scaled(element.foam, options.foam_factor);
    if (element.rod) {
        r = acting_together(r, *element.rod);
    }
    Eigen::Matrix2d bending;
    bending << r.ei_n_mm2(1, 1), -r.ei_n_mm2(0, 1), -r.ei_n_mm2(0, 1), r.ei_n_mm2(0, 0);
    Mat3 local = Mat3::Zero();
    local.topLeftCorner<2, 2>() = bending.inverse();
    local(2, 2) = r.gj_n_mm2 > 0.0 ? 1.0 / r.gj_n_mm2 : 0.0;
    Mat3 axes;
    axes << element.frame.x, element.frame.y, element.frame.z;
    Mat3 across = Mat3::Zero();
    const double shear_n = kShearShare * kShearOverYoung * r.ea_n;
    across(0, 0) = across(1, 1) = options.shear && shear_n > 0.0 ? 1.0 / shear_n : 0.0;
    return {axes * local * axes.transpose(), axes * across * axes.transpose()};
}

Mat3 turned_by(const Vec3& angle) {
    const double a = angle.norm();
    return a < 1e-300 ? Mat3::Identity() : Eigen::AngleAxisd(a, angle / a).toRotationMatrix();
}

// One arm of a beam, from where it is clamped to its free end: elements in that order.
class Arm {
  public:
    Arm(std::vector<BeamElement> elements, const DroopOptions& options)
        : elements_(std::move(elements)) {
        for (const BeamElement& e : elements_) {
            length_ += (e.to_mm - e.from_mm).norm();
            compliance_.push_back(compliance_of(e, options));
        }
    }

    [[nodiscard]] bool empty() const { return elements_.empty(); }
    [[nodiscard]] double length_mm() const { return length_; }
    [[nodiscard]] std::size_t size() const { return elements_.size(); }

    // A force at the node before element i, besides the weights.
    void set_force(std::size_t i, const Vec3& n) {
        force_at_ = i;
        force_ = n;
    }

    struct Shape {
        std::vector<Vec3> moved_mm;      // of each node
        Mat3 turned = Mat3::Identity();  // of the end
        bool settled = true;
    };

    // By small deflections: moments of the straight shape, turns and ways added up.
    [[nodiscard]] Shape small(const Vec3& down) const {
        const std::vector<Mat3> upright(size(), Mat3::Identity());
        const std::vector<Vec3> still(size() + 1, Vec3::Zero());
        const std::vector<Load> loads = loads_of(upright, still, down);
        Shape shape;
        shape.moved_mm.push_back(Vec3::Zero());
        Vec3 turn = Vec3::Zero();
        for (std::size_t k = 0; k < size(); ++k) {
            const Vec3 along = elements_[k].to_mm - elements_[k].from_mm;
            const double h = along.norm();
            const Vec3 bend = h * (compliance_[k].turn * loads[k].moment);
            shape.moved_mm.push_back(shape.moved_mm.back() + (turn + 0.5 * bend).cross(along) +
                                     h * (compliance_[k].shear * loads[k].force));
            turn += bend;
        }
        shape.turned = turned_by(turn);
        return shape;
    }

    // The bent shape in balance with its own weights, by repetition.
    [[nodiscard]] Shape large(const Vec3& down, double linear_drop_mm) const {
        // For a uniform beam the small droop is W/8 of its length, and the correction that one
        // repetition makes grows with W: taken so much shorter it does not overshoot.
        const double relax = 1.0 / (1.0 + 1.5 * linear_drop_mm / length_);
        constexpr int kMost = 20000;
        std::vector<Vec3> curvature(size(), Vec3::Zero());
        for (int i = 0; i < kMost; ++i) {
            const Bent bent = bent_by(curvature);
            const std::vector<Load> loads = loads_of(bent.middle, bent.moved, down);
            double change = 0.0;
            double most = 0.0;
            for (std::size_t k = 0; k < size(); ++k) {
                const Mat3& turned = bent.middle[k];
                const Vec3 wanted = compliance_[k].turn * (turned.transpose() * loads[k].moment);
                const Vec3 step = wanted - curvature[k];
                curvature[k] += relax * step;
                change = std::max(change, step.norm());
                most = std::max(most, wanted.norm());
            }
            if (change <= 1e-9 * most) {
                return with_shear(curvature, down);
            }
        }
        Shape shape;
        shape.settled = false;
        return shape;
    }

    // What the weights do about a point.
    [[nodiscard]] Vec3 moment_about(const Vec3& at_mm, const Vec3& down) const {
        Vec3 sum = Vec3::Zero();
        for (const BeamElement& e : elements_) {
            sum += (e.mass_at_mm - at_mm).cross(newtons(e.mass_g) * down);
        }
        return sum;
    }

  private:
    struct Load {
        Vec3 moment = Vec3::Zero();
        Vec3 force = Vec3::Zero();
    };
    struct Bent {
        std::vector<Mat3> middle;  // how each element's middle is turned
        std::vector<Vec3> moved;   // of each node
        Mat3 end = Mat3::Identity();
    };

    // At the middle of each element: all that lies beyond, the outer half of the element itself
    // being half its mass, moved outward by a quarter of its length.
    [[nodiscard]] std::vector<Load> loads_of(const std::vector<Mat3>& turned,
                                             const std::vector<Vec3>& moved,
                                             const Vec3& down) const {
        std::vector<Load> loads(size());
        Vec3 force = Vec3::Zero();
        Vec3 about_origin = Vec3::Zero();
        const auto carry = [&](const Vec3& at, const Vec3& n) {
            force += n;
            about_origin += at.cross(n);
        };
        for (std::size_t k = size(); k-- > 0;) {
            const BeamElement& e = elements_[k];
            if (force_at_ == k + 1) {
                carry(e.to_mm + moved[k + 1], force_);
            }
            const Vec3 middle = 0.5 * (e.from_mm + e.to_mm) + 0.5 * (moved[k] + moved[k + 1]);
            const Vec3 off = turned[k] * (e.mass_at_mm - 0.5 * (e.from_mm + e.to_mm));
            const Vec3 quarter = 0.25 * (turned[k] * (e.to_mm - e.from_mm));
            const Vec3 half = 0.5 * newtons(e.mass_g) * down;
            carry(middle + off + quarter, half);
            loads[k] = {about_origin - middle.cross(force), force};
            carry(middle + off - quarter, half);
        }
        return loads;
    }

    [[nodiscard]] Bent bent_by(const std::vector<Vec3>& curvature) const {
        Bent bent;
        bent.moved.push_back(Vec3::Zero());
        for (std::size_t k = 0; k < size(); ++k) {
            const Vec3 along = elements_[k].to_mm - elements_[k].from_mm;
            const Mat3 half = turned_by(0.5 * along.norm() * curvature[k]);
            bent.middle.push_back(bent.end * half);
            bent.moved.push_back(bent.moved.back() + bent.middle.back() * along - along);
            bent.end = bent.middle.back() * half;
        }
        return bent;
    }

    [[nodiscard]] Shape with_shear(const std::vector<Vec3>& curvature, const Vec3& down) const {
        Bent bent = bent_by(curvature);
        const std::vector<Load> loads = loads_of(bent.middle, bent.moved, down);
        Vec3 sheared = Vec3::Zero();
        for (std::size_t k = 0; k < size(); ++k) {
            const Mat3& turned = bent.middle[k];
            const double h = (elements_[k].to_mm - elements_[k].from_mm).norm();
            sheared +=
                h * (turned * (compliance_[k].shear * (turned.transpose() * loads[k].force)));
            bent.moved[k + 1] += sheared;
        }
        return {bent.moved, bent.end, true};
    }

    std::vector<BeamElement> elements_;
    std::vector<Compliance> compliance_;
    double length_ = 0.0;
    std::size_t force_at_ = 0;  // 0: none
    Vec3 force_ = Vec3::Zero();
};

std::vector<BeamElement> outward(std::span<const BeamElement> elements, bool reversed) {
    if (!reversed) {
        return {elements.begin(), elements.end()};
    }
    std::vector<BeamElement> arm;
    arm.reserve(elements.size());
    for (std::size_t i = elements.size(); i-- > 0;) {
        arm.push_back(elements[i]);
        std::swap(arm.back().from_mm, arm.back().to_mm);
    }
    return arm;
}

double turned_deg(const Mat3& turned) {
    return Eigen::AngleAxisd(turned).angle() * 180.0 / std::numbers::pi;
}

DroopSpan span_of(const Arm& arm, const Vec3& down, bool wants_large, Arm::Shape& shape) {
    shape = arm.small(down);
    DroopSpan span;
    span.length_mm = arm.length_mm();
    span.linear_droop_mm = shape.moved_mm.back().dot(down);
    if (wants_large && span.linear_droop_mm > 0.0) {
        Arm::Shape bent = arm.large(down, span.linear_droop_mm);
        span.settled = bent.settled;
        if (bent.settled) {
            shape = std::move(bent);
        }
    }
    span.moved_mm = shape.moved_mm.back();
    span.droop_mm = span.moved_mm.dot(down);
    span.slope_deg = turned_deg(shape.turned);
    return span;
}

Droop held_once(std::span<const BeamElement> elements, const Vec3& down,
                const DroopOptions& options) {
    const std::size_t grip = options.grip;
    const Arm first(outward(elements.first(grip), true), options);
    const Arm last(outward(elements.subspan(grip), false), options);
    Droop result;
    result.moved_mm.assign(elements.size() + 1, Vec3::Zero());
    Arm::Shape shape;
    if (!first.empty()) {
        result.spans.push_back(span_of(first, down, options.large, shape));
        result.spans.back().is = DroopSpan::Is::first_end;
        result.spans.back().node = 0;
        std::reverse_copy(shape.moved_mm.begin(), shape.moved_mm.end(), result.moved_mm.begin());
    }
    if (!last.empty()) {
        result.spans.push_back(span_of(last, down, options.large, shape));
        result.spans.back().node = elements.size();
        std::copy(shape.moved_mm.begin(), shape.moved_mm.end(),
                  result.moved_mm.begin() + static_cast<std::ptrdiff_t>(grip));
    }
    return result;
}

// The beam on two hinges a and b that let it turn about the level line across them: without a
// moment about that line at a, the second hand carries what all weights do about a over the lever;
// then the beam turns about a until b is where the hand is.
Droop held_twice(std::span<const BeamElement> elements, const Vec3& down,
                 const DroopOptions& options) {
    const auto [a, b] = std::minmax(options.grip, *options.second_grip);
    const auto node = [&](std::size_t i) {
        return i < elements.size() ? elements[i].from_mm : elements.back().to_mm;
    };
    const Vec3 lever = node(b) - node(a);
    const Vec3 axis = lever.cross(down).normalized();
    const Arm first(outward(elements.first(a), true), options);
    Arm last(outward(elements.subspan(a), false), options);
    const double weights =
        axis.dot(first.moment_about(node(a), down) + last.moment_about(node(a), down));
    last.set_force(b - a, -weights / axis.dot(lever.cross(down)) * down);

    Droop result;
    result.moved_mm.assign(elements.size() + 1, Vec3::Zero());
    Arm::Shape shape = last.small(down);
    std::copy(shape.moved_mm.begin(), shape.moved_mm.end(),
              result.moved_mm.begin() + static_cast<std::ptrdiff_t>(a));
    const double sunk = result.moved_mm[b].dot(down);
    const Vec3 turn = -sunk / axis.cross(lever).dot(down) * axis;
    if (!first.empty()) {
        const Arm::Shape other = first.small(down);
        std::reverse_copy(other.moved_mm.begin(), other.moved_mm.end(), result.moved_mm.begin());
    }
    for (std::size_t i = 0; i <= elements.size(); ++i) {
        result.moved_mm[i] += turn.cross(node(i) - node(a));
    }
    const auto add = [&](DroopSpan::Is is, std::size_t from, std::size_t to, std::size_t at) {
        DroopSpan span;
        span.is = is;
        span.node = at;
        for (std::size_t i = from; i < to; ++i) {
            span.length_mm += (elements[i].to_mm - elements[i].from_mm).norm();
        }
        span.moved_mm = result.moved_mm[at];
        span.droop_mm = span.linear_droop_mm = span.moved_mm.dot(down);
        const std::size_t next = std::clamp<std::size_t>(at, 1, elements.size());
        const Vec3 along = node(next) - node(next - 1);
        const Vec3 now = along + result.moved_mm[next] - result.moved_mm[next - 1];
        span.slope_deg =
            std::atan2(along.cross(now).norm(), along.dot(now)) * 180.0 / std::numbers::pi;
        result.spans.push_back(span);
    };
    if (a > 0) {
        add(DroopSpan::Is::first_end, 0, a, 0);
    }
    std::size_t lowest = a;
    for (std::size_t i = a; i <= b; ++i) {
        lowest = result.moved_mm[i].dot(down) > result.moved_mm[lowest].dot(down) ? i : lowest;
    }
    add(DroopSpan::Is::between, a, b, lowest);
    if (b < elements.size()) {
        add(DroopSpan::Is::last_end, b, elements.size(), elements.size());
    }
    return result;
}

}  // namespace

Droop droop(std::span<const BeamElement> elements, const Vec3& down, const DroopOptions& options) {
    if (elements.empty()) {
        return {};
    }
    const Vec3 unit = down.normalized();
    return options.second_grip && *options.second_grip != options.grip
               ? held_twice(elements, unit, options)
               : held_once(elements, unit, options);
}

Vec3 worst_way_down(std::span<const BeamElement> elements, const DroopOptions& options) {
    DroopOptions quick = options;
    quick.large = false;
    const Frame across = frame_along(elements.back().to_mm - elements.front().from_mm);
    constexpr int kWays = 24;
    Vec3 worst = -across.y;
    double most = -1.0;
    for (int i = 0; i < kWays; ++i) {
        const double a = 2.0 * std::numbers::pi * i / kWays;
        const Vec3 down = std::cos(a) * across.x + std::sin(a) * across.y;
        double largest = 0.0;
        for (const DroopSpan& span : droop(elements, down, quick).spans) {
            largest = std::max(largest, span.share());
        }
        if (largest > most * (1.0 + 1e-9)) {
            most = largest;
            worst = down;
        }
    }
    return worst;
}

}  // namespace cavigram
