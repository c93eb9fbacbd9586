// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/cavity/height_volume.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/core/sum.h"

namespace cavigram {

namespace {

// Layers of heights, each with the triangles that reach into it.
constexpr std::size_t kLayers = 1024;

}  // namespace

HeightVolume::HeightVolume(const TriMesh& mesh, const Vec3& up, const RunContext& context) {
    if (!(up.squaredNorm() > 0.0) || !up.allFinite()) {
        throw InvalidInput("The way up must not be zero.");
    }
    up_ = up.stableNormalized();
    if (mesh.triangles.empty()) {
        bin_first_.assign(kLayers + 1, 0);
        area_from_ = moment_from_ = {0.0};
        return;
    }
    take_pieces(mesh, context);
    sum_from_above();
    fill_bins();
}

// Each triangle's heights over the lowest point and its area seen from above, by the lowest corner.
void HeightVolume::take_pieces(const TriMesh& mesh, const RunContext& context) {
    lowest_ = std::numeric_limits<double>::infinity();
    highest_ = -lowest_;
    for (const Triangle& triangle : mesh.triangles) {
        for (const std::int32_t v : triangle) {
            const double height = up_.dot(mesh.vertices[static_cast<std::size_t>(v)]);
            lowest_ = std::min(lowest_, height);
            highest_ = std::max(highest_, height);
        }
    }
    pieces_.resize(mesh.triangles.size());
    for_blocks(pieces_.size(), 16384, context, [&](const Block& block) {
        for (std::size_t t = block.begin; t < block.end; ++t) {
            const Vec3& a = mesh.corner(t, 0);
            const Vec3& b = mesh.corner(t, 1);
            const Vec3& c = mesh.corner(t, 2);
            double h[3] = {up_.dot(a) - lowest_, up_.dot(b) - lowest_, up_.dot(c) - lowest_};
            std::sort(h, h + 3);
            pieces_[t] = {h[2], h[1], h[0], 0.5 * up_.dot((b - a).cross(c - a))};
        }
    });
    std::stable_sort(pieces_.begin(), pieces_.end(),
                     [](const Piece& a, const Piece& b) { return a.bottom < b.bottom; });
    context.check_stop();
}

// Areas and moments of each piece with all that begin no lower.
void HeightVolume::sum_from_above() {
    area_from_.assign(pieces_.size() + 1, 0.0);
    moment_from_.assign(pieces_.size() + 1, 0.0);
    CompensatedSum area;
    CompensatedSum moment;
    for (std::size_t i = pieces_.size(); i-- > 0;) {
        const Piece& p = pieces_[i];
        area.add(p.area);
        moment.add(p.area * (p.top + p.middle + p.bottom) / 3.0);
        area_from_[i] = area.value();
        moment_from_[i] = moment.value();
    }
    volume_ = moment_from_[0];
}

// The pieces that reach into each layer, as rows behind each other.
void HeightVolume::fill_bins() {
    bin_first_.assign(kLayers + 1, 0);
    for (int pass = 0; pass < 2; ++pass) {
        for (std::size_t i = 0; i < pieces_.size(); ++i) {
            for (std::size_t bin = bin_of(pieces_[i].bottom); bin <= bin_of(pieces_[i].top);
                 ++bin) {
                if (pass == 0) {
                    ++bin_first_[bin + 1];
                } else {
                    bin_pieces_[bin_first_[bin]++] = static_cast<std::uint32_t>(i);
                }
            }
        }
        if (pass == 0) {
            for (std::size_t bin = 0; bin < kLayers; ++bin) {
                bin_first_[bin + 1] += bin_first_[bin];
            }
            bin_pieces_.resize(bin_first_[kLayers]);
        } else {
            // Filling has moved each layer's start to its end.
            for (std::size_t bin = kLayers; bin > 0; --bin) {
                bin_first_[bin] = bin_first_[bin - 1];
            }
            bin_first_[0] = 0;
        }
    }
}

std::size_t HeightVolume::bin_of(double height) const {
    const double span = highest_ - lowest_;
    const double share = span > 0.0 ? height / span * static_cast<double>(kLayers) : 0.0;
    return static_cast<std::size_t>(std::clamp(share, 0.0, static_cast<double>(kLayers - 1)));
}

// Volume above a height over the lowest point, and area of the section there.
HeightVolume::Sums HeightVolume::above(double s) const {
    // Pieces that lie wholly at or above s.
    const auto whole = static_cast<std::size_t>(
        std::lower_bound(pieces_.begin(), pieces_.end(), s,
                         [](const Piece& piece, double height) { return piece.bottom < height; }) -
        pieces_.begin());
    CompensatedSum volume;
    CompensatedSum area;
    volume.add(moment_from_[whole]);
    volume.add(-s * area_from_[whole]);
    area.add(area_from_[whole]);
    const std::size_t bin = bin_of(s);
    for (std::size_t k = bin_first_[bin]; k < bin_first_[bin + 1]; ++k) {
        const Piece& p = pieces_[bin_pieces_[k]];
        if (p.bottom >= s || p.top <= s) {
            continue;
        }
        if (s >= p.middle) {
            const double d = p.top - s;
            const double share = d * d / ((p.top - p.middle) * (p.top - p.bottom));
            area.add(p.area * share);
            volume.add(p.area * share * d / 3.0);
        } else {
            const double d = s - p.bottom;
            const double below = d * d / ((p.top - p.bottom) * (p.middle - p.bottom));
            area.add(p.area * (1.0 - below));
            volume.add(p.area * ((p.top + p.middle + p.bottom) / 3.0 - s + below * d / 3.0));
        }
    }
    return {volume.value(), area.value()};
}

double HeightVolume::volume_below_mm3(double level_mm) const {
    if (!(level_mm > lowest_)) {
        return 0.0;
    }
    return level_mm >= highest_ ? volume_ : volume_ - above(level_mm - lowest_).volume;
}

double HeightVolume::section_area_mm2(double level_mm) const {
    return level_mm < lowest_ || level_mm >= highest_ ? 0.0 : above(level_mm - lowest_).area;
}

double HeightVolume::level_for_volume_mm(double volume_mm3) const {
    if (!(volume_mm3 > 0.0)) {
        return lowest_;
    }
    if (volume_mm3 >= volume_) {
        return highest_;
    }
    // Newton steps kept inside a bracket that halves whenever they leave it.
    double low = 0.0;
    double high = highest_ - lowest_;
    double s = high * volume_mm3 / volume_;
    for (int step = 0;
         step < 200 && high - low > 4.0 * std::numeric_limits<double>::epsilon() * high; ++step) {
        const Sums sums = above(s);
        const double excess = (volume_ - sums.volume) - volume_mm3;
        (excess < 0.0 ? low : high) = s;
        if (std::abs(excess) <= 1e-15 * volume_) {
            break;
        }
        const double newton = sums.area > 0.0 ? s - excess / sums.area : low;
        const double next = newton > low && newton < high ? newton : 0.5 * (low + high);
        if (next == s) {
            break;
        }
        s = next;
    }
    return lowest_ + s;
}

}  // namespace cavigram
