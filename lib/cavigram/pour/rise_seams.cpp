// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_seams.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <utility>

namespace cavigram {

namespace {

constexpr std::size_t kLeastFaces = 8;
constexpr std::size_t kMostSeams = 5;
constexpr double kHeadOn = -0.5;  // cosine of 120 degrees

// A face in which fronts meet: of the cell on its lower side.
struct MeetingFace {
    std::int32_t cell = -1;
    std::size_t axis = 0;
};

// The direction in which foam ran through a cell: along rising times.
Vec3 direction(const RiseGrid& grid, const std::vector<double>& arrival_s, std::int32_t cell) {
    const auto c = static_cast<std::size_t>(cell);
    const auto time = [&](std::size_t side) {
        const std::int32_t n = grid.neighbor[c][side];
        const double t = n < 0 ? std::numeric_limits<double>::infinity()
                               : arrival_s[static_cast<std::size_t>(n)];
        return std::isinf(t) ? arrival_s[c] : t;
    };
    Vec3 slope(time(1) - time(0), time(3) - time(2), time(5) - time(4));
    // One-sided beside a wall: over one cell instead of two.
    for (std::size_t axis = 0; axis < 3; ++axis) {
        if ((grid.neighbor[c][2 * axis] < 0) != (grid.neighbor[c][2 * axis + 1] < 0)) {
            slope[static_cast<Eigen::Index>(axis)] *= 2.0;
        }
    }
    const double steep = slope.norm();
    return steep > 0.0 ? Vec3(slope / steep) : Vec3(Vec3::Zero());
}

bool meets(const RiseGrid& grid, const std::vector<double>& arrival_s, std::int32_t cell,
           std::size_t axis) {
    const auto c = static_cast<std::size_t>(cell);
    const std::int32_t beyond = grid.neighbor[c][2 * axis + 1];
    if (beyond < 0) {
        return false;
    }
    const auto n = static_cast<std::size_t>(beyond);
    const std::int32_t behind_c = grid.neighbor[c][2 * axis];
    const std::int32_t behind_n = grid.neighbor[n][2 * axis + 1];
    if (behind_c < 0 || behind_n < 0 || std::isinf(arrival_s[c]) || std::isinf(arrival_s[n]) ||
        !(arrival_s[static_cast<std::size_t>(behind_c)] < arrival_s[c]) ||
        !(arrival_s[static_cast<std::size_t>(behind_n)] < arrival_s[n])) {
        return false;
    }
    return direction(grid, arrival_s, behind_c).dot(direction(grid, arrival_s, behind_n)) < kHeadOn;
}

// Faces by their lower cells; where a middle cell is the latest, both of its faces would meet, and
// one counts.
std::vector<MeetingFace> meeting_faces(const RiseGrid& grid, const std::vector<double>& arrival_s) {
    std::vector<MeetingFace> faces;
    std::vector<std::array<std::uint8_t, 3>> taken(grid.size(), {0, 0, 0});
    for (std::size_t c = 0; c < grid.size(); ++c) {
        for (std::size_t axis = 0; axis < 3; ++axis) {
            const auto cell = static_cast<std::int32_t>(c);
            if (taken[c][axis] == 0 && meets(grid, arrival_s, cell, axis)) {
                faces.push_back({cell, axis});
                taken[static_cast<std::size_t>(grid.neighbor[c][2 * axis + 1])][axis] = 1;
            }
        }
    }
    return faces;
}

// Of the two cells beside a face the one that foam reaches later: in it the fronts meet.
std::size_t later_cell(const RiseGrid& grid, const std::vector<double>& arrival_s,
                       const MeetingFace& face) {
    const auto c = static_cast<std::size_t>(face.cell);
    const auto n = static_cast<std::size_t>(grid.neighbor[c][2 * face.axis + 1]);
    return arrival_s[n] > arrival_s[c] ? n : c;
}

RiseSeam seam_of(const RiseGrid& grid, const std::vector<double>& arrival_s,
                 const std::vector<MeetingFace>& faces) {
    RiseSeam seam;
    seam.time_s = std::numeric_limits<double>::infinity();
    Vec3 area = Vec3::Zero();
    Vec3 middle = Vec3::Zero();
    for (const MeetingFace& face : faces) {
        const auto c = static_cast<std::size_t>(face.cell);
        area[static_cast<Eigen::Index>(face.axis)] +=
            grid.open_share[c][face.axis] * grid.spacing_mm * grid.spacing_mm;
        const std::size_t last = later_cell(grid, arrival_s, face);
        middle += grid.center_mm(last) / static_cast<double>(faces.size());
        seam.time_s = std::min(seam.time_s, arrival_s[last]);
    }
    // Steps of a slanting plane add up by their projections.
    seam.area_mm2 = area.norm();
    double nearest = std::numeric_limits<double>::infinity();
    for (const MeetingFace& face : faces) {
        const Vec3 at = grid.center_mm(later_cell(grid, arrival_s, face));
        if ((at - middle).norm() < nearest) {
            nearest = (at - middle).norm();
            seam.at_mm = at;
        }
    }
    return seam;
}

// Faces that touch, at corners too, piece by piece.
std::vector<std::vector<MeetingFace>> pieces_of(const RiseGrid& grid,
                                                const std::vector<MeetingFace>& faces) {
    const CellFinder finder(grid);
    std::vector<std::vector<std::size_t>> at_cell(grid.size());
    for (std::size_t f = 0; f < faces.size(); ++f) {
        at_cell[static_cast<std::size_t>(faces[f].cell)].push_back(f);
    }
    std::vector<std::uint8_t> seen(faces.size(), 0);
    const auto beside = [&](const MeetingFace& face, std::vector<MeetingFace>& piece) {
        const CellPlace& p = grid.place[static_cast<std::size_t>(face.cell)];
        for (std::int32_t step = 0; step < 27; ++step) {
            const std::int32_t next =
                finder.at({p[0] + step % 3 - 1, p[1] + step / 3 % 3 - 1, p[2] + step / 9 - 1});
            if (next < 0) {
                continue;
            }
            for (const std::size_t f : at_cell[static_cast<std::size_t>(next)]) {
                if (seen[f] == 0) {
                    seen[f] = 1;
                    piece.push_back(faces[f]);
                }
            }
        }
    };
    std::vector<std::vector<MeetingFace>> pieces;
    for (std::size_t first = 0; first < faces.size(); ++first) {
        if (seen[first] != 0) {
            continue;
        }
        seen[first] = 1;
        std::vector<MeetingFace> piece{faces[first]};
        for (std::size_t i = 0; i < piece.size(); ++i) {
            beside(MeetingFace(piece[i]), piece);
        }
        pieces.push_back(std::move(piece));
    }
    return pieces;
}

}  // namespace

std::vector<RiseSeam> meeting_seams(const RiseGrid& grid, const std::vector<double>& arrival_s) {
    std::vector<RiseSeam> seams;
    for (const std::vector<MeetingFace>& piece : pieces_of(grid, meeting_faces(grid, arrival_s))) {
        if (piece.size() >= kLeastFaces) {
            seams.push_back(seam_of(grid, arrival_s, piece));
        }
    }
    std::stable_sort(seams.begin(), seams.end(),
                     [](const RiseSeam& a, const RiseSeam& b) { return a.area_mm2 > b.area_mm2; });
    seams.resize(std::min(seams.size(), kMostSeams));
    return seams;
}

}  // namespace cavigram
