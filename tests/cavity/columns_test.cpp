// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/cavity/columns.h"

#include <cmath>
#include <random>

#include "cavigram/core/error.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/spatial/triangle_bvh.h"

#include "cavity/column_volumes.h"
#include "support/near.h"

using namespace cavigram;

namespace {

Mat3 rotation(double angle) {
    return Eigen::AngleAxisd(angle, Vec3(1.0, 2.0, 3.0).normalized()).toRotationMatrix();
}

}  // namespace

TEST_CASE(
    "polycubes come out to the last cube, though every column runs along edges and through "
    "vertices") {
    std::mt19937 random(19);  // fixed seed
    for (int round = 0; round < 20; ++round) {
        const int nx = 6;
        const int ny = 4;
        const int nz = 5;
        std::vector<bool> filled(static_cast<std::size_t>(nx * ny * nz));
        int count = 0;
        for (std::size_t i = 0; i < filled.size(); ++i) {
            filled[i] = random() % 2 == 0;
            count += filled[i] ? 1 : 0;
        }
        // Corners fix the outline, so that the grid is that of the cubes.
        for (const int i : {0, nx - 1, nx * (ny - 1), nx * ny - 1}) {
            count += filled[static_cast<std::size_t>(i)] ? 0 : 1;
            filled[static_cast<std::size_t>(i)] = true;
        }
        // Cut in four twice, so that the middles of the columns are vertices of the mesh, and edges
        // pass through them.
        const TriMesh mesh = subdivided(polycube_solid(filled, nx, ny, nz).mesh, 2);
        for (const int per_cube : {1, 2, 4}) {
            const ColumnCut cut = cut_columns(mesh, Vec3::UnitZ(), {.across = per_cube * nx});
            REQUIRE(cut.count_x == per_cube * nx);
            REQUIRE(cut.count_y == per_cube * ny);
            const ColumnVolumes volumes = column_volumes(cut);
            CHECK_NEAR(volumes.inside, count, 1e-12);
            CHECK(volumes.repeated == 0.0);
            CHECK(volumes.inverted == 0.0);
            for (int y = 0; y < cut.count_y; ++y) {
                for (int x = 0; x < cut.count_x; ++x) {
                    double before = -1.0;
                    for (const ColumnPiece& piece : cut.column(x, y)) {
                        CHECK(piece.winding == 1);
                        CHECK(piece.from_mm > before);  // merged where cubes touch
                        before = piece.to_mm;
                        for (int z = 0; z < nz; ++z) {
                            const bool in_piece = piece.from_mm < z + 0.5 && piece.to_mm > z + 0.5;
                            const auto cube = static_cast<std::size_t>(
                                x / per_cube + nx * (y / per_cube + ny * z));
                            CHECK((!in_piece || filled[cube]));
                        }
                    }
                }
            }
        }
    }
}

TEST_CASE("the pieces are where a point is inside") {
    // Two bodies that overlap, one with a hollow.
    TriMesh mesh = joined(torus_solid(20.0, 6.0, 48).mesh,
                          transformed(sphere_solid(8.0, 32).mesh, 1.0, Vec3(18.0, 3.0, 2.0)));
    mesh =
        joined(mesh, flipped(transformed(sphere_solid(2.0, 16).mesh, 1.0, Vec3(22.0, 3.0, 4.0))));
    const TriangleBvh surface(mesh);
    for (const Vec3& direction :
         {Vec3(0.0, 0.0, 1.0), Vec3(0.3, -0.5, 0.8), Vec3(-1.0, 0.0, 0.0)}) {
        const ColumnCut cut = cut_columns(mesh, direction, {.across = 40});
        std::mt19937 random(3);  // fixed seed
        std::uniform_real_distribution<double> height(-30.0, 30.0);
        int inside = 0;
        for (int y = 0; y < cut.count_y; ++y) {
            for (int x = 0; x < cut.count_x; ++x) {
                const double at = height(random);
                int winding = 0;
                double margin = 1e9;
                for (const ColumnPiece& piece : cut.column(x, y)) {
                    winding += piece.from_mm < at && at < piece.to_mm ? piece.winding : 0;
                    margin = std::min(
                        {margin, std::abs(at - piece.from_mm), std::abs(at - piece.to_mm)});
                }
                if (margin > 1e-9) {
                    CHECK(winding == surface.winding(cut.place_mm(x, y, at)));
                }
                inside += winding > 0 ? 1 : 0;
            }
        }
        CHECK(inside > 20);
    }
}

TEST_CASE("volumes where shells overlap, touch and turn inside out") {
    const TriMesh box = box_solid(40.0, 20.0, 20.0).mesh;
    const auto volumes = [](const TriMesh& mesh) {
        return column_volumes(cut_columns(mesh, Vec3::UnitZ(), {.across = 140}));
    };
    const ColumnVolumes overlap = volumes(joined(box, transformed(box, 1.0, Vec3(30.0, 0.0, 0.0))));
    CHECK_NEAR(overlap.inside, 28000.0, 1e-9);
    CHECK_NEAR(overlap.repeated, 4000.0, 1e-9);
    CHECK_NEAR(overlap.signed_volume(), 32000.0, 1e-9);
    const TriMesh stacked = joined(box, transformed(box, 1.0, Vec3(0.0, 0.0, 20.0)));
    const ColumnCut cut = cut_columns(stacked, Vec3::UnitZ(), {.across = 10});
    for (int x = 0; x < 10; ++x) {
        REQUIRE(cut.column(x, 2).size() == 1);
        CHECK(cut.column(x, 2)[0].to_mm == 40.0);
    }
    const ColumnVolumes inverted = volumes(flipped(box));
    CHECK(inverted.inside == 0.0);
    CHECK_NEAR(inverted.inverted, 16000.0, 1e-9);
}

TEST_CASE(
    "the volume converges to the mesh's at least with the first order in the spacing, and with the "
    "second on round bodies") {
    const Solid torus = torus_solid(50.0, 15.0, 96);
    const Solid box = box_solid(100.0, 60.0, 40.0);
    const auto rms = [](const Solid& solid, int across) {
        double sum = 0.0;
        for (int turn = 0; turn < 12; ++turn) {
            const TriMesh mesh = rotated(solid.mesh, rotation(0.25 + 0.5 * turn));
            const double volume =
                column_volumes(cut_columns(mesh, Vec3::UnitZ(), {.across = across})).inside;
            sum += std::pow(volume / solid.volume_mm3 - 1.0, 2.0);
        }
        return std::sqrt(sum / 12.0);
    };
    CHECK(std::log2(rms(box, 24) / rms(box, 96)) / 2.0 > 1.0);
    CHECK(std::log2(rms(torus, 24) / rms(torus, 96)) / 2.0 > 1.5);
    CHECK(rms(box, 96) < 1e-3);
    CHECK(rms(torus, 96) < 1e-3);
}

TEST_CASE("any number of threads gives the same bytes") {
    const TriMesh mesh = rotated(torus_solid(50.0, 15.0, 64).mesh, rotation(0.7));
    std::vector<ColumnCut> cuts;
    for (const int threads : {1, 2, 5}) {
        RunContext context;
        context.threads = threads;
        cuts.push_back(cut_columns(mesh, Vec3(1.0, 1.0, 0.2), {.across = 150}, context));
    }
    for (const ColumnCut& other : cuts) {
        CHECK(other.first == cuts[0].first);
        REQUIRE(other.pieces.size() == cuts[0].pieces.size());
        for (std::size_t i = 0; i < other.pieces.size(); ++i) {
            CHECK(other.pieces[i].from_mm == cuts[0].pieces[i].from_mm);
            CHECK(other.pieces[i].to_mm == cuts[0].pieces[i].to_mm);
        }
    }
}

TEST_CASE("odd meshes and odd options") {
    const TriMesh box = box_solid(1.0, 1.0, 1.0).mesh;
    CHECK_THROWS_AS(static_cast<void>(cut_columns(box, Vec3::Zero())), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(cut_columns(box, Vec3::UnitZ(), {.across = 0})),
                    InvalidInput);
    CHECK(cut_columns(TriMesh{}, Vec3::UnitZ()).pieces.empty());
    TriMesh needle;  // seen along its own length it has no extent
    needle.vertices = {{0, 0, 0}, {0, 0, 1}, {0, 0, 2}};
    needle.triangles = {{0, 1, 2}, {0, 2, 1}};
    CHECK(cut_columns(needle, Vec3::UnitZ()).pieces.empty());
    CHECK(column_volumes(cut_columns(needle, Vec3::UnitX())).inside == 0.0);
}
