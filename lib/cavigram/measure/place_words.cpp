// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/place_words.h"

#include <algorithm>
#include <cmath>

#include "cavigram/core/told.h"

namespace cavigram {

namespace {

constexpr double kEquallyLong = 0.95;   // of the longest side
constexpr double kUpright = 0.985;      // cosine of 10 degrees
constexpr double kOnSide = 0.02;        // of the box's side
constexpr double kAtEnd = 0.05;         // of the length: samples stop short of rims and tips
constexpr double kAllAlong = 0.8;       // of the length
constexpr double kSameMirrored = 0.05;  // of the longest side

std::string signed_axis(int axis, bool plus) {
    return std::string(1, plus ? '+' : '-') + static_cast<char>('x' + axis);
}

// A length as a ruler reads it, to the tenth of a millimeter below 10 and to the millimeter above.
struct Ruled {
    explicit Ruled(double length_mm)
        : mm(std::abs(length_mm) < 9.95 ? std::round(10.0 * length_mm) / 10.0
                                        : std::round(length_mm)) {
        const int whole = mm < 1.0 ? 0 : 1 + static_cast<int>(std::floor(std::log10(mm)));
        digits = mm < 10.0 ? whole + 1 : whole;
    }
    [[nodiscard]] std::string text() const { return told_own(mm, Kind::length, digits); }
    [[nodiscard]] std::string end() const { return told_end(mm, Kind::length, digits); }

    double mm;
    int digits = 1;
};

std::string ruled(double mm) {
    return Ruled(mm).text();
}

// "the +y side", "the top".
std::string side_name(const PlaceFrame& frame, int axis, bool plus) {
    if (frame.up_axis == axis) {
        return plus == frame.up_is_plus ? "the top" : "the bottom";
    }
    return "the " + signed_axis(axis, plus) + " side";
}

// Called so even where the long axis stands upright: "the bottom" of a lantern is its end.
std::string end_name(const PlaceFrame& frame, bool plus) {
    if (frame.up_axis == frame.long_axis) {
        return plus == frame.up_is_plus ? "the top" : "the bottom";
    }
    return "the " + signed_axis(frame.long_axis, plus) + " end";
}

// A stretch of the long axis as told from its nearer end.
struct Stretch {
    bool plus = false;  // the end
    double from = 0.0;  // distances from it
    double to = 0.0;
};

Stretch stretch_of(const PlaceFrame& frame, const Box3& extent) {
    const int a = frame.long_axis;
    const double below = extent.min()[a] - frame.bounds_mm.min()[a];
    const double above = frame.bounds_mm.max()[a] - extent.max()[a];
    const double length = extent.max()[a] - extent.min()[a];
    return below <= above ? Stretch{false, below, below + length}
                          : Stretch{true, above, above + length};
}

// The part of a region's words that tells where along the part; none of the ends named when both
// are meant.
std::string along_words(const PlaceFrame& frame, const Stretch& stretch, bool both_ends) {
    const double length = frame.bounds_mm.sizes()[frame.long_axis];
    const std::string end = both_ends ? "each end" : end_name(frame, stretch.plus);
    if (stretch.from <= kAtEnd * length && stretch.to <= 0.5 * length) {
        return (both_ends ? std::string("both ends") : "at " + end) + ", last " + ruled(stretch.to);
    }
    if (stretch.to - stretch.from >= kAllAlong * length) {
        return "all along";
    }
    if (Ruled(stretch.from).mm == Ruled(stretch.to).mm) {
        return ruled(stretch.from) + " from " + end;
    }
    return "from " + Ruled(stretch.from).end() + " to " + ruled(stretch.to) + " from " + end;
}

// The sides that a region lies wholly to, but for `left_out`.
std::string side_words(const PlaceFrame& frame, const Box3& extent, int left_out) {
    std::string words;
    const Vec3 middle = 0.5 * (frame.bounds_mm.min() + frame.bounds_mm.max());
    for (int axis = 0; axis < 3; ++axis) {
        if (axis == frame.long_axis || axis == left_out) {
            continue;
        }
        // Wholly on one half; what just touches the middle, as a flat place in it, is on neither.
        const double slack = kOnSide * frame.bounds_mm.sizes()[axis];
        if (extent.min()[axis] > middle[axis] + slack ||
            extent.max()[axis] < middle[axis] - slack) {
            words += (words.empty() ? ", toward " : " and ") +
                     side_name(frame, axis, extent.min()[axis] > middle[axis]);
        }
    }
    return words;
}

Box3 mirrored(const PlaceFrame& frame, Box3 box, int axis) {
    const double sum = frame.bounds_mm.min()[axis] + frame.bounds_mm.max()[axis];
    const double low = box.min()[axis];
    box.min()[axis] = sum - box.max()[axis];
    box.max()[axis] = sum - low;
    return box;
}

}  // namespace

PlaceFrame place_frame(const MassProperties& mass, const std::optional<Vec3>& up) {
    PlaceFrame frame;
    frame.bounds_mm = mass.bounds_mm;
    const Vec3 size = mass.bounds_mm.sizes();
    const Vec3 slender = mass.principal_axes.col(0).cwiseAbs();
    double best = -1.0;
    for (int axis = 0; axis < 3; ++axis) {
        if (size[axis] >= kEquallyLong * size.maxCoeff() && slender[axis] > best + 1e-9) {
            best = slender[axis];
            frame.long_axis = axis;
        }
    }
    if (up && up->norm() > 0.0) {
        for (int axis = 0; axis < 3; ++axis) {
            if (std::abs((*up)[axis]) >= kUpright * up->norm()) {
                frame.up_axis = axis;
                frame.up_is_plus = (*up)[axis] > 0.0;
            }
        }
    }
    return frame;
}

PlaceWords place_words(const PlaceFrame& frame, const Vec3& at_mm) {
    const Stretch stretch = stretch_of(frame, {at_mm, at_mm});
    PlaceWords place;
    place.end = signed_axis(frame.long_axis, stretch.plus);
    place.from_end_mm = place.to_end_mm = stretch.from;
    const Vec3 size = frame.bounds_mm.sizes();
    const std::string end = end_name(frame, stretch.plus);
    place.words = stretch.from <= kOnSide * size[frame.long_axis]
                      ? "at " + end
                      : ruled(stretch.from) + " from " + end;
    for (int axis = 0; axis < 3; ++axis) {
        if (axis == frame.long_axis) {
            continue;
        }
        const double below = at_mm[axis] - frame.bounds_mm.min()[axis];
        const double above = frame.bounds_mm.max()[axis] - at_mm[axis];
        const std::string side = side_name(frame, axis, above < below);
        const double off = std::min(below, above);
        place.words +=
            off <= kOnSide * size[axis] ? ", on " + side : ", " + ruled(off) + " from " + side;
    }
    return place;
}

PlaceWords place_words(const PlaceFrame& frame, const Box3& extent_mm) {
    const Stretch stretch = stretch_of(frame, extent_mm);
    PlaceWords place;
    place.end = signed_axis(frame.long_axis, stretch.plus);
    place.from_end_mm = stretch.from;
    place.to_end_mm = stretch.to;
    place.words = along_words(frame, stretch, false) + side_words(frame, extent_mm, -1);
    return place;
}

std::optional<std::string> pair_words(const PlaceFrame& frame, const Box3& one_mm,
                                      const Box3& other_mm) {
    const double most = kSameMirrored * frame.bounds_mm.sizes().maxCoeff();
    const auto same = [&](const Box3& a, const Box3& b) {
        return (a.min() - b.min()).cwiseAbs().maxCoeff() <= most &&
               (a.max() - b.max()).cwiseAbs().maxCoeff() <= most;
    };
    // The long axis first: ends are easier to find than sides.
    for (int i = 0; i < 3; ++i) {
        const int axis = (frame.long_axis + i) % 3;
        const Box3 image = mirrored(frame, other_mm, axis);
        // Two regions that each lie across the middle are no pair.
        const bool apart =
            one_mm.max()[axis] < other_mm.min()[axis] || other_mm.max()[axis] < one_mm.min()[axis];
        if (!apart || !same(one_mm, image)) {
            continue;
        }
        Stretch stretch = stretch_of(frame, one_mm);
        if (axis == frame.long_axis) {
            const Stretch other = stretch_of(frame, other_mm);
            stretch.from = std::min(stretch.from, other.from);
            stretch.to = std::max(stretch.to, other.to);
            return along_words(frame, stretch, true) + side_words(frame, one_mm, -1);
        }
        const std::string sides =
            frame.up_axis == axis
                ? "top and bottom"
                : "both sides, " + signed_axis(axis, false) + " and " + signed_axis(axis, true);
        return sides + ", " + along_words(frame, stretch, false) + side_words(frame, one_mm, axis);
    }
    return std::nullopt;
}

}  // namespace cavigram
