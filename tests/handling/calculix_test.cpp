// SPDX-License-Identifier: GPL-3.0-or-later
// The droop of bars by CalculiX (Debian's calculix-ccx): solids of bricks, nothing of beams in it.
#include <array>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <sstream>
#include <string>
#include <unistd.h>
#include <vector>

#include "cavigram/handling/beam.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"
#include "support/swept.h"

using namespace cavigram;

namespace {

constexpr double kYoung_mpa = 0.5;
constexpr double kDensity_kg_m3 = 160.0;

StiffLayers plain() {
    StiffLayers foam;
    foam.layers = {SkinProfile::step, 0.0, kDensity_kg_m3, kDensity_kg_m3};
    foam.solid_mpa = kYoung_mpa * std::pow(kSolidPolyurethane_kg_m3 / kDensity_kg_m3, 2);
    return foam;
}

// Bricks on a grid, each corner moved to where it belongs.
struct Bricks {
    int nx = 0, ny = 0, nz = 0;
    std::function<bool(int, int, int)> filled;
    std::function<Vec3(int, int, int)> place_mm;
};

class Deck {
  public:
    explicit Deck(const Bricks& bricks) : bricks_(bricks) {
        for (int z = 0; z < bricks.nz; ++z) {
            for (int y = 0; y < bricks.ny; ++y) {
                for (int x = 0; x < bricks.nx; ++x) {
                    if (bricks.filled(x, y, z)) {
                        add(x, y, z);
                    }
                }
            }
        }
    }

    // Where the corners that `tip` names go, on the mean, with those that `held` names fixed.
    [[nodiscard]] Vec3 moved(const Vec3& down, const std::function<bool(const Vec3&)>& held,
                             const std::function<bool(const Vec3&)>& tip) const {
        const std::filesystem::path folder = std::filesystem::temp_directory_path() /
                                             ("cavigram_calculix_" + std::to_string(::getpid()));
        std::filesystem::create_directories(folder);
        write(folder / "bar.inp", down, held, tip);
        const std::string call =
            "cd '" + folder.string() + "' && OMP_NUM_THREADS=1 ccx bar > ccx.log 2>&1";
        REQUIRE(std::system(call.c_str()) == 0);
        std::ifstream table(folder / "bar.dat");
        std::string line;
        Vec3 sum = Vec3::Zero();
        int count = 0;
        while (std::getline(table, line)) {
            std::istringstream words(line);
            int node = 0;
            Vec3 u;
            if (words >> node >> u.x() >> u.y() >> u.z()) {
                sum += u;
                ++count;
            }
        }
        table.close();
        std::filesystem::remove_all(folder);
        REQUIRE(count > 0);
        return sum / count;
    }

  private:
    void add(int x, int y, int z) {
        std::array<int, 8> brick{};
        const int dx[] = {0, 1, 1, 0};
        const int dy[] = {0, 0, 1, 1};
        for (std::size_t i = 0; i < 8; ++i) {
            brick[i] = node(x + dx[i % 4], y + dy[i % 4], z + static_cast<int>(i / 4));
        }
        elements_.push_back(brick);
    }

    int node(int x, int y, int z) {
        const auto [at, is_new] =
            number_.try_emplace({x, y, z}, static_cast<int>(number_.size()) + 1);
        if (is_new) {
            nodes_.push_back(bricks_.place_mm(x, y, z));
        }
        return at->second;
    }

    void set(std::ofstream& file, const char* name,
             const std::function<bool(const Vec3&)>& is_in) const {
        file << "*NSET,NSET=" << name << "\n";
        for (std::size_t i = 0; i < nodes_.size(); ++i) {
            if (is_in(nodes_[i])) {
                file << i + 1 << "\n";
            }
        }
    }

    // N, mm, t, s: MPa and t/mm3. Incompatible modes (C3D8I) bend as they should.
    void write(const std::filesystem::path& path, const Vec3& down,
               const std::function<bool(const Vec3&)>& held,
               const std::function<bool(const Vec3&)>& tip) const {
        std::ofstream file(path);
        file.precision(12);
        file << "*NODE,NSET=NALL\n";
        for (std::size_t i = 0; i < nodes_.size(); ++i) {
            file << i + 1 << "," << nodes_[i].x() << "," << nodes_[i].y() << "," << nodes_[i].z()
                 << "\n";
        }
        file << "*ELEMENT,TYPE=C3D8I,ELSET=EALL\n";
        for (std::size_t i = 0; i < elements_.size(); ++i) {
            file << i + 1;
            for (const int n : elements_[i]) {
                file << "," << n;
            }
            file << "\n";
        }
        set(file, "NHELD", held);
        set(file, "NTIP", tip);
        file << "*MATERIAL,NAME=FOAM\n*ELASTIC\n"
             << kYoung_mpa << "," << 1.0 / 3.0 << "\n*DENSITY\n"
             << kDensity_kg_m3 * 1e-12 << "\n*SOLID SECTION,ELSET=EALL,MATERIAL=FOAM\n"
             << "*STEP\n*STATIC\n*BOUNDARY\nNHELD,1,3\n*DLOAD\nEALL,GRAV,9806.65," << down.x()
             << "," << down.y() << "," << down.z() << "\n*NODE PRINT,NSET=NTIP\nU\n*END STEP\n";
    }

    const Bricks& bricks_;
    std::map<std::array<int, 3>, int> number_;
    std::vector<Vec3> nodes_;
    std::vector<std::array<int, 8>> elements_;
};

// The far end's small droop with the near one, at the origin, clamped.
double beam_droop(const TriMesh& mesh, const Vec3& down) {
    const TriangleBvh surface(mesh);
    const MassProperties mass = mass_properties(mesh);
    const Beam made = beam(mesh, surface, mass, plain(), mass.volume_mm3 * kDensity_kg_m3 * 1e-6);
    DroopOptions held;
    held.grip = made.node_mm(0).norm() < made.node_mm(made.elements.size()).norm()
                    ? 0
                    : made.elements.size();
    held.large = false;
    return droop(made.elements, down, held).spans.front().droop_mm;
}

}  // namespace

TEST_CASE("a tapered bar of foam, within 3 %") {
    constexpr double kLength = 375.0;
    const auto half = [](double z) { return 20.0 - 12.0 * z / kLength; };
    const Bricks bricks{8, 8, 60, [](int, int, int) { return true; },
                        [&](int x, int y, int z) {
                            const double at = kLength * z / 60;
                            return Vec3(half(at) * (x - 4) / 4.0, 0.7 * half(at) * (y - 4) / 4.0,
                                        at);
                        }};
    const Deck deck(bricks);
    const auto held = [](const Vec3& p) { return p.z() < 1e-6; };
    const auto tip = [](const Vec3& p) { return p.z() > kLength - 1e-6; };
    const Vec3 x = Vec3::UnitX();
    const Vec3 y = Vec3::UnitY();
    const TriMesh mesh = swept::solid({{{0, 0, 0}, x, y, half(0), 0.7 * half(0)},
                                       {{0, 0, kLength}, x, y, half(kLength), 0.7 * half(kLength)}},
                                      4);
    for (const Vec3& down : {x, y}) {
        CHECK_NEAR(beam_droop(mesh, down), deck.moved(down, held, tip).dot(down), 0.03);
    }
}

TEST_CASE("an L-shaped bar of foam, in its plane and across it, within 3 %") {
    // 40 mm square, 240 and 200 mm long over all, cubes of 5 mm.
    constexpr int kWide = 8;
    constexpr int kOne = 48;
    constexpr int kOther = 40;
    const auto filled = [](int x, int, int z) { return x < kWide || z >= kOne - kWide; };
    const Bricks bricks{kOther, kWide, kOne, filled, [](int x, int y, int z) {
                            return Vec3(5.0 * x - 20.0, 5.0 * y - 20.0, 5.0 * z);
                        }};
    const Deck deck(bricks);
    const auto held = [](const Vec3& p) { return p.z() < 1e-6; };
    const auto tip = [](const Vec3& p) { return p.x() > 180.0 - 1e-6; };
    std::vector<bool> cubes;
    for (int z = 0; z < kOne / kWide; ++z) {
        for (int x = 0; x < kOther / kWide; ++x) {
            cubes.push_back(filled(kWide * x, 0, kWide * z));
        }
    }
    // Cubes of 40 mm for the surface; y is the polycube's last but one axis.
    const TriMesh mesh = transformed(polycube_solid(cubes, kOther / kWide, 1, kOne / kWide).mesh,
                                     40.0, Vec3(-20, -20, 0));
    for (const Vec3& down : {Vec3(Vec3::UnitX()), Vec3(Vec3::UnitY()), Vec3(-Vec3::UnitZ())}) {
        CAPTURE(down.x());
        CAPTURE(down.y());
        CHECK_NEAR(beam_droop(mesh, down), deck.moved(down, held, tip).dot(down), 0.03);
    }
}
